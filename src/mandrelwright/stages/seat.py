"""How wall and mould meet at a few places, as functions of the uncertain inputs of the chain."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.physics import contact, laminate, micromechanics
from mandrelwright.stages.cooling import Moments, bores
from mandrelwright.stages.stack import THINNEST, Stack
from mandrelwright.stages.wall import Constituents

Array = NDArray[np.float64]

CHAIN = (
    "set temperature",
    "mould expansion",
    "fibre fraction",
    "braid angle",
    "tow",
    "cure shrinkage",
    "share kept",
)
"""What the release takes over from the dimension chain, in the order of its rows."""

REACH = 3.5  # standard uncertainties over which the wall is tabulated
NODES, DEGREES = (5, 9), (2, 6)  # of fibre fraction and angle
SLENDER = 3e-3  # m: a mould thinner than a pencil is not judged
FLATTEST, STEEPEST = np.radians(2.0), np.radians(88.0)
(THICK, S_XX, S_XH, S_HH, THIN_H, THIN_R, HEAT_X, HEAT_H, HEAT_R, CURE_X, CURE_H, CURE_R) = range(
    12
)


class Heat(NamedTuple):
    """Mean temperature of the mould's walls, its filling and the laminate, (..., place), K."""

    walls: Array
    filling: Array
    wall: Array

    def towards(self, other: Heat, share: Array) -> Heat:
        """Some way towards another."""
        return Heat(*(a + share * (b - a) for a, b in zip(self, other, strict=True)))


def heat_at(moments: Moments, numbers: slice | int) -> Heat:
    """Of some moments, with an axis for rows before the places."""
    return Heat(*(T[numbers][..., None, :] for T in (moments.walls, moments.filling, moments.wall)))


@dataclass(frozen=True)
class Seats:
    """Places in the order in which they leave (the leading end first), and the wall there.

    x runs from the leading end, so that r grows along it on a part that comes off. table
    (power, quantity, place): polynomials in fibre fraction and angle.
    """

    nodes: NDArray[np.intp]
    x: Array
    r: Array
    sine: Array
    cosine: Array
    core: contact.Core
    fraction: float
    centre: tuple[float, float]
    half: tuple[float, float]
    table: Array
    held: int = 0

    def wall(self, rows: Array) -> Array:
        """The twelve quantities (row, quantity, place) for rows of CHAIN inputs."""
        fraction, turn, tow = rows[:, 2], rows[:, 3], rows[:, 4]
        basis = _powers(
            (fraction - self.centre[0]) / self.half[0], (turn - self.centre[1]) / self.half[1]
        )
        count = self.table.shape[1:]
        out = (basis @ self.table.reshape(len(self.table), -1)).reshape(-1, *count)
        out[:, THICK] *= (tow * self.fraction / fraction)[:, None]
        return out

    def shell(self, wall: Array) -> contact.Shell:
        """Compliances of walls (..., quantity, place)."""
        t = wall[..., THICK, :]
        xx, xh, hh = (wall[..., i, :] / t for i in (S_XX, S_XH, S_HH))
        return contact.Shell(t, xx, xh, hh, wall[..., THIN_H, :], wall[..., THIN_R, :])

    def strains(self, rows: Array, wall: Array, heat: Heat) -> tuple[Array, Array, Array, Array]:
        """Free strain of the mould, and (axial, hoop, radial) of the part, since it set.

        e = α (T − T_set) + φ·ε_cure; temperatures broadcast against (row, place).
        """
        setting, expansion = rows[:, 0, None], rows[:, 1, None]
        kept = (np.clip(rows[:, 6], 0.0, 1.0) * rows[:, 5])[:, None]
        walls, filling, warm = (T - setting for T in heat)
        mould = contact.core_strain(self.core, expansion, walls, filling)
        free = [
            warm * wall[:, grows] + kept * wall[:, cure]
            for grows, cure in ((HEAT_X, CURE_X), (HEAT_H, CURE_H), (HEAT_R, CURE_R))
        ]
        return mould, free[0], free[1], free[2]

    def gap(self, rows: Array, wall: Array, heat: Heat, travel: float) -> Array:
        """Gap square to the surface, (..., row, place), m, after ``travel`` off the mould.

        Drift and travel are counted from the place ``held``, which gripped most before any step.
        """
        mould, axial, hoop, radial = self.strains(rows, wall, heat)
        delta = contact.mismatch(self.r, wall[:, THICK] * self.cosine, mould, hoop, radial)
        shortens = contact.along_axis(self.x, self.r, axial, hoop)
        drift = contact.axial_drift(self.x, mould - shortens)
        drift = drift - drift[..., self.held, None]
        return contact.cone_gap(delta, drift, self.sine, self.cosine, travel)


def pick_places(stack: Stack, count: int) -> NDArray[np.intp]:
    """Evenly spaced nodes of the stack where a sound wall lies."""
    bunched = np.any(stack.jammed, axis=0)
    sound = np.flatnonzero((stack.wall > THINNEST) & ~bunched & (stack.mould.r > SLENDER))
    if len(sound) == 0:
        return sound
    wanted = np.linspace(stack.mould.x[sound[0]], stack.mould.x[sound[-1]], count)
    near = np.searchsorted(stack.mould.x[sound], wanted).clip(0, len(sound) - 1)
    return np.unique(sound[near])


def seat_part(
    job: Job,
    stack: Stack,
    parts: Constituents,
    nodes: NDArray[np.intp],
    means: Array,
    spreads: Array,
    library: Library,
) -> Seats:
    """Geometry, core and tabulated wall at the nodes, about means and spreads of CHAIN inputs."""
    tangent = stack.meridian.tangent(stack.mould)
    order = nodes if job.mould.leaves == "tipwards" else nodes[::-1]
    way = 1.0 if job.mould.leaves == "tipwards" else -1.0
    R = stack.mould.r[order]
    inner, hole = bores(job, R)
    plastic, practice = library.plastics[job.mould.plastic], library.practice["printed plastic"]
    modulus = plastic["modulus"].value * practice["modulus_in_layers"].value
    infill = job.mould.core.infill.value if job.mould.core.infill is not None else 0.0
    core = contact.core(R, inner, modulus, plastic["poisson"].value, infill, hole)
    centre = float(means[2]), float(means[3])
    half = tuple(float(max(REACH * spreads[i], 1e-6)) for i in (2, 3))
    first, second = (_chebyshev(count) for count in NODES)
    a, b = np.repeat(first, len(second)), np.tile(second, len(first))
    values = _exact(stack, parts, order, centre[0] + half[0] * a, centre[1] + half[1] * b)
    table = np.linalg.lstsq(_powers(a, b), values.reshape(len(a), -1), rcond=None)[0]
    return Seats(
        order,
        way * stack.mould.x[order],
        R,
        way * tangent.sine[order],
        tangent.cosine[order],
        core,
        stack.fibre_fraction,
        centre,
        (half[0], half[1]),
        np.asarray(table, float).reshape(-1, *values.shape[1:]),
    )


def _exact(
    stack: Stack, parts: Constituents, nodes: NDArray[np.intp], fraction: Array, turn: Array
) -> Array:
    """The twelve quantities (row, quantity, place) by laminate theory, thickness at nominal V_f."""
    angles: list[Array] = []
    thickness: list[Array] = []
    rows = turn[:, None]
    for layer, theta, t in zip(stack.layers, stack.angle, stack.thickness, strict=True):
        laid, thick = theta[nodes], np.maximum(t[nodes], 1e-9)
        turned = np.clip(laid + rows, FLATTEST, STEEPEST)
        families = layer.textile.families(turned)
        thick = layer.textile.turned(thick, laid, turned)
        angles += families
        thickness += [thick / len(families)] * len(families)
    angle, t = np.stack(angles, axis=1), np.stack(thickness, axis=1)
    plies = micromechanics.ply(
        parts.fibre, parts.resin, fraction[:, None, None], parts.across_poisson, parts.crimp
    )
    stiffness = np.moveaxis(laminate.pair_stiffness(plies, angle), 1, 2)
    by_place = np.moveaxis(t, 1, 2)
    whole = by_place.sum(axis=-1)
    flat = np.einsum("rpkij,rpk->rpij", stiffness, by_place)[..., :2, :2] / whole[..., None, None]
    S = np.linalg.inv(flat)
    free = []
    for along, across in ((plies.alpha1, plies.alpha2), (plies.cure1, plies.cure2)):
        strain = np.moveaxis(laminate.pair_free_strain(plies, angle, along, across), 1, 2)
        free.append(laminate.laminate_free_strain(stiffness, strain, by_place))
    through = laminate.radial_compliance(plies, angle, t)
    heat, cure = free[0], free[1] / parts.resin.cure
    columns = [whole, S[..., 0, 0], S[..., 0, 1], S[..., 1, 1], through[..., 1], through[..., 2]]
    columns += [heat[..., i] for i in range(3)] + [cure[..., i] for i in range(3)]
    return np.stack(columns, axis=1)


def _chebyshev(count: int) -> Array:
    return np.asarray(-np.cos(np.pi * np.arange(count) / (count - 1)))


def _powers(a: Array, b: Array) -> Array:
    """Products of powers of both variables, (row, power)."""
    rows = [a**i * b**j for i in range(DEGREES[0] + 1) for j in range(DEGREES[1] + 1)]
    return np.stack(rows, axis=-1)
