"""Air on a slender pointed body: pressure by local slope, side force, friction.

Symbols: C_p pressure and C_f friction coefficient on the dynamic pressure q = γ p M²/2, β local
surface slope (rad), A cross-section (m²), α angle of attack (rad), x from the tip (m).
Source: Munk, NACA Report 184 (1924) (slender body), Barrowman, M.S. thesis, Catholic University
of America, 1967 (transitions), both from memory; Anderson, Hypersonic and High-Temperature Gas
Dynamics, 1989 (tangent cone, modified Newton), from memory.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mandrelwright.physics.gas_dynamics import cone, stagnation_coefficient

Array = NDArray[np.float64]

SLENDER = np.radians(4.0)  # below, a cone's pressure by the linear formula: 4 % at its end
STEEPEST = np.radians(60.0)  # beyond, every pointed shock is detached
SLOPES = 9  # cones that are solved for one Mach number
SLOW, FAST = 0.9, 1.2  # Mach: between, pressures are drawn straight from one to the other


class Side(NamedTuple):
    """Side force of a body per α and q: C_Nα·A (m²/rad), and where it acts (x, m)."""

    slope: float
    centre: float


def side_force(x: Array, area: Array) -> Side:
    """Slender body: dN/dx = 2 q α dA/dx; C_Nα A = 2 (A_base − A_front), centre of that load.

    x_cp = (L A_base − V)/(A_base − A_front) from the front. x, area (place,). Any Mach number;
    α up to about 10° (beyond, the wake adds force aft). NaN centre where A does not change.
    """
    gained = float(area[-1] - area[0])
    length = float(x[-1] - x[0])
    volume = float(np.sum(0.5 * (area[1:] + area[:-1]) * np.diff(x)))
    centre = (length * float(area[-1]) - volume) / gained if gained else float("nan")
    return Side(2.0 * gained, float(x[0]) + centre)


def transition_centre(length: float, front: float, back: float) -> float:
    """Barrowman: x_cp = L/3 [1 + (1 − d1/d2)/(1 − (d1/d2)²)] from the front of a cone frustum."""
    ratio = front / back
    return length / 3.0 * (1.0 + (1.0 - ratio) / (1.0 - ratio * ratio))


def pressure_coefficient(mach: ArrayLike, slope: ArrayLike) -> Array:
    """C_p (mach, place) on a surface that slopes by β (place,), without incidence.

    Subsonic, to Mach 0.9: C_p = C_p,stag sin²β, an upper side for slender noses (the truth
    falls off faster and turns negative towards the shoulder). Supersonic, from Mach 1.2: the
    cone of that slope by Taylor and Maccoll (tangent cone, 10 % on an ogive), where its shock
    is detached the same as subsonic. Straight between. Nought where the surface falls away.
    """
    M, beta = np.atleast_1d(np.asarray(mach, float)), np.atleast_1d(np.asarray(slope, float))
    rising = np.maximum(beta, 0.0)
    blunt = stagnation_coefficient(M)[:, None] * np.sin(rising) ** 2
    share = np.clip((M - SLOW) / (FAST - SLOW), 0.0, 1.0)[:, None]
    if not share.any():
        return np.asarray(blunt)
    fast, which = np.unique(np.maximum(M, FAST), return_inverse=True)
    pointed = _cones(fast, rising)[which]
    return np.asarray((1.0 - share) * blunt + share * np.where(np.isnan(pointed), blunt, pointed))


def _cones(mach: Array, slope: Array) -> Array:
    """C_p of cones (mach, place), between a few solved ones; NaN where detached."""
    steep = min(float(slope.max()), STEEPEST)
    if steep <= SLENDER:
        return slender_cone(mach[:, None], slope)
    few = np.linspace(SLENDER, steep, SLOPES)
    M, beta = np.meshgrid(mach, few, indexing="ij")
    solved = cone(M.ravel(), beta.ravel()).coefficient.reshape(M.shape) / np.sin(few) ** 2
    found = np.array([np.interp(slope, few, row, right=np.nan) for row in solved])
    low = slender_cone(mach[:, None], np.minimum(slope, SLENDER))
    match = solved[:, :1] * np.sin(SLENDER) ** 2 / slender_cone(mach[:, None], SLENDER)
    return np.asarray(np.where(slope < SLENDER, low * match, found * np.sin(slope) ** 2))


def slender_cone(mach: ArrayLike, half_angle: ArrayLike) -> Array:
    """Linear theory: C_p = δ² (2 ln(2/(δ √(M² − 1))) − 1), for δ √(M² − 1) well below one."""
    M, delta = np.asarray(mach, float), np.maximum(np.asarray(half_angle, float), 1e-6)
    root = np.sqrt(np.square(M) - 1.0)
    return np.asarray(delta**2 * (2.0 * np.log(2.0 / (delta * root)) - 1.0))


def friction(reynolds: ArrayLike, mach: ArrayLike) -> Array:
    """Mean C_f of a turbulent wall, 0.455/(log₁₀ Re)^2.58/(1 + 0.144 M²)^0.65.

    Prandtl and Schlichting with the usual factor for compressibility, from memory; Reynolds
    number on the length, 3e5 to 1e9.
    """
    R = np.maximum(np.asarray(reynolds, float), 1e4)
    return np.asarray(0.455 / np.log10(R) ** 2.58 / (1.0 + 0.144 * np.square(mach)) ** 0.65)


def cumulative(x: Array, density: Array) -> Array:
    """∫ density dx from the first place to every other (..., place), by trapezia."""
    steps = 0.5 * (density[..., 1:] + density[..., :-1]) * np.diff(x)
    out = np.zeros_like(density)
    np.cumsum(steps, axis=-1, out=out[..., 1:])
    return out
