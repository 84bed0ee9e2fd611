"""Air at speed: isentropic, normal and oblique shock, pitot pressure, flow about a cone.

A perfect gas with γ = 1.4: up to Mach 5 or so. Symbols: M Mach number, p pressure, subscript
t total, 1 before and 2 behind a shock, β shock and δ flow angle (rad).
Source: NACA Report 1135 (1953), equations from memory; Taylor and Maccoll, Proc. R. Soc. A 139
(1933) 278, from memory.
"""

from __future__ import annotations

from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mandrelwright.physics.atmosphere import GAMMA

Array = NDArray[np.float64]

STEPS = 16  # of the integration between shock and cone: 1e-6 of the pressure
GRADING = 2.0  # finest behind the shock, where weak flows change the most
ROUNDS = 8  # of the search for the shock
BISECTIONS = 40


class NormalShock(NamedTuple):
    """Behind a normal shock: M2, p2/p1, ρ2/ρ1, T2/T1, pt2/pt1."""

    mach: Array
    pressure: Array
    density: Array
    temperature: Array
    total: Array


class Cone(NamedTuple):
    """Attached flow about a cone: shock angle (rad), M and C_p on its surface; NaN if detached."""

    shock: Array
    mach: Array
    coefficient: Array


def temperature_ratio(mach: ArrayLike) -> Array:
    """T/T_t = 1/(1 + (γ − 1)/2 M²)."""
    return np.asarray(1.0 / (1.0 + 0.5 * (GAMMA - 1.0) * np.square(mach)))


def pressure_ratio(mach: ArrayLike) -> Array:
    """p/p_t = (T/T_t)^(γ/(γ − 1)), isentropic."""
    return np.asarray(temperature_ratio(mach) ** (GAMMA / (GAMMA - 1.0)))


def mach_from(ratio: ArrayLike) -> Array:
    """M at which p/p_t is this ratio (0 to 1)."""
    T = np.asarray(ratio, float) ** ((1.0 - GAMMA) / GAMMA)
    return np.asarray(np.sqrt(2.0 * np.maximum(T - 1.0, 0.0) / (GAMMA - 1.0)))


def area_ratio(mach: ArrayLike) -> Array:
    """A/A* = 1/M [2/(γ + 1) (1 + (γ − 1)/2 M²)]^((γ + 1)/(2(γ − 1)))."""
    M = np.asarray(mach, float)
    inside = 2.0 / (GAMMA + 1.0) / temperature_ratio(M)
    return np.asarray(inside ** (0.5 * (GAMMA + 1.0) / (GAMMA - 1.0)) / M)


def expansion_angle(mach: ArrayLike) -> Array:
    """Prandtl-Meyer: ν = √k atan √((M² − 1)/k) − atan √(M² − 1), k = (γ + 1)/(γ − 1), rad."""
    k = (GAMMA + 1.0) / (GAMMA - 1.0)
    root = np.sqrt(np.maximum(np.square(mach) - 1.0, 0.0))
    return np.asarray(np.sqrt(k) * np.arctan(root / np.sqrt(k)) - np.arctan(root))


def normal_shock(mach: ArrayLike) -> NormalShock:
    """The jump across a normal shock, M1 of one and more."""
    M2 = np.square(np.asarray(mach, float))
    behind = (1.0 + 0.5 * (GAMMA - 1.0) * M2) / (GAMMA * M2 - 0.5 * (GAMMA - 1.0))
    p = 1.0 + 2.0 * GAMMA / (GAMMA + 1.0) * (M2 - 1.0)
    density = (GAMMA + 1.0) * M2 / (2.0 + (GAMMA - 1.0) * M2)
    after = np.sqrt(behind)
    total = p * pressure_ratio(mach) / pressure_ratio(after)
    return NormalShock(np.asarray(after), p, density, p / density, np.asarray(total))


def pitot(mach: ArrayLike) -> Array:
    """Stagnation over static pressure: isentropic below Mach 1, Rayleigh's formula above.

    pt2/p1 = [(γ + 1) M²/2]^(γ/(γ−1)) [(γ + 1)/(2γ M² − γ + 1)]^(1/(γ−1)).
    """
    M = np.asarray(mach, float)
    fast = np.maximum(M, 1.0) ** 2
    rayleigh = (0.5 * (GAMMA + 1.0) * fast) ** (GAMMA / (GAMMA - 1.0)) * (
        (GAMMA + 1.0) / (2.0 * GAMMA * fast - GAMMA + 1.0)
    ) ** (1.0 / (GAMMA - 1.0))
    return np.asarray(np.where(M > 1.0, rayleigh, 1.0 / pressure_ratio(np.minimum(M, 1.0))))


def stagnation_coefficient(mach: ArrayLike) -> Array:
    """C_p at a stagnation point, (p_t2/p − 1)/(γ M²/2); 1 + M²/4 for little M."""
    M = np.maximum(np.asarray(mach, float), 1e-2)
    return np.asarray((pitot(M) - 1.0) / (0.5 * GAMMA * M * M))


def deflection(mach: ArrayLike, shock: ArrayLike) -> Array:
    """Angle by which an oblique shock turns the flow, rad.

    tan δ = 2 cot β (M² sin²β − 1)/(M² (γ + cos 2β) + 2).
    """
    M2, b = np.square(np.asarray(mach, float)), np.asarray(shock, float)
    rise = M2 * np.sin(b) ** 2 - 1.0
    return np.asarray(np.arctan(2.0 * rise / np.tan(b) / (M2 * (GAMMA + np.cos(2.0 * b)) + 2.0)))


def steepest_shock(mach: ArrayLike) -> Array:
    """β of the largest deflection at this Mach number, rad.

    sin²β = [(γ + 1)/4 M² − 1 + √((γ + 1)((γ + 1)/16 M⁴ + (γ − 1)/2 M² + 1))]/(γ M²).
    """
    M2, g = np.square(np.asarray(mach, float)), GAMMA + 1.0
    root = np.sqrt(g * (g * M2 * M2 / 16.0 + 0.5 * (GAMMA - 1.0) * M2 + 1.0))
    return np.asarray(np.arcsin(np.sqrt((0.25 * g * M2 - 1.0 + root) / (GAMMA * M2))))


def oblique_shock(mach: ArrayLike, turn: ArrayLike) -> Array:
    """Weak shock angle that turns the flow by ``turn`` (rad), NaN where it detaches."""
    M, turn = np.broadcast_arrays(np.asarray(mach, float), np.asarray(turn, float))
    low, high = np.arcsin(1.0 / M), steepest_shock(M)
    attached = turn <= deflection(M, high)
    for _ in range(BISECTIONS):
        middle = 0.5 * (low + high)
        short = deflection(M, middle) < turn
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    return np.asarray(np.where(attached, 0.5 * (low + high), np.nan))


def cone(mach: ArrayLike, half_angle: ArrayLike) -> Cone:
    """Supersonic flow about a pointed cone without incidence, by Taylor and Maccoll.

    From the shock (oblique relations) the conical flow is integrated to the ray across which
    nothing flows, the surface; the shock whose surface it is is found by bracketing. mach over
    1, half angle (rad) over 0, broadcast. Within 1e-3 of C_p for Mach 1.5 to 3 and 5 to 20°;
    NaN where the shock detaches.
    """
    M, half = np.broadcast_arrays(np.asarray(mach, float), np.asarray(half_angle, float))
    M, half = np.atleast_1d(M), np.atleast_1d(half)
    wave, wedge = np.arcsin(1.0 / M), oblique_shock(M, half)  # a cone's shock lies between
    most = np.where(np.isnan(wedge), steepest_shock(M), wedge) - wave
    low, high = np.zeros_like(most), most**0.25  # for slender cones shock - wave goes as δ⁴
    at_low, at_high = -half, _surface(M, wave + most)[0] - half
    attached = at_high >= 0.0
    before = np.zeros(M.shape, dtype=bool)
    for number in range(ROUNDS):
        gap = np.where(attached & (at_high > at_low), at_high - at_low, 1.0)
        middle = np.where(attached, low - at_low * (high - low) / gap, high)
        here = _surface(M, wave + middle**4)[0] - half
        under = here < 0.0
        again = (under == before) if number else np.zeros_like(under)  # Illinois
        low, high = np.where(under, middle, low), np.where(under, high, middle)
        at_high = np.where(under, np.where(again, 0.5 * at_high, at_high), here)
        at_low = np.where(under, here, np.where(again, 0.5 * at_low, at_low))
        before = under
    shock = wave + middle**4
    along = _surface(M, shock)[1]
    surface = np.sqrt(2.0 / (GAMMA - 1.0) / (1.0 / along**2 - 1.0))
    total = normal_shock(np.maximum(M * np.sin(shock), 1.0)).total
    pressure = total * pressure_ratio(surface) / pressure_ratio(M)
    coefficient = (pressure - 1.0) / (0.5 * GAMMA * M * M)
    return Cone(*(np.where(attached, value, np.nan) for value in (shock, surface, coefficient)))


def _surface(mach: Array, shock: Array) -> tuple[Array, Array]:
    """The ray of the cone under this shock (rad), and the speed on it over the largest.

    The velocity across the ray, v_θ, runs from its value behind the shock to nought; classical
    Runge-Kutta.
    """
    turn = deflection(mach, shock)
    normal = normal_shock(np.maximum(mach * np.sin(shock), 1.0)).mach
    speed = np.sqrt(1.0 - temperature_ratio(normal / np.sin(shock - turn)))
    start = -speed * np.sin(shock - turn)
    state = np.array([shock, speed * np.cos(shock - turn)])
    grown = 1.0 - np.linspace(0.0, 1.0, STEPS + 1) ** GRADING
    for share, after in pairwise(grown.tolist()):
        across, step = share * start, (after - share) * start
        one = _turning(across, state)
        two = _turning(across + 0.5 * step, state + 0.5 * step * one)
        three = _turning(across + 0.5 * step, state + 0.5 * step * two)
        four = _turning(across + step, state + step * three)
        state = state + step / 6.0 * (one + 2.0 * (two + three) + four)
    return state[0], state[1]


def _turning(across: Array, state: Array) -> Array:
    """d(θ, v_r)/dv_θ of conical flow, v over the largest speed.

    dθ/dv_θ = (c − v_θ²)/[v_θ² v_r − c (2 v_r + v_θ cot θ)], dv_r/dθ = v_θ,
    c = (γ − 1)/2 (1 − v_r² − v_θ²).
    """
    angle, along = state
    square = across * across
    c = 0.5 * (GAMMA - 1.0) * (1.0 - along * along - square)
    slope = (c - square) / (square * along - c * (2.0 * along + across / np.tan(angle)))
    return np.array([slope, across * slope])
