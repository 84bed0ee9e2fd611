"""Nose profiles: radius and slope, analytically, sharp or blunted by a tangent sphere.

Symbols: x from the tip, L length, R base radius, u = x/L. At a tip where the profile stands
square to the axis the slope is infinite and returned as such; every other limit is finite.
Source: Crowell, The Descriptive Geometry of Nose Cones, 1996; Haack series after Haack 1941.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
Profile = Callable[[Array, float, float, float], tuple[Array, Array]]

HAACK_MOST = 2.0 / 3.0  # beyond it the profile bulges over its base: slope factor 2 + 3C cos φ < 0
BISECTIONS = 200  # more than enough to halve any bracket down to rounding


def nose(
    kind: str, x: ArrayLike, length: float, radius: float, parameter: float | None = None
) -> tuple[Array, Array]:
    """Radius and slope dr/dx of a nose profile at x (any shape, 0 to L), in m and without unit.

    ``kind`` is a key of PROFILES. ``parameter``: ogive radius ρ (m) of a secant ogive,
    fullness K' (0 to 1) of a parabola, exponent n (0 to 1) of a power profile, C (0 to 2/3)
    of a Haack profile; the others take none. Raises ValueError for an unknown kind or a
    parameter outside its range.

    >>> r, slope = nose("tangent ogive", [2.5, 5.0], 5.0, 1.0)
    >>> [round(float(value), 6) for value in (*r, slope[1])]
    [0.757351, 1.0, 0.0]
    """
    if kind not in PROFILES:
        raise ValueError(f"no nose profile named {kind!r}")
    if parameter is None and kind in PARAMETERS:
        raise ValueError(f"a {kind} needs its {PARAMETERS[kind]}")
    given = 0.0 if parameter is None else parameter
    return PROFILES[kind](np.asarray(x, float), length, radius, given)


class Blunting(NamedTuple):
    """Sphere that rounds a tip: apex, centre and tangency, all x in m from the virtual tip."""

    apex: float
    centre: float
    tangency: float


def blunting(
    kind: str, length: float, radius: float, tip_radius: float, parameter: float | None = None
) -> Blunting:
    """Where a sphere of radius b touches a profile from inside: r √(1 + r'²) = b.

    The normal at the tangency meets the axis at the centre, x + r r'; the apex lies b before
    it. Lengths in m. Raises ValueError when no such sphere exists (b not positive, smaller
    than the tip's own radius of curvature, or larger than the base allows).
    """

    def excess(at: float) -> float:
        r, slope = nose(kind, at, length, radius, parameter)
        return float(r * np.hypot(1.0, slope)) - tip_radius

    low, high = length * 1e-12, length
    if not excess(low) < 0.0 < excess(high):
        raise ValueError(f"no sphere of radius {tip_radius:g} m touches this {kind}")
    for _ in range(BISECTIONS):
        middle = 0.5 * (low + high)
        if middle in (low, high):
            break
        low, high = (middle, high) if excess(middle) < 0.0 else (low, middle)
    r, slope = nose(kind, high, length, radius, parameter)
    centre = high + float(r * slope)
    return Blunting(centre - tip_radius, centre, high)


def blunt(
    kind: str,
    x: ArrayLike,
    length: float,
    radius: float,
    tip_radius: float,
    parameter: float | None = None,
) -> tuple[Array, Array]:
    """Radius and slope of a nose whose tip is a tangent sphere, x from the virtual tip (m).

    Defined from the apex to L; NaN before the apex. The slope is infinite at the apex.
    """
    x = np.asarray(x, float)
    sphere = blunting(kind, length, radius, tip_radius, parameter)
    r, slope = nose(kind, np.maximum(x, sphere.tangency), length, radius, parameter)
    ahead = np.where(x < sphere.apex, np.nan, np.minimum(sphere.centre - x, tip_radius))
    with np.errstate(invalid="ignore", divide="ignore"):
        cap = np.sqrt((tip_radius - ahead) * (tip_radius + ahead))
        cap_slope = ahead / cap
    rounded = x < sphere.tangency
    return np.where(rounded, cap, r), np.where(rounded, cap_slope, slope)


def _cone(x: Array, L: float, R: float, _: float) -> tuple[Array, Array]:
    """Straight: r = R u."""
    return R * x / L, np.full_like(x, R / L)


def _secant_ogive(x: Array, L: float, R: float, rho: float) -> tuple[Array, Array]:
    """Arc of radius ρ through tip and base, centre (a, −d): r = √(ρ² − (a − x)²) − d.

    Written as (2 a x − x²)/(√(…) + d), which keeps its digits near the tip.
    """
    if rho < (L * L + R * R) / (2.0 * L):
        raise ValueError("the ogive radius is too small: the arc would start backwards")
    half_chord = 0.5 * np.hypot(L, R)
    height = np.sqrt((rho - half_chord) * (rho + half_chord))
    a = 0.5 * (L + height * R / half_chord)
    d = 0.5 * (height * L / half_chord - R)
    return _arc(x, a, d, rho)


def _tangent_ogive(x: Array, L: float, R: float, _: float) -> tuple[Array, Array]:
    """The ogive that meets its cylinder without a corner: ρ = (R² + L²)/2R, centre at x = L."""
    rho = (R * R + L * L) / (2.0 * R)
    return _arc(x, L, rho - R, rho)


def _arc(x: Array, a: float, d: float, rho: float) -> tuple[Array, Array]:
    """Arc of radius ρ about (a, −d), starting on the axis at x = 0."""
    height = np.sqrt((rho - (a - x)) * (rho + (a - x)))
    return x * (2.0 * a - x) / (height + d), (a - x) / height


def _ellipsoid(x: Array, L: float, R: float, _: float) -> tuple[Array, Array]:
    """Half ellipsoid: r = R √(u (2 − u))."""
    u = x / L
    root = np.sqrt(u * (2.0 - u))
    with np.errstate(divide="ignore"):
        return R * root, R / L * (1.0 - u) / root


def _parabola(x: Array, L: float, R: float, fullness: float) -> tuple[Array, Array]:
    """Parabolic series: r = R (2u − K' u²)/(2 − K')."""
    _within("fullness", fullness, 0.0, 1.0)
    u, scale = x / L, R / (2.0 - fullness)
    return scale * u * (2.0 - fullness * u), scale / L * (2.0 - 2.0 * fullness * u)


def _power(x: Array, L: float, R: float, exponent: float) -> tuple[Array, Array]:
    """Power series: r = R u^n."""
    if exponent == 0.0:
        raise ValueError("an exponent of 0 is a flat-ended cylinder, not a nose")
    _within("exponent", exponent, 0.0, 1.0)
    u = x / L
    with np.errstate(divide="ignore"):
        return R * u**exponent, R / L * exponent * u ** (exponent - 1.0)


def _haack(x: Array, L: float, R: float, C: float) -> tuple[Array, Array]:
    """Haack series: r = R √[(φ − ½ sin 2φ + C sin³φ)/π], cos φ = 1 − 2u.

    dr/dx = R/(√π L) · sin φ (2 + 3 C cos φ)/√(φ − ½ sin 2φ + C sin³φ).
    """
    _within("Haack parameter C", C, 0.0, HAACK_MOST)
    phi = 2.0 * np.arcsin(np.sqrt(np.clip(x / L, 0.0, 1.0)))
    sine, cosine = np.sin(phi), np.cos(phi)
    root = np.sqrt(phi - sine * cosine + C * sine**3)
    scale = R / np.sqrt(np.pi)
    with np.errstate(divide="ignore", invalid="ignore"):
        slope = scale / L * sine * (2.0 + 3.0 * C * cosine) / root
    return scale * root, np.where(root > 0.0, slope, np.inf)


def _von_karman(x: Array, L: float, R: float, _: float) -> tuple[Array, Array]:
    """Haack profile of least drag for given length and diameter: C = 0."""
    return _haack(x, L, R, 0.0)


def _within(name: str, value: float, least: float, most: float) -> None:
    """Refuse a shape parameter outside its range."""
    if not least <= value <= most:
        raise ValueError(f"{name} is {value:g}, outside {least:g} to {most:.4g}")


PROFILES: Mapping[str, Profile] = {
    "cone": _cone,
    "tangent ogive": _tangent_ogive,
    "secant ogive": _secant_ogive,
    "ellipsoid": _ellipsoid,
    "parabola": _parabola,
    "power": _power,
    "Haack": _haack,
    "von Karman": _von_karman,
}
PARAMETERS: Mapping[str, str] = {
    "secant ogive": "ogive radius",
    "parabola": "fullness",
    "power": "exponent",
    "Haack": "parameter C",
}
