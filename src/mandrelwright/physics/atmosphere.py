"""The standard atmosphere up to 84 km, and the same on a warmer or colder day.

Symbols: Z geometric and H geopotential altitude (m), T (K), p (Pa), ρ (kg/m³), a (m/s),
μ (Pa s), L temperature gradient (K/m).
Source: U.S. Standard Atmosphere, 1976 (NOAA-S/T 76-1562), from memory; layer pressures and the
rows below 11 km were seen in Mechanical Engineers' Handbook, Vol. 4, table 6.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

GRAVITY = 9.80665  # m/s²
EARTH = 6356766.0  # m, effective radius of the standard
GAS = 8314.32 / 28.9644  # J/(kg K), of dry air in the standard
GAMMA = 1.4  # ratio of the specific heats of air
SPECIFIC_HEAT = GAMMA * GAS / (GAMMA - 1.0)  # J/(kg K), at constant pressure
PRANDTL = 0.72  # of air
SUTHERLAND, BETA = 110.4, 1.458e-6  # K, kg/(s m K^½)
BASES = np.array([0.0, 11e3, 20e3, 32e3, 47e3, 51e3, 71e3])  # m, geopotential
GRADIENTS = np.array([-6.5e-3, 0.0, 1e-3, 2.8e-3, 0.0, -2.8e-3, -2e-3])  # K/m
SEA_LEVEL = (288.15, 101325.0)  # K, Pa
HIGHEST = 84e3  # m, geometric: the standard's molecules begin to part at 86


class Air(NamedTuple):
    """State of the air: T (K), p (Pa), ρ (kg/m³), a speed of sound (m/s), μ (Pa s)."""

    temperature: Array
    pressure: Array
    density: Array
    sound: Array
    viscosity: Array


def _bases() -> tuple[Array, Array]:
    """Temperature and pressure at the foot of each layer."""
    T, p = [SEA_LEVEL[0]], [SEA_LEVEL[1]]
    for height, L in zip(np.diff(BASES), GRADIENTS[:-1], strict=True):
        T.append(T[-1] + L * height)
        p.append(p[-1] * float(_ratio(T[-2], L, height)))
    return np.array(T), np.array(p)


def _ratio(base: ArrayLike, gradient: ArrayLike, height: ArrayLike) -> Array:
    """p/p_base = (T_base/T)^(g/(R L)), or exp(−g h/(R T)) where T stays the same."""
    T, L, h = np.broadcast_arrays(*(np.asarray(v, float) for v in (base, gradient, height)))
    slope = np.where(L == 0.0, 1.0, L)
    power = (T / (T + slope * h)) ** (GRAVITY / (GAS * slope))
    return np.asarray(np.where(L == 0.0, np.exp(-GRAVITY * h / (GAS * T)), power))


_TEMPERATURES, _PRESSURES = _bases()


def geopotential(altitude: ArrayLike) -> Array:
    """H = r Z/(r + Z), m from m."""
    Z = np.asarray(altitude, float)
    return np.asarray(EARTH * Z / (EARTH + Z))


def atmosphere(altitude: ArrayLike, warmer: float = 0.0) -> Air:
    """Air at a geometric altitude (m, −2 km to 84 km, clipped there), any shape.

    ``warmer``: kelvin that the day is above the standard at every altitude; the pressure stays
    the standard's, as altimeters have it, and density and sound follow the gas law.

    >>> [round(float(value), 4) for value in atmosphere(1000.0)[:3]]
    [281.651, 89876.2852, 1.1117]
    """
    H = geopotential(np.clip(altitude, -2e3, HIGHEST))
    layer = np.clip(np.searchsorted(BASES, H, side="right") - 1, 0, len(BASES) - 1)
    height = H - BASES[layer]
    standard = _TEMPERATURES[layer] + GRADIENTS[layer] * height
    p = _PRESSURES[layer] * _ratio(_TEMPERATURES[layer], GRADIENTS[layer], height)
    return air(standard + warmer, p)


def air(temperature: ArrayLike, pressure: ArrayLike) -> Air:
    """Density p/(R T), sound √(γ R T) and Sutherland's viscosity β T^1.5/(T + S) of dry air."""
    T, p = np.asarray(temperature, float), np.asarray(pressure, float)
    return Air(T, p, np.asarray(p / (GAS * T)), np.asarray(np.sqrt(GAMMA * GAS * T)), viscosity(T))


def viscosity(temperature: ArrayLike) -> Array:
    """Sutherland: μ = β T^1.5/(T + S), Pa s; 100 to 1900 K."""
    T = np.asarray(temperature, float)
    return np.asarray(BETA * T**1.5 / (T + SUTHERLAND))
