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
PUSHES = ("axial force", "bending", "shear", "outside pressure")  # terms of buckling, in order
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


class Shared(NamedTuple):
    """How far what moves the whole length at once uses up the wall: shear, outside pressure."""

    sheared: Array
    pressed: Array


class Spreads(NamedTuple):
    """Relative standard uncertainties per case; heat: the part that it makes. push: of PUSHES,
    what uses up most where the case buckles.
    """

    plies: Array
    plies_heat: Array
    shell: Array
    shell_heat: Array
    push: Places


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
                shared: Shared) -> Spreads:  # fmt: skip
        """Relative standard uncertainty of both factors by every doubt, per case.

        By one step of one standard uncertainty each, towards the bad side for heat, at the places
        ``at`` and ``bent`` that set the factors; ``shared`` as of shell.
        """
        steps = (Doubt(), *doubts)
        heat = np.array([doubt.heat for doubt in doubts])
        each = [doubt for doubt in steps for _ in cases]
        rows = self._moved(cases, steps, at)
        plies = self.plies(rows, each)[0].factor.reshape(len(steps), -1)
        rows = self._moved(cases, steps, bent)
        walls = self.walls(rows, each)[0]
        bears = [one.reshape(len(steps), -1) for one in _bears(walls, self.length)]
        used = [(u * own[0] / own).reshape(-1, 1) for u, own in zip(shared, bears, strict=True)]
        terms = _used(walls, rows, Shared(*used)).reshape(len(PUSHES), len(steps), -1)
        shell = _inverse(terms.sum(axis=0))
        found = []
        for factor in (plies, shell):
            with np.errstate(invalid="ignore", divide="ignore"):
                change = np.nan_to_num(factor[1:] / factor[0] - 1.0, posinf=0.0) ** 2
            both = change.sum(0), change[heat].sum(0)
            found += [np.minimum(np.sqrt(share), 1.0) for share in both]  # no factor below nought
        ply, ply_heat, buckled, buckled_heat = found
        return Spreads(ply, ply_heat, buckled, buckled_heat, terms[:, 0].argmax(axis=0))

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


def shell(judged: Judged, rows: Rows, walls: Walls) -> tuple[Array, Shared]:
    """Load factor of buckling (row, place), straight between every few stations, and how far
    shear and outside pressure use up the wall, each by itself, (row,).

    Torsion and outside pressure move the whole length L at once, so a mean along the part counts:
    ⟨V/(πr γ N_t)⟩, and of u = p/(γ p_cl) the larger of ⟨u⟩ and ⟨2 u sin²(πx/L)⟩, one half wave. As
    p_cl goes with 1/L, ⟨u⟩ is no less than what any stretch uses up between round ends of its own.
    On a cone of an even wall both means give the cylinder that SP-8019 puts in its place, torsion
    to two in a hundred, pressure to six from r1/r2 of 0.2 on, on the safe side.
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
    x = judged.flight.x[here.at]
    torsion, outside = _bears(seen, judged.length)
    pressed = np.maximum(here.pressure, 0.0) / outside
    wave = 2.0 * np.sin(np.pi * (x - x[0]) / (np.ptp(x) or 1.0)) ** 2
    shared = Shared(
        _mean(np.abs(here.shear) / (np.pi * seen.radius) / torsion, x),
        np.maximum(_mean(pressed, x), _mean(pressed * wave, x)),
    )
    terms = _used(seen, here, Shared(*(used[:, None] for used in shared)))
    used = np.stack([np.interp(np.arange(count), few, row) for row in terms.sum(axis=0)])
    return _inverse(used), shared


def _mean(values: Array, x: Array) -> Array:
    """Mean along the part of (row, place)."""
    if len(x) == 1:
        return np.asarray(values[:, 0])
    steps = np.diff(x)
    return np.asarray((0.5 * (values[:, 1:] + values[:, :-1]) * steps).sum(axis=1) / steps.sum())


def _used(walls: Walls, rows: Rows, shared: Shared) -> Array:
    """How far every one of PUSHES uses up the wall (push, row, place); their sum is 1/λ.

    N_c/(γ N_cl), the larger of bending at the pressed side, N_b/(γ_b N_cl), and shear between the
    sides, and outside pressure.
    """
    A, B, D = walls.stiffness
    r, c = walls.radius, walls.cosine
    perfect = local_buckling.axial_load(A, B, D, np.broadcast_to(r / c, A.shape[:2]))
    ratio = r / c / local_buckling.equivalent_wall(A, D)
    steep = _steep(walls)
    axial = np.where(steep, local_buckling.CONE_AXIAL, local_buckling.cylinder_share(ratio))
    bending = local_buckling.cylinder_share(ratio, local_buckling.BENDING)
    bending = np.where(steep, local_buckling.CONE_BENDING, bending)
    bent = np.abs(rows.moment) / (np.pi * r * r * c) / (bending * perfect)
    pushed = np.maximum(-rows.axial, 0.0) / (2.0 * np.pi * r * c) / (axial * perfect)
    sheared = np.where(shared.sheared > bent, shared.sheared, 0.0)
    bent = np.where(sheared > 0.0, 0.0, bent)
    return np.stack((pushed, bent, sheared, np.broadcast_to(shared.pressed, bent.shape)))


def _bears(walls: Walls, length: float) -> tuple[Array, Array]:
    """Shear line load (N/m) and outside pressure (Pa) that the wall bears (row, place)."""
    A, _, D = walls.stiffness
    across = walls.radius / walls.cosine
    share = np.where(_steep(walls), local_buckling.CONE_PRESSURE, local_buckling.PRESSURE)
    torsion = local_buckling.SHEAR * local_buckling.torsion_load(A, D, across, length)
    return torsion, share * local_buckling.outside_pressure(A, D, across, length)


def _steep(walls: Walls) -> Array:
    return np.asarray(np.arccos(np.clip(walls.cosine, -1.0, 1.0)) > local_buckling.STEEP)


def _inverse(used: Array) -> Array:
    none = np.where(np.isnan(used), np.nan, np.inf)
    return np.asarray(np.divide(1.0, used, out=none, where=used > TINY))
