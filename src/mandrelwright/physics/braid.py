"""The ready-made biaxial sleeve as a pin-jointed net: angle, weight, thickness, locks.

A sleeve of N tows (both directions counted) keeps its tow length between crossings when it
is pulled over a mould, so sin θ / r is constant along it. Machine braiding follows another
law (tan θ proportional to r) and is out of scope.

Symbols: r radius of the layer's mid-surface, θ braid angle from the meridian, N tows,
T tow linear density (kg/m), r45 radius at which θ is 45 degrees, r90 = √2·r45,
β slope angle of the carrying surface (tan β = dr/dx), c layer constant (m²).
Source: closed forms of the pin-jointed net, the same geometry as Chou & Hannaford, IEEE
Trans. Robotics and Automation 12 (1996) 90 (from memory).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

MOST_ANGLE = np.radians(89.0)  # where no lock is given: the closed form ends at 90 degrees
NEWTON_STEPS = 4  # from the closed form without angle change; quadratic, so 4 reach rounding
CLOSE = 2e-6  # a step by so small a share: the next would be by less than its square


def angle(radius: ArrayLike, radius_at_45: ArrayLike) -> Array:
    """Braid angle from the meridian: sin θ = r/(√2·r45).

    radius, radius_at_45 in m, broadcast; returns rad, π/2 where the net cannot reach.
    >>> round(float(np.degrees(angle(0.030, 0.050))), 4)
    25.1041
    """
    sine = np.asarray(radius, float) / (np.sqrt(2.0) * np.asarray(radius_at_45, float))
    return np.asarray(np.arcsin(np.clip(sine, -1.0, 1.0)))


def radius_at(theta: ArrayLike, radius_at_45: ArrayLike) -> Array:
    """Radius at which the net lies at θ: r = √2·r45·sin θ (m)."""
    return np.asarray(np.sqrt(2.0) * np.asarray(radius_at_45, float) * np.sin(theta))


def areal_weight(radius: ArrayLike, theta: ArrayLike, tows: ArrayLike, tow: ArrayLike) -> Array:
    """Fibre mass per area of one sleeve: A = N·T/(2π r cos θ), kg/m²; lowest at 45 degrees."""
    length = 2.0 * np.pi * np.asarray(radius, float) * np.cos(theta)
    return np.asarray(np.asarray(tows, float) * np.asarray(tow, float) / length)


def crossing_length(radius_at_45: ArrayLike, tows: ArrayLike) -> Array:
    """Tow length between successive crossings: p = 2π r90/N (m)."""
    return np.asarray(2.0 * np.pi * np.sqrt(2.0) * np.asarray(radius_at_45) / np.asarray(tows))


def tow_spacing(radius: ArrayLike, theta: ArrayLike, tows: ArrayLike) -> Array:
    """Perpendicular spacing of one family of tows: s = 4π r cos θ/N (m)."""
    return np.asarray(4.0 * np.pi * np.asarray(radius, float) * np.cos(theta) / np.asarray(tows))


def cover_factor(tow_width: ArrayLike, spacing: ArrayLike) -> Array:
    """Covered share of the surface: 1 − (1 − w/s)², w and s in m, w ≤ s.

    Source: braid shield optical coverage 100(2F − F²) of the coaxial cable standards.
    """
    gap = 1.0 - np.asarray(tow_width, float) / np.asarray(spacing, float)
    return np.asarray(1.0 - gap * gap)


def lock_angles(
    radius_at_45: float,
    tows: float,
    narrowest_tow: float,
    hard: tuple[float, float] = (0.0, 0.5 * np.pi),
) -> tuple[float, float]:
    """Lower and upper jamming angle, where p·sin 2θ = w, inside the hard range (rad).

    Below the lower one tows pile up; at the upper one the sleeve cannot open further.
    narrowest_tow in m. ``hard`` bounds the answer whatever the width says.
    Raises ValueError when the tows are wider than their crossings at every angle.
    """
    filling = narrowest_tow / float(crossing_length(radius_at_45, tows))
    if filling >= 1.0:
        raise ValueError("narrowest tow is wider than the tow length between crossings")
    lower = 0.5 * float(np.arcsin(filling))
    return max(lower, hard[0]), min(0.5 * np.pi - lower, hard[1])


def layer_constant(
    tows: ArrayLike, tow: ArrayLike, fibre_density: ArrayLike, fibre_fraction: ArrayLike
) -> Array:
    """Half the cross-section of one laid sleeve at θ = 0 over π: c = N·T/(2π ρ_f V_f), m²."""
    mass_per_length = np.asarray(tows, float) * np.asarray(tow, float)
    fibre_volume = np.asarray(fibre_density, float) * np.asarray(fibre_fraction, float)
    return np.asarray(mass_per_length / (2.0 * np.pi * fibre_volume))


def thickness_over(
    radius: Array,
    cos_slope: Array,
    constant: ArrayLike,
    radius_at_45: float,
    lower: float = 0.0,
    upper: float = MOST_ANGLE,
) -> Array:
    """Thickness of a layer laid on a surface of given radius, along that surface's normal.

    Solves t·r_mid·cos θ(r_mid) = c with r_mid = r + t cos β/2 (m). Beyond a lock θ stays at it:
    below the lower one the tows pile up, above the upper one the sleeve does not open.
    ``radius`` and ``cos_slope`` (place,), positive; locks in rad.
    """
    return _thickness(radius, 0.5 * cos_slope, constant, radius_at_45, (lower, upper))


def thickness_under(
    radius: Array,
    cos_slope: Array,
    constant: ArrayLike,
    radius_at_45: float,
    lower: float = 0.0,
    upper: float = MOST_ANGLE,
) -> Array:
    """Thickness of the layer below a surface: r_out² − r_in² = 2 cos β·c/cos θ(r_mid).

    NaN where the axis is reached before the layer fits (r_in would not be positive).
    """
    thickness = _thickness(radius, -0.5 * cos_slope, constant, radius_at_45, (lower, upper))
    fits = radius - thickness * cos_slope > 0.0
    return np.where(fits, thickness, np.nan)


def _thickness(
    radius: Array,
    half: Array,
    constant: ArrayLike,
    radius_at_45: float,
    locks: tuple[float, float],
) -> Array:
    """Root t of t·m·cos θ(m) = c, m = r + half·t, by Newton from the closed quadratic.

    With cos θ frozen the equation is quadratic in t, which is exact beyond a lock.
    """
    reach = np.sqrt(2.0) * radius_at_45
    least, most = np.sin(locks)
    constant = np.asarray(constant, float)
    sine = np.minimum(np.maximum(radius / reach, least), most)
    cosine = np.sqrt(1.0 - sine * sine)
    discriminant = radius * radius + 4.0 * half * constant / cosine
    with np.errstate(invalid="ignore", divide="ignore"):
        t = 2.0 * constant / cosine / (radius + np.sqrt(discriminant))
        for _ in range(NEWTON_STEPS):
            middle = radius + half * t
            free = middle / reach
            sine = np.minimum(np.maximum(free, least), most)
            cosine = np.sqrt(1.0 - sine * sine)
            turning = np.where(sine == free, sine * sine / cosine, 0.0)  # −m·d(cos θ)/dm
            slope = middle * cosine + half * t * (cosine - turning)
            step = (t * middle * cosine - constant) / slope
            t = t - step
            if np.all(np.abs(step) <= CLOSE * t):
                break
    return np.asarray(t)


def cut_length(stretch_angle: Array, arc_length: Array, label_angle: float) -> float:
    """Length of sleeve to cut at its label angle: L = ∫ cos θ0/cos θ ds (m), trapezium rule."""
    return float(np.trapezoid(np.cos(label_angle) / np.cos(stretch_angle), arc_length))


def growth_by_compaction(theta: ArrayLike, squeeze: ArrayLike, radius: ArrayLike) -> Array:
    """Relative growth in length when the radius is squeezed: dL/L = tan²θ·dr/r (dr inwards > 0).

    A sleeve tied at both ends cannot grow and wrinkles instead.
    >>> round(0.400 * float(growth_by_compaction(np.pi / 4, 0.001, 0.049)) * 1e3, 1)
    8.2
    """
    return np.asarray(np.tan(theta) ** 2 * np.asarray(squeeze, float) / np.asarray(radius, float))
