"""Resin in the cup and on the mould: how long it lasts, how it is weighed, how it runs.

Symbols: R gas constant, E apparent activation energy (J/mol), T temperature (K), h hardener
by weight of resin, d step of the scale (kg), M weight of the mixed cup (kg), V_f fibre and
V_v void volume fraction, ρ density (kg/m³), μ viscosity (Pa·s).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mandrelwright.physics.kinetics import GAS

Array = NDArray[np.float64]

GRAVITY = 9.80665  # m/s², standard gravity


def at_temperature(
    value: ArrayLike, energy: ArrayLike, temperature: ArrayLike, known_at: ArrayLike
) -> Array:
    """A pot life or a viscosity at another temperature: y = y0·exp[(E/R)(1/T − 1/T0)].

    value y0 in any unit, at ``known_at`` T0 (K); energy E in J/mol; broadcast. Valid within
    some 15 K of T0, for the same mass in the same cup: a cup heats itself, and a larger one,
    or one that stands warm, lasts shorter than this says.
    >>> round(float(at_temperature(60.0, 51.2e3, 303.15, 293.15)), 1)
    30.0
    """
    turn = 1.0 / np.asarray(temperature, float) - 1.0 / np.asarray(known_at, float)
    return np.asarray(value, float) * np.exp(np.asarray(energy, float) / GAS * turn)


def hardener_error(batch: ArrayLike, ratio: ArrayLike, step: ArrayLike) -> Array:
    """Relative error of the hardener's weight, at worst: e = (d/2)·(1 + h)/(h·M).

    A scale of step d shows a weight to ±d/2; the hardener in a cup of M weighs M·h/(1 + h).
    batch M and step d in kg, ratio h > 0; broadcast. The resin's own ±d/2 comes on top, h times
    as large. Exact for a scale that rounds and is otherwise true.
    >>> f"{float(hardener_error(20e-3, 0.30, 1e-3)):.4f}"
    '0.1083'
    """
    hardener = np.asarray(batch, float) * np.asarray(ratio, float) / (1.0 + np.asarray(ratio))
    return np.asarray(0.5 * np.asarray(step, float) / hardener)


def smallest_batch(error: ArrayLike, ratio: ArrayLike, step: ArrayLike) -> Array:
    """Smallest cup whose hardener is right within a relative error: M = (d/2)·(1 + h)/(h·e), kg.

    >>> f"{float(smallest_batch(0.05, 0.30, 1e-3)) * 1e3:.1f} g"
    '43.3 g'
    """
    return hardener_error(error, ratio, step)  # the same relation, solved for the other factor


def resin_mass(
    volume: ArrayLike, fibre_fraction: ArrayLike, voids: ArrayLike, density: ArrayLike
) -> Array:
    """Resin in a laid volume: m = ρ·V·(1 − V_f − V_v), kg.

    volume in m³ with its voids, density of the cured resin in kg/m³, fractions with
    V_f + V_v ≤ 1; broadcast. Curing changes the volume of resin, not its mass.
    """
    share = 1.0 - np.asarray(fibre_fraction, float) - np.asarray(voids, float)
    return np.asarray(np.asarray(density, float) * np.asarray(volume, float) * share)


def sag_speed(density: ArrayLike, film: ArrayLike, viscosity: ArrayLike) -> Array:
    """Speed at which the face of a free film runs down an upright wall: v = ρ·g·h²/(2μ), m/s.

    film h in m, density in kg/m³, viscosity in Pa·s; broadcast. Newtonian film without fibre,
    so of the resin that lies outside the cloth only. Source: steady film flow, Nusselt 1916
    (from memory); the mean speed is two thirds of it.
    >>> f"{float(sag_speed(1110.0, 0.2e-3, 0.6)) * 60e3:.1f} mm/min"
    '21.8 mm/min'
    """
    film = np.asarray(film, float)
    return np.asarray(np.asarray(density, float) * GRAVITY * film * film) / (
        2.0 * np.asarray(viscosity, float)
    )
