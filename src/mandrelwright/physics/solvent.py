"""Solvent in the air of a room, and solvent leaving a softened skin."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mandrelwright.physics.kinetics import GAS

Array = NDArray[np.float64]

ATMOSPHERE = 101_325.0  # Pa, standard


def liquid_for_share(
    share: ArrayLike,
    volume: ArrayLike,
    temperature: ArrayLike,
    molar_mass: ArrayLike,
    density: ArrayLike,
) -> Array:
    """Volume of liquid that fills still air to a share of vapour: V_l = x p V M/(R T ρ), m³.

    ``share`` x by volume, ``volume`` V m³, ``temperature`` T K, ``molar_mass`` M kg/mol,
    ``density`` ρ of the liquid kg/m³, p one standard atmosphere. All broadcast.
    Validity: ideal gas, evenly mixed, no exchange of air; near the liquid and near the floor a
    share is reached with far less. A figure of danger, never an allowance.

    >>> round(float(liquid_for_share(250e-6, 20.0, 293.15, 0.05808, 791.0)) * 1e6, 1)
    15.3
    """
    x, V, T = (np.asarray(value, float) for value in (share, volume, temperature))
    amount = x * ATMOSPHERE * V / (GAS * T)
    return np.asarray(amount * np.asarray(molar_mass, float) / np.asarray(density, float))


def saturated_share(vapour_pressure: ArrayLike) -> Array:
    """Share of vapour in saturated air by volume: p_v/p, vapour pressure p_v in Pa."""
    return np.asarray(np.asarray(vapour_pressure, float) / ATMOSPHERE)


def diffusion_time(depth: ArrayLike, diffusivity: ArrayLike) -> Array:
    """Time scale of a solvent leaving a skin: t = L²/D, s; ``depth`` L m, ``diffusivity`` D m²/s.

    Validity: an order of magnitude; D of a glassy plastic falls by decades as it dries.
    Source: Fick's second law, its only time scale.
    """
    return np.asarray(np.square(depth) / np.asarray(diffusivity, float))


def loss_rate(time: ArrayLike, mass: ArrayLike, spread: ArrayLike) -> tuple[float, float]:
    """Share of its mass that a part loses in a second, between its last two weighings.

    rate = (m₁ − m₂)/(m₂ (t₂ − t₁)), its spread √(u₁² + u₂²)/(m₂ (t₂ − t₁)); ``time`` (n,) s,
    ``mass`` (n,) kg, ``spread`` (n,) kg of each weighing. Returns both, 1/s.
    """
    t, m, u = (np.asarray(values, float)[-2:] for values in (time, mass, spread))
    whole = m[1] * (t[1] - t[0])
    return float((m[0] - m[1]) / whole), float(np.hypot(u[0], u[1]) / whole)
