"""The wall as warm as a load finds it: stiffness, strengths and their spread, case by case."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.materials import Entry, Library
from mandrelwright.physics import laminate, micromechanics, strength
from mandrelwright.physics.strength import Strengths
from mandrelwright.stages.stack import Stack
from mandrelwright.stages.wall import Constituents

Array = NDArray[np.float64]

UNTESTED = 1e30  # Pa: a ply of which no strength is known is left out
PLY = ("tension_along", "compression_along", "tension_across", "compression_across", "shear")


class Walls(NamedTuple):
    """The wall at the stations, warm: arrays (row, place, ...), or (row, pair, place).

    What heat does not change stands without the row, where every row has the same stations.
    """

    fibre_fraction: Array | float
    angle: Array  # (pair, place), or (row, pair, place)
    thickness: Array
    radius: Array  # of the middle, (place,), or (row, place)
    cosine: Array  # of the slope
    plies: micromechanics.Ply
    stiffness: tuple[Array, Array, Array]  # A, B, D
    kept: Array  # (row, place)
    sound: NDArray[np.bool_]


def owners(stack: Stack) -> list[int]:
    """The layer that every pair belongs to."""
    none = np.zeros(0)
    return [n for n, layer in enumerate(stack.layers) for _ in layer.textile.families(none)]


def warm_walls(
    stack: Stack,
    parts: Constituents,
    nodes: NDArray[np.intp],
    kept: Array,
    change: tuple[Array | float, Array | float] = (0.0, 0.0),
) -> Walls:
    """Stiffness of the wall at nodes of the stack with the resin keeping a share (row, place).

    ``nodes`` (place,), or (row, place). ``change``: of V_f, the fibres staying the same, and of
    every angle (rad), one for all or (row, 1) where nodes have rows.
    """
    turned = np.asarray(change[1], float)[..., None]
    fraction = stack.fibre_fraction + np.asarray(change[0], float)[..., None]
    angle, thickness = (np.moveaxis(values[:, nodes], 0, -2) for values in stack.pairs)
    angle, thickness = angle + turned, thickness * (stack.fibre_fraction / fraction)
    radius = 0.5 * (stack.r[0] + stack.r[-1])[nodes]
    cosine = stack.meridian.tangent(stack.outside).cosine[nodes]
    resin = replace(parts.resin, E=parts.resin.E * kept[:, None, :])
    plies = micromechanics.ply(parts.fibre, resin, fraction, parts.across_poisson, parts.crimp)
    pairs = laminate.pair_stiffness(plies, angle)
    wall = thickness.sum(axis=-2)
    bottom = -0.5 * wall[..., None, :]
    edges = np.concatenate((bottom, bottom + np.cumsum(thickness, axis=-2)), axis=-2)
    ABD = laminate.assemble(np.moveaxis(pairs, 1, 2), np.moveaxis(edges, -2, -1))
    sound = ~stack.jammed[:, nodes].any(axis=0) & (wall > 0.0)
    return Walls(fraction, angle, thickness, radius, cosine, plies, ABD, kept, sound)


def resin_left(
    warm: Array, glass: Array | float, library: Library, steeper: Array | float = 0.0
) -> Array:
    """Share of its own that the resin keeps at temperatures (K), its exponent moved by some."""
    practice = library.practice["strength"]
    reference, exponent = practice["resin_reference"].value, practice["resin_exponent"].value
    return strength.resin_kept(warm, glass, reference, exponent + steeper)


def stress_left(walls: Walls, warmer: Array, kept: Array | float) -> Array:
    """Stress that cure and cooling left in every ply (row, pair, place, 3), of the +θ half.

    ``warmer``: temperature less that at which the wall set, K, (row, place); ``kept``: share of
    the cure strain that the mould did not iron out, one for all or (row, 1). Stiffness as warm
    as it is then; past the glass transition rubber has let it go.
    """
    p, rise = walls.plies, warmer[:, None, :]
    share = np.asarray(kept, float)[..., None]
    along, across = share * p.cure1 + p.alpha1 * rise, share * p.cure2 + p.alpha2 * rise
    with np.errstate(invalid="ignore"):
        left = laminate.ply_residual(p, walls.angle, walls.thickness, along, across)
    glassy = walls.kept[:, None, :, None] > strength.RUBBERY
    return np.where(glassy, left, 0.0)


def warm_strengths(stack: Stack, library: Library, walls: Walls) -> Strengths:
    """Strengths of every pair as warm as each row, (row, 1, pair, place)."""
    fibres = _fibres(stack, library)
    pulled, pressed, torn, crushed, sheared = (
        np.array([[_value(entry, key)] for entry in fibres]) for key in PLY
    )
    reference = np.array([[_value(entry, "fraction")] for entry in fibres])
    cold = Strengths(pulled, pressed, torn, crushed, sheared, 0.5 * crushed)
    crimp = library.practice["braid"]["crimp_strength"].value
    fraction = np.reshape(walls.fibre_fraction, (-1, 1, 1, 1))
    here = strength.at_fraction(cold, fraction, reference, crimp)
    return strength.heated(here, walls.kept[:, None, None, :])


def _fibres(stack: Stack, library: Library) -> list[Entry]:
    """The fibre of every pair."""
    return [library.fibres[stack.layers[n].textile.fibre] for n in owners(stack)]


def _value(entry: Entry, key: str) -> float:
    datum = entry.get(f"ply_{key}")
    return UNTESTED if datum is None else datum.value


def strength_spreads(stack: Stack, library: Library) -> list[list[float]]:
    """Relative standard uncertainty of the strength behind every mode, by pair."""
    crimp = library.practice["braid"]["crimp_strength"]
    tow = (crimp.spread / crimp.value, crimp.spread / crimp.value, 0.0, 0.0, 0.0)
    return [
        [
            math.hypot(datum.spread / datum.value, more)
            if (datum := entry.get(f"ply_{key}"))
            else 0.0
            for key, more in zip(PLY, tow, strict=True)
        ]
        for entry in _fibres(stack, library)
    ]
