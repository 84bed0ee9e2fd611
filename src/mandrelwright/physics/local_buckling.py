"""Local buckling of thin round laminates: classical loads and the shares that real shells bear.

A, B, D are laminate stiffnesses (..., 3, 3) about the middle of the wall, x along the meridian,
y around, z outwards; balanced (no 16, 26 terms). The radius is that of the middle surface, square
to the meridian: r/cos α on a cone, as NASA SP-8019 makes a cylinder of it. SI.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

AXIAL, BENDING = 0.901, 0.731  # NASA SP-8007 (1968): lower bounds of tests, cylinders
PRESSURE = 0.56  # SP-8007: share of the classical outside pressure (from memory)
SHEAR = 0.67  # SP-8007 and SP-8019: share of the classical torsion (from memory)
CONE_AXIAL, CONE_BENDING, CONE_PRESSURE = 0.33, 0.41, 0.75  # NASA SP-8019 (1968), above 10°
STEEP = np.radians(10.0)  # half angle from which SP-8019 takes the place of SP-8007
EQUIVALENT = 3.4689  # SP-8007: 29.8 = 16 √3.4689
WAVES = 12  # whole waves around that are tried at least; Donnell's equations hold from four
WAVE_NUMBERS = np.geomspace(0.05, 2.5, 48)  # along, in units of the axisymmetric wave's


def cylinder_share(ratio: ArrayLike, coefficient: float = AXIAL) -> Array:
    """Share of the classical load that a cylinder bears: γ = 1 − c (1 − e^(−φ)), φ = √(r/t)/16.

    ``ratio`` r/t; c is AXIAL for compression, BENDING for bending.
    Validity: r/t below 1500. Source: NASA SP-8007 (1968); c = 0.731 from memory.

    >>> round(float(cylinder_share(200.0)), 4)
    0.4713
    """
    phi = np.sqrt(np.asarray(ratio, float)) / 16.0
    return np.asarray(1.0 - coefficient * (1.0 - np.exp(-phi)))


def equivalent_wall(A: Array, D: Array) -> Array:
    """Wall t of a laminate for its share: t = 3.4689 [D_x D_y/(E_x E_y)]^¼, m.

    E_x = 1/a11 and E_y = 1/a22 are membrane stiffnesses in N/m (a = A⁻¹), D_x, D_y the bending
    stiffnesses in N·m. Source: NASA SP-8007 (1968), orthotropic cylinders.
    """
    Ex, Ey = _membrane(A)
    return np.asarray(EQUIVALENT * (D[..., 0, 0] * D[..., 1, 1] / (Ex * Ey)) ** 0.25)


def ring_load(A: Array, B: Array, D: Array, radius: ArrayLike) -> Array:
    """Axial line load that buckles a perfect cylinder into rings, N/m, positive in compression.

    N = 2 √(D* E_y)/r + 2 B*/r, D* and B* with the meridian's force held:
    D* = D11 − B11²/A11, B* = B12 − A12 B11/A11, z outwards. Isotropic: E t²/(r √(3 (1 − ν²))).
    Validity: many waves along the length. Source: beam on the elastic foundation of the hoop,
    Timoshenko & Gere, Theory of Elastic Stability, section 11.1, written for a laminate.
    """
    r = np.asarray(radius, float)
    _, Ey = _membrane(A)
    A11, A12, B11, B12 = A[..., 0, 0], A[..., 0, 1], B[..., 0, 0], B[..., 0, 1]
    bent = D[..., 0, 0] - B11 * B11 / A11
    return np.asarray(2.0 * (np.sqrt(bent * Ey) + B12 - A12 * B11 / A11) / r)


def axial_load(A: Array, B: Array, D: Array, radius: ArrayLike) -> Array:
    """Least axial line load (N/m) that buckles a perfect laminate cylinder, rings and diamonds.

    N = det C₃/(α² det C₂), least over wave number α along and β = n/r around, n = 0, 4, 5 …
    C11 = A11 α² + A66 β²      C22 = A22 β² + A66 α²      C12 = (A12 + A66) α β
    C13 = A12 α/r + B11 α³ + (B12 + 2 B66) α β²
    C23 = (B12 + 2 B66) α² β + A22 β/r + B22 β³
    C33 = D11 α⁴ + (2 D12 + 4 D66) α² β² + D22 β⁴ + A22/r² + 2 B22 β²/r + 2 B12 α²/r.
    Validity: as of Donnell's equations, shells longer than a wave. ``radius`` broadcasts over the
    leading axes of A, B, D. Source: NASA SP-8007 (1968), orthotropic cylinders (from memory).
    """
    r = np.asarray(radius, float)[..., None, None]
    _, Ey = _membrane(A)
    alone = (Ey[..., None, None] / (r * r * D[..., 0, 0, None, None])) ** 0.25
    most = int(np.ceil(1.2 * np.nanmax(alone * r, initial=0.0))) if alone.size else 0
    waves = np.array([0.0, *range(4, max(WAVES, most) + 1)])
    load = _wave_load(A, B, D, r, alone * WAVE_NUMBERS[:, None], waves / r)
    least = _parabola(np.moveaxis(load, -2, -1)).min(axis=-1)
    return np.asarray(np.minimum(least, ring_load(A, B, D, r[..., 0, 0])))


def outside_pressure(A: Array, D: Array, radius: ArrayLike, length: ArrayLike) -> Array:
    """Outside pressure that buckles a perfect laminate cylinder between round ends, Pa.

    p = 5.513/(L r^1.5) [D_y³ (A11 A22 − A12²)/A22]^¼: one half wave along, many around.
    ``length`` L between the ends that stay round, m; the slant length and r/cos α of a cone.
    Validity: medium lengths; low for short ones. Source: NASA SP-8007 (1968) (from memory).
    """
    r, L = np.asarray(radius, float), np.asarray(length, float)
    Ex, _ = _membrane(A)
    return np.asarray(5.513 / (L * r**1.5) * (D[..., 1, 1] ** 3 * Ex) ** 0.25)


def torsion_load(A: Array, D: Array, radius: ArrayLike, length: ArrayLike) -> Array:
    """Shear line load at which torsion buckles a perfect cylinder, N/m.

    N_xy = M_T/(2π r²), M_T = 21.75 D_y^⅝ [(A11 A22 − A12²)/A22]^⅜ r^(5/4)/L^½. Isotropic, ν
    = 0.3: τ = 0.78 E (t/r)^(5/4) (r/L)^½. ``length`` L between the ends that stay round, m.
    Validity: medium lengths; low for shear from a side force, which is not as large all round.
    Source: NASA SP-8007 (1968), orthotropic cylinders under torsion (from memory).
    """
    r, L = np.asarray(radius, float), np.asarray(length, float)
    Ex, _ = _membrane(A)
    moment = 21.75 * D[..., 1, 1] ** 0.625 * Ex**0.375 * r**1.25 / np.sqrt(L)
    return np.asarray(moment / (2.0 * np.pi * r * r))


def cone_axial_force(
    modulus: float, poisson: float, wall: float, half_angle: float, share: float = CONE_AXIAL
) -> float:
    """Axial force at which an isotropic cone buckles: P = γ 2π E t² cos² α/√(3 (1 − ν²)), N.

    ``modulus`` in Pa, ``wall`` in m, ``half_angle`` α in rad. Validity: 10° to 75°.
    Source: NASA SP-8019 (1968).
    """
    return float(share * 2.0 * np.pi * _line(modulus, poisson, wall) * np.cos(half_angle) ** 2)


def cone_moment(
    modulus: float, poisson: float, wall: float, half_angle: float, small: float
) -> float:
    """Bending moment at which an isotropic cone buckles: M = γ π E t² r1 cos² α/√(3 (1 − ν²)), N·m.

    ``small`` r1 is the radius of the small end, m; γ = 0.41. Validity: 10° to 60°.
    Source: NASA SP-8019 (1968), γ from memory.
    """
    line = _line(modulus, poisson, wall)
    return float(CONE_BENDING * np.pi * line * small * np.cos(half_angle) ** 2)


def cone_pressure(
    modulus: float, wall: float, half_angle: float, small: float, large: float
) -> float:
    """Outside pressure at which an isotropic cone buckles: p = 0.92 γ E/[(L/ρ)(ρ/t)^2.5], Pa.

    ρ = (r1 + r2)/(2 cos α), L = (r2 − r1)/sin α the slant length, γ = 0.75.
    Source: NASA SP-8019 (1968), from memory.
    """
    mean = 0.5 * (small + large) / np.cos(half_angle)
    slant = (large - small) / np.sin(half_angle)
    return float(0.92 * CONE_PRESSURE * modulus / (slant / mean * (mean / wall) ** 2.5))


def _line(modulus: float, poisson: float, wall: float) -> float:
    """Axial line load of an isotropic cylinder times its radius, N."""
    return modulus * wall**2 / float(np.sqrt(3.0 * (1.0 - poisson**2)))


def _membrane(A: Array) -> tuple[Array, Array]:
    """Membrane stiffness along and around with the other force free, 1/a11 and 1/a22."""
    A11, A12, A22 = A[..., 0, 0], A[..., 0, 1], A[..., 1, 1]
    return A11 - A12 * A12 / A22, A22 - A12 * A12 / A11


def _wave_load(A: Array, B: Array, D: Array, r: Array, along: Array, around: Array) -> Array:
    """det C₃/(α² det C₂) at wave numbers (..., along, 1) and (..., 1, around)."""

    def term(matrix: Array, i: int, j: int) -> Array:
        return np.asarray(matrix[..., i, j, None, None])

    a2, b2, ab = along * along, around * around, along * around
    A12, A22, A66 = term(A, 0, 1), term(A, 1, 1), term(A, 2, 2)
    B12, B22, mixed = term(B, 0, 1), term(B, 1, 1), term(B, 0, 1) + 2.0 * term(B, 2, 2)
    C11, C22 = term(A, 0, 0) * a2 + A66 * b2, A22 * b2 + A66 * a2
    C12 = (A12 + A66) * ab
    C13 = along * (A12 / r + term(B, 0, 0) * a2 + mixed * b2)
    C23 = around * (mixed * a2 + A22 / r + B22 * b2)
    C33 = term(D, 0, 0) * a2 * a2 + term(D, 1, 1) * b2 * b2 + A22 / r**2
    C33 = C33 + (2.0 * term(D, 0, 1) + 4.0 * term(D, 2, 2)) * a2 * b2
    C33 = C33 + 2.0 / r * (B22 * b2 + B12 * a2)
    pushed = C13 * C13 * C22 - 2.0 * C12 * C13 * C23 + C11 * C23 * C23
    return np.asarray((C33 - pushed / (C11 * C22 - C12 * C12)) / a2)


def _parabola(values: Array) -> Array:
    """Least of evenly spaced values along the last axis, by a parabola through its neighbours."""
    middle = np.clip(np.nan_to_num(values, nan=np.inf).argmin(axis=-1), 1, values.shape[-1] - 2)
    left, low, right = (
        np.take_along_axis(values, (middle + step)[..., None], -1)[..., 0] for step in (-1, 0, 1)
    )
    bend = left - 2.0 * low + right
    with np.errstate(divide="ignore", invalid="ignore"):
        bottom = low - (right - left) ** 2 / (8.0 * bend)
    ends = np.minimum(values[..., 0], values[..., -1])
    return np.where(bend > 0.0, np.minimum(bottom, np.minimum(low, ends)), np.minimum(low, ends))
