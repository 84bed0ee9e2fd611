"""Buckling of thin round shells under outside pressure: classical loads of perfect ones."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def bay_pressure(
    modulus: ArrayLike, poisson: ArrayLike, radius: ArrayLike, wall: ArrayLike, length: ArrayLike
) -> Array:
    """Outside pressure at which a cylinder between stiff rings buckles, the larger of two limits.

    Medium length: p = 1.04 √Z π² D/(L² R), Z = L²√(1 − ν²)/(R t), D = E t³/(12(1 − ν²));
    long: p = E t³/(4(1 − ν²) R³).

    ``modulus`` E and the result in Pa, ``radius`` R of the middle surface, ``wall`` t and
    ``length`` L between rings in m; all broadcast.
    Validity: elastic, simply supported ends, R/t above about 10; for short bays (Z below about
    15) it is low, on the safe side.  A perfect shell: real ones bear 0.56 of it or less.
    Source: NASA SP-8007 (1968), lateral and hydrostatic pressure, from memory.

    >>> round(float(bay_pressure(1.64e9, 0.38, 0.045, 1.2e-3, 0.150)) / 1e3)
    55
    """
    E, R, t, L = (np.asarray(item, float) for item in (modulus, radius, wall, length))
    through = 1.0 - np.asarray(poisson, float) ** 2
    stiffness = E * t**3 / (12.0 * through)
    curvature = L**2 * np.sqrt(through) / (R * t)
    medium = 1.04 * np.sqrt(curvature) * np.pi**2 * stiffness / (L**2 * R)
    return np.asarray(np.maximum(medium, E * t**3 / (4.0 * through * R**3)))


def warm_modulus(
    temperature: ArrayLike, modulus: ArrayLike, deflects_high: float, deflects_low: float
) -> Array:
    """Modulus of a glassy plastic that is warm, from its two temperatures of deflection.

    The standard test loads a bar until its outer fibre strains by 0.2 %: E = 1.8 MPa/0.002 at
    ``deflects_high`` and 0.45 MPa/0.002 at ``deflects_low``; straight lines between these and
    ``modulus`` at 23 °C, nothing beyond.

    Temperatures in K, moduli in Pa; broadcast over ``temperature`` and ``modulus``.
    Validity: minutes to hours under load; a plastic that crystallises is stiffer.
    Source: ISO 75-2, method A and B, from memory; the straight lines are an assumption.
    """
    room, at_high, at_low = 296.15, 1.8e6 / 0.002, 0.45e6 / 0.002
    T, E = np.asarray(temperature, float), np.asarray(modulus, float)
    first = E + (at_high - E) * (T - room) / (deflects_high - room)
    second = at_high + (at_low - at_high) * (T - deflects_high) / (deflects_low - deflects_high)
    warm = np.where(deflects_high >= T, np.minimum(first, E), second)
    return np.asarray(np.where(deflects_low < T, 0.0, warm))
