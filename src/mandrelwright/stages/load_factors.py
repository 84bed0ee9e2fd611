"""By how much each case's load may grow: plies and buckling at every station, and their doubt.

A row is a case, or a case with one input moved by its standard uncertainty; arrays (row, place).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.materials import Library
from mandrelwright.physics import laminate, local_buckling, strength
from mandrelwright.stages.flight import Case, Flight
from mandrelwright.stages.stack import Stack
from mandrelwright.stages.wall import Constituents
from mandrelwright.stages.warm_wall import (
    Walls,
    resin_left,
    stress_left,
    warm_strengths,
    warm_walls,
)

Array = NDArray[np.float64]
Places = NDArray[np.intp]

SIDES = np.array([1.0, -1.0, 0.0])  # pulled side, pressed side, and between them, of bending
EVERY, MANY = 3, 32  # stations apart at which buckling is worked out, where there are many
TINY = 1e-9
CARRIED = ("axial", "moment", "shear", "pressure", "mean")


class Doubt(NamedTuple):
    """One input moved by one standard uncertainty, the others as they are."""

    fraction: float = 0.0  # of V_f, the fibres staying the same
    angle: float = 0.0  # of every braid angle, rad
    cure: float = 0.0  # of the cure strain that was kept, over itself
    glass: float = 0.0  # of the glass transition, K
    warmer: float = 0.0  # standard uncertainties of the warmth of the wall
    exponent: float = 0.0  # of the loss to heat

    @property
    def heat(self) -> bool:
        """Whether it is one of those that move what heat takes."""
        return (self.glass, self.warmer, self.exponent) != (0.0, 0.0, 0.0)


class Rows(NamedTuple):
    """Forces of every row, N, N m and Pa, and the mean temperature of the wall, K; at: stations."""

    at: Places  # (place,), or (row, place)
    axial: Array
    moment: Array
    shear: Array
    pressure: Array
    mean: Array


class Plies(NamedTuple):
    """Factor at which the first ply fails, its pair and mode, (row, place), and what was there.

    left: stress across the fibres before any load, limit: what the ply bears so, (row, pair, place)
    """

    factor: Array
    pair: Places
    mode: Places
    left: Array
    limit: Array


class Spreads(NamedTuple):
    """Relative standard uncertainties per case; heat: the part that it makes."""

    plies: Array
    plies_heat: Array
    shell: Array
    shell_heat: Array


@dataclass(frozen=True)
class Judged:
    """What the factors are made of, so that they can be made again with an input moved.

    kept: share of the cure strain that stays, set: temperature without stress (K), length along
    the wall from tip to base (m).
    """

    stack: Stack
    parts: Constituents
    flight: Flight
    library: Library
    kept: float
    set: float
    length: float

    def walls(self, rows: Rows, doubts: Sequence[Doubt] = (Doubt(),)) -> tuple[Walls, Array]:
        """Wall of every row, and the stress that cure and cooling left in its plies."""
        fraction, angle, cure, glass, _, exponent = (
            np.array(doubts).T[..., None] if len(doubts) > 1 else doubts[0]
        )
        kept = resin_left(rows.mean, self.flight.glass + glass, self.library, exponent)
        nodes = self.flight.nodes[rows.at]
        walls = warm_walls(self.stack, self.parts, nodes, kept, (fraction, angle))
        return walls, stress_left(walls, rows.mean - self.set, self.kept * (1.0 + cure))

    def plies(self, rows: Rows, doubts: Sequence[Doubt] = (Doubt(),)) -> tuple[Plies, Walls]:
        """First failure of every row."""
        walls, left = self.walls(rows, doubts)
        limits = warm_strengths(self.stack, self.library, walls)
        factor, pair, mode = _cracks(walls, _forces(rows, walls), limits, left)
        across = np.broadcast_to(np.asarray(limits.across_tension)[:, 0], left.shape[:-1])
        return Plies(factor, pair, mode, left[..., 1], across), walls

    def spreads(self, cases: Sequence[Case], doubts: Sequence[Doubt], at: Places, bent: Places,
                sheared: Array) -> Spreads:  # fmt: skip
        """Relative standard uncertainty of both factors by every doubt, per case.

        By one step of one standard uncertainty each, towards the bad side for heat, at the places
        ``at`` and ``bent`` that set the factors; ``sheared`` as of shell.
        """
        steps = (Doubt(), *doubts)
        heat = np.array([doubt.heat for doubt in doubts])
        each = [doubt for doubt in steps for _ in cases]
        rows = self._moved(cases, steps, at)
        plies = self.plies(rows, each)[0].factor.reshape(len(steps), -1)
        rows = self._moved(cases, steps, bent)
        walls = self.walls(rows, each)[0]
        own = 1.0 / _torsion(walls, self.length).reshape(len(steps), -1)
        used = (sheared * own / own[0]).reshape(-1, 1)
        shell = buckling(walls, rows, self.length, used).reshape(len(steps), -1)
        found = []
        for factor in (plies, shell):
            with np.errstate(invalid="ignore", divide="ignore"):
                change = np.nan_to_num(factor[1:] / factor[0] - 1.0, posinf=0.0) ** 2
            both = change.sum(0), change[heat].sum(0)
            found += [np.minimum(np.sqrt(share), 1.0) for share in both]  # no factor below nought
        return Spreads(*found)

    def _moved(self, cases: Sequence[Case], steps: Sequence[Doubt], at: Places) -> Rows:
        """Every case at its own station, once for every step."""
        count = len(steps)
        axial, moment, shear, pressure, mean = (
            np.tile([getattr(c, key)[x] for c, x in zip(cases, at, strict=True)], count)[:, None]
            for key in CARRIED
        )
        rise = np.array([self.flight.mean_spread(case) for case in cases])
        warmer = np.concatenate([step.warmer * rise for step in steps])[:, None]
        places = np.tile(at, count)[:, None]
        return Rows(places, axial, moment, shear, pressure, mean + warmer)


def rows_of(cases: Sequence[Case], at: Places) -> Rows:
    """Every case at the same stations."""
    return Rows(at, *(np.stack([getattr(case, key)[at] for case in cases]) for key in CARRIED))


def _forces(rows: Rows, walls: Walls) -> Array:
    """Line loads (row, side, place, 3) along, around, shear, N/m."""
    r, c = walls.radius, walls.cosine
    along, bent = rows.axial / (2.0 * np.pi * r * c), np.abs(rows.moment) / (np.pi * r * r * c)
    around, sheared = -rows.pressure * r / c, np.abs(rows.shear) / (np.pi * r)
    sides = [(along + side * bent, around, sheared * (side == 0.0)) for side in SIDES]
    return np.moveaxis(np.array(sides), (0, 1), (1, 3))


def _cracks(
    walls: Walls, forces: Array, limits: strength.Strengths, left: Array
) -> tuple[Array, Places, Places]:
    """Least load factor (row, place) of any ply, and the pair and mode that set it."""
    sound = np.broadcast_to(walls.sound, forces.shape[:1] + forces.shape[2:3])
    A = np.where(sound[..., None, None], walls.stiffness[0], np.eye(3))
    strain = np.linalg.solve(A[:, None], forces[..., None])[..., 0]  # (row, side, place, 3)
    p = walls.plies
    Q = laminate.reduced_stiffness(p.E1, p.E2, p.G12, p.nu12)  # (row, pair, place, 3, 3)
    angle = walls.angle if walls.angle.ndim == 2 else walls.angle[:, None]
    laid = (walls.thickness if walls.angle.ndim == 2 else walls.thickness[:, None]) > 0.0
    least, pair, mode = (np.full(sound.shape, v) for v in (np.inf, 0, 0))
    for sign in (1.0, -1.0):
        own = laminate.turned_strain(strain[:, :, None], sign * angle)
        stress = np.einsum("cplij,csplj->cspli", Q, own)
        there = np.nan_to_num(left) * (1.0, 1.0, sign)
        factor, how = strength.first_failure(stress, limits, there[:, None])
        factor = np.where(laid, factor, np.inf)
        flat = np.moveaxis(factor, 3, 1).reshape(*least.shape, -1)
        modes = np.moveaxis(how, 3, 1).reshape(flat.shape)
        best = flat.argmin(axis=-1)[..., None]
        value = np.take_along_axis(flat, best, -1)[..., 0]
        found = value < least
        count = factor.shape[2]
        pair = np.where(found, best[..., 0] % count, pair)
        mode = np.where(found, np.take_along_axis(modes, best, -1)[..., 0], mode)
        least = np.where(found, value, least)
    least = np.where(sound, least, np.nan)
    return least, pair.astype(np.intp), mode.astype(np.intp)


def shell(judged: Judged, rows: Rows, walls: Walls) -> tuple[Array, Array]:
    """Load factor of buckling (row, place), straight between every few stations, and how far
    shear alone uses up the wall, (row,): the mean along the part of V/(πr γ N_t).

    Torsion moves the whole length at once. On a cone of an even wall that mean gives the cylinder
    that SP-8019 puts in its place, to two in a hundred.
    """
    count = len(rows.at)
    every = EVERY if count > MANY else 1
    laid = np.flatnonzero(walls.sound)
    few = np.unique(np.append(laid[::every], laid[-1]))
    here = Rows(
        rows.at[few], rows.axial[:, few], rows.moment[:, few], rows.shear[:, few],
        rows.pressure[:, few], rows.mean[:, few],
    )  # fmt: skip
    A, B, D = walls.stiffness
    seen = walls._replace(
        angle=walls.angle[:, few], thickness=walls.thickness[:, few], radius=walls.radius[few],
        cosine=walls.cosine[few], kept=walls.kept[:, few], sound=walls.sound[few],
        stiffness=(A[:, few], B[:, few], D[:, few]),
    )  # fmt: skip
    local = np.abs(here.shear) / (np.pi * seen.radius) / _torsion(seen, judged.length)
    x = judged.flight.x[here.at]
    sheared = local.mean(axis=1)
    if len(x) > 1:
        steps = np.diff(x)
        sheared = (0.5 * (local[:, 1:] + local[:, :-1]) * steps).sum(axis=1) / steps.sum()
    factor = buckling(seen, here, judged.length, sheared[:, None])
    used = np.stack([np.interp(np.arange(count), few, row) for row in 1.0 / factor])
    return _inverse(used), sheared


def buckling(walls: Walls, rows: Rows, length: float, sheared: Array) -> Array:
    """Load factor of local buckling (row, place): 1/λ = N_c/(γ N_cl) + p/(γ_p p_cl) and the larger
    of bending at the pressed side, N_b/(γ_b N_cl), and shear between the sides, ``sheared``.
    """
    A, B, D = walls.stiffness
    r, c = walls.radius, walls.cosine
    perfect = local_buckling.axial_load(A, B, D, np.broadcast_to(r / c, A.shape[:2]))
    steep = np.arccos(np.clip(c, -1.0, 1.0)) > local_buckling.STEEP
    ratio = r / c / local_buckling.equivalent_wall(A, D)
    axial = np.where(steep, local_buckling.CONE_AXIAL, local_buckling.cylinder_share(ratio))
    bending = local_buckling.cylinder_share(ratio, local_buckling.BENDING)
    bending = np.where(steep, local_buckling.CONE_BENDING, bending)
    pressed = np.where(steep, local_buckling.CONE_PRESSURE, local_buckling.PRESSURE)
    outside = local_buckling.outside_pressure(A, D, r / c, length)
    bent = np.abs(rows.moment) / (np.pi * r * r * c) / (bending * perfect)
    used = np.maximum(-rows.axial, 0.0) / (2.0 * np.pi * r * c) / (axial * perfect)
    used = used + np.maximum(bent, sheared)
    return _inverse(used + np.maximum(rows.pressure, 0.0) / (pressed * outside))


def _torsion(walls: Walls, length: float) -> Array:
    """Shear line load that the wall bears by SP-8007 (row, place), N/m."""
    A, _, D = walls.stiffness
    perfect = local_buckling.torsion_load(A, D, walls.radius / walls.cosine, length)
    return np.asarray(local_buckling.SHEAR * perfect)


def _inverse(used: Array) -> Array:
    none = np.where(np.isnan(used), np.nan, np.inf)
    return np.asarray(np.divide(1.0, used, out=none, where=used > TINY))
