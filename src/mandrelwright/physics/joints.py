"""Bonds, pins and vents of a joint between two tubes.

Symbols: F force (N), R radius, L length, t wall, d diameter, e distance of a hole's middle from the
edge (m), k = E t stiffness of a wall over its width (N/m), η thickness of the glue, G its shear
modulus.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mandrelwright.physics.wetout import GRAVITY

Array = NDArray[np.float64]

THREAD_DEPTH = 1.22687  # pitches between major and root diameter, 17√3/24 of 60° (ISO 68-1)


def bond_stress(force: ArrayLike, radius: ArrayLike, length: ArrayLike) -> Array:
    """Mean shear stress of a glued sleeve, Pa: τ = F/(2π R L); broadcast.

    Validity: glue on the whole area. Source: equilibrium.
    """
    area = 2.0 * np.pi * np.asarray(radius, float) * np.asarray(length, float)
    return np.asarray(np.asarray(force, float) / area)


def peak_share(
    length: ArrayLike,
    glue: ArrayLike,
    shear_modulus: ArrayLike,
    first: ArrayLike,
    second: ArrayLike,
) -> Array:
    """Largest over mean shear stress of a lap: (ωL/2)[coth(ωL/2) + ψ tanh(ωL/2)].

    ω² = (G/η)(1/k₁ + 1/k₂), ψ = |k₁ − k₂|/(k₁ + k₂); ``length`` L and ``glue`` η in m,
    ``shear_modulus`` G in Pa, ``first`` and ``second`` the walls' stiffness k = E t in N/m;
    broadcast, 1 for a short lap.  Validity: elastic glue, walls that do not bend, no peel.
    Source: Volkersen 1938 (from memory).
    """
    k1, k2 = np.asarray(first, float), np.asarray(second, float)
    stiffness = np.asarray(shear_modulus, float) / np.asarray(glue, float)
    half = 0.5 * np.sqrt(stiffness * (1.0 / k1 + 1.0 / k2)) * np.asarray(length, float)
    psi = np.abs(k1 - k2) / (k1 + k2)
    return np.asarray(half * (1.0 / np.tanh(half) + psi * np.tanh(half)))


def thread_root(diameter: ArrayLike, pitch: ArrayLike) -> Array:
    """Diameter of a screw at the bottom of its thread, m: d₃ = d − 1.22687 P.

    Source: ISO 68-1, basic profile with a rounded root (from memory).

    >>> round(float(thread_root(3.0, 0.5)), 3)
    2.387
    """
    return np.asarray(np.asarray(diameter, float) - THREAD_DEPTH * np.asarray(pitch, float))


def pins_hold(count: ArrayLike, diameter: ArrayLike, strength: ArrayLike) -> Array:
    """Force that shears all pins at once, N: F = n (π/4) d² τ; d where they shear.

    Validity: alike pins that share the load; a loose one lets the others go first.
    Source: equilibrium.
    """
    area = 0.25 * np.pi * np.square(np.asarray(diameter, float))
    return np.asarray(np.asarray(count, float) * area * np.asarray(strength, float))


def holes_hold(
    count: ArrayLike,
    diameter: ArrayLike,
    edge: ArrayLike,
    wall: ArrayLike,
    bearing: ArrayLike,
    shear: ArrayLike,
) -> tuple[Array, Array]:
    """Forces (N) at which pins crush their holes, and tear out: n d t σ_b and 2 n (e − d/2) t τ.

    ``edge`` e from the hole's middle to the edge; ``bearing`` σ_b and in-plane ``shear`` τ of the
    laminate in Pa; broadcast.  Source: equilibrium on the two planes beside the hole, common in
    joint design (from memory).
    """
    n, d, t = (np.asarray(value, float) for value in (count, diameter, wall))
    crush = n * d * t * np.asarray(bearing, float)
    planes = np.maximum(np.asarray(edge, float) - 0.5 * d, 0.0)
    return np.asarray(crush), np.asarray(2.0 * n * planes * t * np.asarray(shear, float))


def edge_holds(
    width: ArrayLike, wall: ArrayLike, bearing: ArrayLike, shear: ArrayLike
) -> tuple[Array, Array]:
    """Forces (N) at which a cord crushes an open edge, and tears it: w t σ_b and 2 w t τ.

    ``width`` w of the cord and ``wall`` t in m, ``bearing`` σ_b and in-plane ``shear`` τ of the
    laminate in Pa; broadcast. The two planes beside the cord are taken as long as it is wide.
    Validity: a pull in the plane of the wall; one that bends the edge outwards asks more.
    Source: equilibrium; the length of the planes is judgement, common practice, no source.
    """
    w, t = np.asarray(width, float), np.asarray(wall, float)
    crushed = w * t * np.asarray(bearing, float)
    return np.asarray(crushed), np.asarray(2.0 * w * t * np.asarray(shear, float))


def vent_lag(
    volume: ArrayLike,
    area: ArrayLike,
    discharge: ArrayLike,
    speed: ArrayLike,
    density: ArrayLike,
    pressure: ArrayLike,
) -> Array:
    """Pressure inside above outside as a vented body climbs, Pa: Δp = ½ρ[V ρ g v/(p C_d A)]².

    The outside falls by ρ g v a second; air that keeps its temperature leaves as fast through the
    hole, C_d A √(2ρ Δp) = V ρ² g v/p.  ``volume`` V m³, ``area`` A m², ``speed`` v of climb m/s,
    ``density`` ρ and ``pressure`` p of the free air; broadcast.  Validity: Δp small against p,
    steady against the time it takes to fill; a hole that looks at still air.
    Source: Bernoulli's orifice; derived here.
    """
    rho, p = np.asarray(density, float), np.asarray(pressure, float)
    flow = np.asarray(volume, float) * rho * GRAVITY * np.asarray(speed, float)
    hole = np.asarray(discharge, float) * np.asarray(area, float)
    return np.asarray(0.5 * rho * np.square(flow / (p * hole)))
