"""Heat from the air to a wall in flight, and from the sun to one that stands.

Symbols: T_aw the temperature an insulated wall would take (K), h film coefficient (W/(m² K)),
St Stanton and Re Reynolds number, * at Eckert's reference temperature, e at the edge of the
boundary layer.
Source: Eckert, J. Aeronaut. Sci. 22 (1955) 585; van Driest, J. Aeronaut. Sci. 19 (1952) (cones);
Fay and Riddell, J. Aeronaut. Sci. 25 (1958) 73 (stagnation point); Churchill and Bernstein,
J. Heat Transfer 99 (1977) 300 (cylinder in wind); all from memory.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mandrelwright.physics.atmosphere import (
    GAMMA,
    GAS,
    PRANDTL,
    SEA_LEVEL,
    SPECIFIC_HEAT,
    Air,
    air,
    viscosity,
)
from mandrelwright.physics.gas_dynamics import mach_from, pitot, pressure_ratio, temperature_ratio

Array = NDArray[np.float64]

TRANSITION = 5e5  # Reynolds number on the running length; a rough or hot wall trips earlier
LAMINAR_CONE, TURBULENT_CONE = np.sqrt(3.0), 1.15  # heat of a cone over that of a flat plate
STEFAN = 5.670374e-8  # W/(m² K⁴)
VERTICAL = 1.31  # W/(m² K^(4/3)): h = 1.31 ΔT^⅓ in still air, McAdams, from memory


class Film(NamedTuple):
    """Film coefficient (W/(m² K)) and the temperature of an insulated wall (K), one shape."""

    coefficient: Array
    recovery: Array


def recovery_factor(turbulent: ArrayLike, prandtl: float = PRANDTL) -> Array:
    """r = √Pr in a laminar, Pr^⅓ in a turbulent boundary layer."""
    return np.asarray(np.where(turbulent, prandtl ** (1.0 / 3.0), np.sqrt(prandtl)))


def recovery(edge: ArrayLike, mach: ArrayLike, factor: ArrayLike) -> Array:
    """T_aw = T_e [1 + r (γ − 1)/2 M_e²], K."""
    rise = 0.5 * (GAMMA - 1.0) * np.square(np.asarray(mach, float))
    return np.asarray(np.asarray(edge) * (1.0 + np.asarray(factor) * rise))


def reference(edge: ArrayLike, wall: ArrayLike, insulated: ArrayLike) -> Array:
    """Eckert's T* = T_e + 0.5 (T_w − T_e) + 0.22 (T_aw − T_e), K."""
    T = np.asarray(edge, float)
    return np.asarray(T + 0.5 * (np.asarray(wall) - T) + 0.22 * (np.asarray(insulated) - T))


def flat_plate(reynolds: ArrayLike, turbulent: ArrayLike) -> Array:
    """Local St Pr^⅔: 0.332/√Re laminar, 0.0296/Re^0.2 turbulent (Re 5e5 to 1e7)."""
    R = np.maximum(np.asarray(reynolds, float), 1.0)
    return np.asarray(np.where(turbulent, 0.0296 * R**-0.2, 0.332 / np.sqrt(R)))


def edge(free: Air, mach: ArrayLike, coefficient: ArrayLike) -> tuple[Air, Array]:
    """Air at the edge of the boundary layer and its Mach number.

    p_e = p (1 + γ/2 M² C_p); total temperature is kept, and the total pressure of the free
    stream: shocks of slender noses cost little of it (2 % at Mach 3 and 10°).
    """
    M = np.asarray(mach, float)
    pressure = free.pressure * (1.0 + 0.5 * GAMMA * M * M * np.asarray(coefficient))
    total = free.pressure / pressure_ratio(M)
    there = mach_from(np.minimum(pressure / total, 1.0))
    T = free.temperature / temperature_ratio(M) * temperature_ratio(there)
    return air(T, pressure), there


def film(
    free: Air, mach: ArrayLike, coefficient: ArrayLike, run: ArrayLike, conical: ArrayLike,
    wall: ArrayLike,
) -> Film:  # fmt: skip
    """Film on a wall ``run`` metres along the surface from the tip, at temperature ``wall`` (K).

    h = St* ρ* U_e c_p at Eckert's temperature, turbulent where Re* on the running length is
    over 5e5. ``conical``: 1 on a cone or pointed nose, whose thin layer takes √3 times a flat
    plate's heat laminar and 1.15 times turbulent, 0 on a cylinder, between on a curved nose.
    Everything broadcasts.
    """
    outer, M = edge(free, mach, coefficient)
    U = M * outer.sound
    T, warm = outer.temperature, np.asarray(wall, float)
    smooth = recovery(T, M, recovery_factor(False))
    length = np.maximum(np.asarray(run, float), 1e-3)
    Re = _density(outer, reference(T, warm, smooth)) * U * length
    Re = Re / viscosity(reference(T, warm, smooth))
    turbulent = Re > TRANSITION
    insulated = recovery(T, M, recovery_factor(turbulent))
    mean = reference(T, warm, insulated)
    density = _density(outer, mean)
    St = flat_plate(density * U * length / viscosity(mean), turbulent) * PRANDTL ** (-2.0 / 3.0)
    cone = np.where(turbulent, TURBULENT_CONE, LAMINAR_CONE)
    factor = 1.0 + (cone - 1.0) * np.asarray(conical)
    return Film(np.asarray(factor * St * density * U * SPECIFIC_HEAT), insulated)


def _density(outer: Air, temperature: Array) -> Array:
    return np.asarray(outer.pressure / (GAS * temperature))


def stagnation(free: Air, mach: ArrayLike, radius: float) -> Film:
    """Film at the stagnation point of a sphere of this radius (m).

    h = 0.763 Pr^−0.6 c_p √(ρ_t μ_t dU/dx); dU/dx by Newton, √(2(p_t − p)/ρ_t)/R, and below
    Mach 1 no less than about a sphere, 1.5 (1 − 0.252 M²) U/R. T_aw is the total temperature.
    """
    M = np.asarray(mach, float)
    T = free.temperature / temperature_ratio(M)
    p = free.pressure * pitot(M)
    still = air(T, p)
    newton = np.sqrt(2.0 * np.maximum(p - free.pressure, 0.0) / still.density)
    slow = 1.5 * (1.0 - 0.252 * np.minimum(M, 1.0) ** 2) * M * free.sound * (M < 1.0)
    spread = np.maximum(newton, slow) / radius
    root = np.sqrt(still.density * still.viscosity * spread)
    return Film(np.asarray(0.763 * PRANDTL**-0.6 * SPECIFIC_HEAT * root), np.asarray(T))


def wind(speed: float, diameter: float, temperature: float) -> float:
    """Mean film coefficient of a cylinder across a wind (m/s), W/(m² K).

    Nu = 0.3 + 0.62 Re^½ Pr^⅓/(1 + (0.4/Pr)^⅔)^¼ (1 + (Re/282000)^⅝)^⅘.
    """
    outside = air(temperature, SEA_LEVEL[1])
    mu = float(outside.viscosity)
    Re = float(outside.density) * speed * diameter / mu
    Nu = (
        0.3
        + 0.62
        * Re**0.5
        * PRANDTL ** (1.0 / 3.0)
        / (1.0 + (0.4 / PRANDTL) ** (2.0 / 3.0)) ** 0.25
        * (1.0 + (Re / 282e3) ** 0.625) ** 0.8
    )
    return float(Nu * mu * SPECIFIC_HEAT / PRANDTL / diameter)


class Sunned(NamedTuple):
    """A wall in the sun: its side that faces it, and its mean round about (K)."""

    hottest: float
    mean: float


def sunned(
    sun: float, temperature: float, breeze: float, diameter: float,
    absorbs: float, emits: float, inside: float,
) -> Sunned:  # fmt: skip
    """A thin round wall that stands in the sun until nothing changes.

    a G = h_wind (T − T_a) + ε σ (T⁴ − T_a⁴) + h_in (T − T_mean) where the sun G (W/m²) falls
    square on it; round about it takes a G/π, the shadow of its own round. T_a: air and
    surroundings (K); a absorptivity, ε emissivity; ``inside``: film of the air in the bore
    (W/(m² K)), which is as warm as the wall's mean. The film is that of the wind, no less than
    still air's. Newton's steps; heat along the wall and what the ground throws back left out.
    """
    blown = wind(breeze, diameter, temperature)

    def excess(T: float, heat: float, bore: float, mean: float) -> tuple[float, float]:
        rise = max(T - temperature, 0.0)
        h = max(blown, VERTICAL * rise ** (1.0 / 3.0))
        lost = h * rise + emits * STEFAN * (T**4 - temperature**4) + bore * (T - mean)
        return lost - absorbs * heat, h + 4.0 * emits * STEFAN * T**3 + bore

    mean = hottest = temperature
    for _ in range(12):
        off, slope = excess(mean, sun / np.pi, 0.0, mean)
        mean -= off / slope
    for _ in range(12):
        off, slope = excess(hottest, sun, inside, mean)
        hottest -= off / slope
    return Sunned(float(hottest), float(mean))
