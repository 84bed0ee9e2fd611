"""How a laminate sits on the mould it was cured on: grip, gap, and what it takes to pull it off.

A mismatch is positive where the mould is larger than the part would be when free: it grips.
Symbols: R radius of contact, t wall, β slope of the meridian (dr/dx = tan β, r grows
baseward), p pressure of contact, N_x, N_θ membrane forces (N/m), S in-plane compliances of the
whole wall (m/N: strain per membrane force), C hoop strain of the core's surface per pressure.
All arguments broadcast, (draw, place). SI.
Validity: t below R/5, linear elastic, slices of the core independent of their neighbours; places
closer than R/2 are not independent.
Sources: Timoshenko and Goodier, Theory of Elasticity, 3rd ed., chapter 4 (thick cylinders),
and Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed., chapter 14 (shells
of revolution), both from memory; how they are joined here is derived.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

ATMOSPHERE = 101_325.0  # Pa, standard
TRIANGLES = 1.0 / 3.0  # in-plane stiffness of triangular cells over relative density; see below
CELL_POISSON = 1.0 / 3.0  # of triangular cells in their plane; Gibson and Ashby 1997, from memory


@dataclass(frozen=True)
class Core:
    """The mould as its surface feels it.

    compliance C (1/Pa): hoop strain per outer pressure; axial (m/N): axial strain per N_x taken
    from the part, 2πR/ΣEA; poisson: hoop strain over axial strain; filling: weight of the
    filling's temperature in the surface's hoop strain, the walls have the rest.
    """

    compliance: Array
    axial: Array
    poisson: Array
    filling: Array


@dataclass(frozen=True)
class Shell:
    """The wall: thickness t (m), compliances S (m/N), radial strain per mean stress (1/Pa).

    hoop_radial is −ν_θr/E_θ (radial strain per hoop stress), radial 1/E_r.
    """

    thickness: Array
    S_xx: Array
    S_xh: Array
    S_hh: Array
    hoop_radial: Array
    radial: Array


def core(
    radius: ArrayLike,
    inner: ArrayLike,
    modulus: ArrayLike,
    poisson: ArrayLike,
    infill: ArrayLike = 0.0,
    hole: ArrayLike = 0.0,
) -> Core:
    """A round core: a wall from ``inner`` to ``radius``, and cells of relative density ``infill``.

    Hollow: C = [(R² + r²)/(R² − r²) − ν]/E, solid (r = 0): (1 − ν)/E. With infill the wall's
    inner pressure q follows from u_wall(r) = u_cells(r), Lamé's solution for both; the cells are
    upright triangles, E = φE/3 and ν = 1/3 in their plane, φE along them, around a ``hole``.
    radius, inner, hole in m, modulus in Pa; infill 0 to 1, exact where 0.
    Source: Lamé; cells: Gibson and Ashby, Cellular Solids, 2nd ed. 1997, 4.3, from memory.

    >>> made = core(0.05, 0.0, 2e9, 0.35)
    >>> round(float(made.compliance) * 1e12, 3)
    325.0
    """
    R, r, E, nu, share, a = np.broadcast_arrays(
        *(np.asarray(value, float) for value in (radius, inner, modulus, poisson, infill, hole))
    )
    section = E * (R**2 - r**2)
    outer = ((1.0 - nu) * R**2 + (1.0 + nu) * r**2) / section
    bore = ((1.0 - nu) * r**2 + (1.0 + nu) * R**2) / section
    filled = (share > 0.0) & (r > a)
    with np.errstate(divide="ignore", invalid="ignore"):
        cells = ((r**2 + a**2) / (r**2 - a**2) - CELL_POISSON) / (TRIANGLES * share * E)
    linked = np.where(filled, 1.0 / (bore + np.where(filled, cells, 1.0)), 0.0)
    compliance = outer - 4.0 * R**2 * r**2 / section**2 * linked
    along = np.where(filled, share * E * (r**2 - a**2), 0.0)
    across, share_along = 2.0 * r**2 / section * linked, along / (section + along)
    weight = (1.0 + nu) * across - nu * share_along  # the filling also stretches the wall along
    return Core(compliance, 2.0 * R / (section + along), nu, weight)


def core_strain(made: Core, expansion: ArrayLike, walls: ArrayLike, filling: ArrayLike) -> Array:
    """Hoop strain of the free core's surface: α [ΔT_walls + f (ΔT_filling − ΔT_walls)].

    ΔT are area-weighted means over walls and filling (K); for one material f = r²/R² and this is
    α times the mean over the section, exact. Source: Timoshenko and Goodier, 3rd ed., 151.
    """
    T = np.asarray(walls, float)
    return np.asarray(expansion * (T + made.filling * (filling - T)))


def mismatch(
    radius: ArrayLike, wall: ArrayLike, core: ArrayLike, hoop: ArrayLike, radial: ArrayLike
) -> Array:
    """Mould surface minus free bore, on radius: δ = R ε_m − (R + t/2) ε_θ + (t/2) ε_r, m.

    core ε_m, hoop ε_θ and radial ε_r are free strains since the part set; ``wall`` is measured
    along the radius (t cos β of a wall t on a slope). Its middle keeps its own circumference.

    >>> round(float(mismatch(0.05, 0.0, -68e-6 * 30.0, -1.523929e-6 * 30.0, 0.0)) * 1e6, 4)
    -99.7141
    """
    R, half = np.asarray(radius, float), 0.5 * np.asarray(wall, float)
    outward, around = np.asarray(core, float), np.asarray(hoop, float)
    return np.asarray(R * outward - (R + half) * around + half * np.asarray(radial, float))


def sliding_pressure(mismatched: ArrayLike, radius: ArrayLike, shell: Shell, made: Core) -> Array:
    """Pressure where the part may slide along a cylinder: p = δ/(g + R C), g the wall's give, Pa.

    g = R(R + t/2) S_θθ + ν_θr R/(2E_θ) + t/(4E_r). Zero where free (δ below 0).
    """
    R = np.asarray(radius, float)
    give = bore_give(R, np.ones_like(R), shell) + R * made.compliance
    return np.asarray(np.maximum(mismatched, 0.0) / give)


def bore_give(R: Array, c: Array, shell: Shell) -> Array:
    """Growth of the bore on radius per pressure of contact while N_x is nil, m/Pa."""
    t = shell.thickness
    hoop = (R + 0.5 * t * c) * shell.S_hh - 0.5 * shell.hoop_radial
    return np.asarray(R / c * hoop + 0.25 * t * shell.radial)


def stuck(
    hoop: ArrayLike, axial: ArrayLike, radius: ArrayLike, shell: Shell, made: Core
) -> tuple[Array, Array]:
    """Pressure p (Pa) and axial force N_x (N/m) where the part cannot slide: both strains imposed.

    [S_xθ − ν c] N_x + [S_θθ R + C] p = e_θ,  [S_xx + c] N_x + [S_xθ R − ν c R] p = e_x,
    c the core's axial give. hoop e_θ, axial e_x: free strain of the mould minus that of the part.
    Validity: away from the ends by the square root of R t, better by R.
    """
    R = np.asarray(radius, float)
    cross = shell.S_xh - made.poisson * made.axial
    a, b = cross, shell.S_hh * R + made.compliance
    c, d = shell.S_xx + made.axial, cross * R
    determinant = a * d - b * c
    around, along = np.asarray(hoop, float), np.asarray(axial, float)
    p = (a * along - c * around) / determinant
    return np.asarray(p), np.asarray((d * around - b * along) / determinant)


def edge_shear(force: ArrayLike, radius: ArrayLike) -> Array:
    """Shear at the ends of a stuck part, N_x/R, Pa: its force is handed over within about R.

    Above the sticking strength of the film the end lets go, and the next ring after it.
    An order of magnitude: finite elements show peaks that reach 0.8 to 1.5 R in.
    """
    return np.asarray(np.abs(force) / np.asarray(radius))


def sticking_force(strength: ArrayLike, radius: ArrayLike) -> Array:
    """Force that lets a film go ring by ring, from one end: F = 2πR·R·τ, N; weak data.

    A ring about R wide holds at a time (see ``edge_shear``), not the whole area at once.
    """
    return np.asarray(2.0 * np.pi * np.asarray(radius) ** 2 * np.asarray(strength))


def along_axis(x: Array, r: Array, along: Array, hoop: Array) -> Array:
    """Free strain of a part counted along the axis: ε_x = ε_s/cos²β − tan β·d(r ε_θ)/dx.

    A slope that shrinks more along than around turns, and turning it moves along x. x, r
    (place,), free strains along the meridian and around (..., place). Derived, thin walls.
    """
    tangent = np.gradient(r, x)
    return np.asarray(along * (1.0 + tangent**2) - tangent * np.gradient(r * hoop, x, axis=-1))


def axial_drift(x: Array, axial: Array) -> Array:
    """How far the part's points come to lie tipwards of the mould's, from the first place on, m.

    ∫ e_x dx by trapezia; axial e_x (..., place) as in ``stuck``, x (place,).
    """
    pieces = 0.5 * (axial[..., 1:] + axial[..., :-1]) * np.diff(x)
    return np.concatenate((np.zeros((*pieces.shape[:-1], 1)), np.cumsum(pieces, axis=-1)), -1)


def cone_gap(
    mismatched: ArrayLike, drift: ArrayLike, sine: ArrayLike, cosine: ArrayLike, travel: ArrayLike
) -> Array:
    """Gap square to the surface: g = −δ cos β + sin β (Δx + drift), m; negative grips.

    travel Δx: how far the part as a whole has moved tipwards; drift from ``axial_drift``. A cone
    that shrinks evenly keeps one even gap; a cylinder gains nothing by travel.
    """
    moved = np.asarray(travel) + np.asarray(drift)
    return np.asarray(-np.asarray(mismatched) * cosine + np.asarray(sine) * moved)


def lets_itself_off(sine: ArrayLike, cosine: ArrayLike, friction: ArrayLike) -> NDArray[np.bool_]:
    """Whether a gripping slope pushes the part off against friction: tan β > μ."""
    return np.asarray(np.asarray(sine) > np.asarray(friction) * np.asarray(cosine))


def key_left(roughness: ArrayLike, pitch: ArrayLike, tangent: ArrayLike) -> Array:
    """Gap that layer lines ask for on a slope: max(0, Rz − tan β·h/2), m.

    Lines as triangles of height Rz and pitch h: over half a pitch of travel the slope lifts the
    part by tan β·h/2, and only what is left of the height locks. Derived.
    """
    lifted = 0.5 * np.asarray(pitch) * np.abs(tangent)
    return np.asarray(np.maximum(np.asarray(roughness) - lifted, 0.0))


def finger_trap(friction: ArrayLike, radius: ArrayLike, shell: Shell, made: Core) -> Array:
    """Growth of grip along a pulled cylinder, k = μ ν_xθ/(E_x t C'), C' = R S_θθ + C, in 1/m.

    A braid that is pulled narrows: each newton held by friction presses on what lies behind it.
    """
    C = np.asarray(radius) * shell.S_hh + made.compliance
    return np.asarray(-np.asarray(friction) * shell.S_xh / C)


def pulling_force(
    pressure: ArrayLike, friction: ArrayLike, radius: ArrayLike, length: ArrayLike, k: ArrayLike
) -> Array:
    """Force that starts a cylinder by its leading end: F = 2πRμp (e^(kL) − 1)/k, N."""
    kL = np.asarray(k) * np.asarray(length)
    return np.asarray(_plain_force(pressure, friction, radius, length) * _grown(kL))


def pushing_force(
    pressure: ArrayLike, friction: ArrayLike, radius: ArrayLike, length: ArrayLike, k: ArrayLike
) -> Array:
    """Force that starts a cylinder by its trailing end: F = 2πRμp (1 − e^(−kL))/k, N."""
    kL = np.asarray(k) * np.asarray(length)
    return np.asarray(_plain_force(pressure, friction, radius, length) * _grown(-kL))


def _plain_force(p: ArrayLike, mu: ArrayLike, R: ArrayLike, L: ArrayLike) -> Array:
    """μ p A of a cylinder."""
    area = 2.0 * np.pi * np.asarray(R) * np.asarray(L)
    return np.asarray(area * np.asarray(mu) * np.asarray(p))


def _grown(z: Array) -> Array:
    """(e^z − 1)/z, one at zero."""
    small = np.abs(z) < 1e-9
    return np.where(small, 1.0, np.expm1(z) / np.where(small, 1.0, z))


def taper_force(
    pressure: ArrayLike, friction: ArrayLike, area: ArrayLike, angle: ArrayLike, out: bool
) -> Array:
    """Axial force on an evenly pressed cone: p A (μ cos β ∓ sin β), out or in, N.

    Below nil the cone lets itself off. A rigid cone; derived.
    """
    turned = -1.0 if out else 1.0
    share = np.asarray(friction) * np.cos(angle) + turned * np.sin(angle)
    return np.asarray(np.asarray(pressure) * np.asarray(area) * share)


def vacuum_force(radius: ArrayLike, share: ArrayLike = 1.0) -> Array:
    """Most that air can hold a closed tip back with: p₀πr² times the share drawn, N."""
    return np.asarray(ATMOSPHERE * np.pi * np.asarray(radius) ** 2 * np.asarray(share))
