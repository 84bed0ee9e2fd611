"""How much gap there is to spare over the uncertain inputs, and the odds at every moment."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.physics import contact, uncertainty
from mandrelwright.stages.chain import Chain, Input
from mandrelwright.stages.cooling import Follower, Moments, Step
from mandrelwright.stages.seat import CHAIN, Seats, heat_at, seat_part
from mandrelwright.stages.stack import Stack
from mandrelwright.stages.surface import Surface
from mandrelwright.stages.wall import Constituents

Array = NDArray[np.float64]

OWN = ("pace", "lines left", "water creep", "film in water")
PACE, LINES_LEFT, CREEP, WASHED = range(len(CHAIN), len(CHAIN) + len(OWN))  # their rows
FRONT = 0.03  # m over which a film dissolves behind the water's front; assumed
SAME = 1e-6  # standard uncertainties that tell no moment from another
LET_GO = 1e-3  # m of gap given to a mould that has softened


@dataclass(frozen=True)
class Case:
    """All that one judgement needs: seats, what lines ask for, inputs, heat, water.

    inwards: distance of each place from the nearest open end of the part (m).
    """

    seats: Seats
    asked: Array
    inputs: tuple[Input, ...]
    mean: Array
    covariance: Array
    softens: float
    start: float
    travel: float
    inwards: Array

    def gap(
        self, rows: Array, wall: Array, now: Moments, faster: Moments, numbers: slice | int
    ) -> Array:
        """Gap (..., row, place) at some moments after the travel that a hand works."""
        ahead = (rows[:, PACE, None] - 1.0) / max(self.pace, 1e-9)
        heat = heat_at(now, numbers).towards(heat_at(faster, numbers), ahead)
        gap = self.seats.gap(rows, wall, heat, self.travel)
        if rows[:, WASHED].any() and now.wet[-1] > 0.0:
            gap = gap + rows[:, WASHED, None] * self.reached(rows, now.wet[numbers])
        return np.where(now.hottest[numbers][..., None, :] > self.softens, LET_GO, gap)

    def reached(self, rows: Array, wet: Array) -> Array:
        """Share of the film that water has dissolved, (..., row, place), after ``wet`` (s) in it.

        It creeps in from the open ends: share = ½ + (v t − s)/front, from 0 to 1.
        """
        came = rows[:, CREEP, None] * np.asarray(wet)[..., None, None] - self.inwards
        return np.asarray(np.clip(0.5 + came / FRONT, 0.0, 1.0) * (came > -self.inwards))

    def margins(
        self, rows: Array, wall: Array, now: Moments, faster: Moments, numbers: slice | int
    ) -> Array:
        """Margin (..., row, place): gap beyond what the layer lines ask for."""
        asked = self.asked * np.maximum(rows[:, LINES_LEFT, None], 0.0)
        return self.gap(rows, wall, now, faster, numbers) - asked

    @property
    def pace(self) -> float:
        """Spread of the pace of heat."""
        return float(np.sqrt(self.covariance[PACE, PACE]))

    def first_order(self, now: Moments, faster: Moments) -> tuple[Array, Array]:
        """Least margin and its spread at every moment but the first, by central differences."""
        steps = 0.1 * np.diag(np.sqrt(np.diag(self.covariance)))
        rows = np.concatenate((self.mean[None], self.mean + steps, self.mean - steps))
        least = self.margins(rows, self.seats.wall(rows), now, faster, slice(1, None)).min(axis=-1)
        count = len(self.mean)
        width = 2.0 * np.where(np.diag(steps) > 0.0, np.diag(steps), np.inf)
        change = (least[:, 1 : count + 1] - least[:, count + 1 :]) / width
        return least[:, 0], np.sqrt(np.einsum("mi,ij,mj->m", change, self.covariance, change))


@dataclass(frozen=True)
class Judged:
    """One sequence: its moments, now and at a faster pace, and odds at each to first order."""

    steps: tuple[Step, ...]
    now: Moments
    faster: Moments
    best: int
    each: Array

    @property
    def odds(self) -> float:
        """Odds at the best moment."""
        return float(self.each[self.best])


def judge(case: Case, follower: Follower, steps: Sequence[Step]) -> Judged:
    """Odds at every moment of a sequence; of moments as good as the best the last is taken."""
    now = follower.follow(case.start, steps)
    faster = follower.follow(case.start, steps, 1.0 + case.pace)
    margin, doubt = case.first_order(now, faster)
    z = margin / np.maximum(doubt, 1e-9)
    each = np.concatenate(([0.0], uncertainty.normal_cdf(z)))
    best = 1 + int(np.flatnonzero(z >= z.max() - SAME)[-1])
    return Judged(tuple(steps), now, faster, best, each)


def open_case(
    job: Job,
    stack: Stack,
    parts: Constituents,
    surface: Surface,
    chain: Chain,
    library: Library,
    nodes: NDArray[np.intp],
) -> Case:
    """Inputs of the chain as they stand, and the release's own."""
    rows = [chain.index(name) for name in CHAIN]
    own = own_inputs(job, library)
    mean = np.concatenate((chain.mean[rows], [item.mean for item in own]))
    covariance = np.zeros((len(mean), len(mean)))
    covariance[: len(rows), : len(rows)] = chain.covariance[np.ix_(rows, rows)]
    for i, item in enumerate(own, len(rows)):
        covariance[i, i] = item.spread**2
    seats = seat_part(job, stack, parts, nodes, mean, np.sqrt(np.diag(covariance)), library)
    ra = surface.steps[-1].roughness if surface.steps else surface.roughness
    height = library.practice["roughness"]["peak_to_mean"].value * ra[seats.nodes]
    asked = contact.key_left(height, job.printer.layer.value, seats.sine / seats.cosine)
    softens = library.plastics[job.mould.plastic]
    limit = softens["glass_transition" if "glass_transition" in softens else "deflection_low"]
    inputs = tuple(chain.inputs[row] for row in rows) + own
    travel = library.practice["release"]["travel"].value
    shop = job.shop.temperature.value
    along = np.abs(seats.x)
    inwards = along.max() - along
    if _open_tip(job):
        inwards = np.minimum(inwards, along - along.min())
    return Case(seats, asked, inputs, mean, covariance, limit.value, shop, travel, inwards)


def own_inputs(job: Job, library: Library) -> tuple[Input, ...]:
    """Inputs that only the release has; the film that water takes is none where it bears it."""
    practice = library.practice["release"]
    data = [(name, practice[name.replace(" ", "_")]) for name in OWN[:-1]]
    own = tuple(
        Input(name, d.value, d.spread, "", d.basis, d.source, (f"materials.{d.path}",))
        for name, d in data
    )
    film = library.releases[job.release.system]["film"]
    value, spread, basis, source = film.value, film.spread, film.basis, film.source
    uses = ("job.release.system", "job.release.film", f"materials.{film.path}")
    if job.release.film is not None:
        value, spread, basis, source = *job.release.film, "stated", "job"
    if not soluble(job, library):
        value = spread = 0.0
    return (*own, Input(OWN[-1], value, spread, "mm", basis, source, uses))


def soluble(job: Job, library: Library) -> bool:
    """Whether water dissolves the release film."""
    return "water" in library.releases[job.release.system].words["dissolved_by"].words


def _open_tip(job: Job) -> bool:
    """Whether the part's tip is open, so that water finds in there too."""
    tip = getattr(job.sections[0], "tip", None)
    return tip is None or getattr(tip, "open", None) is not None


def linear_margin(case: Case, found: Judged) -> uncertainty.Propagated:
    """Least margin at the best moment to first order, with the share of every input."""

    def least(rows: Array) -> Array:
        wall = case.seats.wall(rows)
        margin = case.margins(rows, wall, found.now, found.faster, found.best)
        return np.asarray(margin.min(axis=-1))

    return uncertainty.propagate(least, case.mean, case.covariance)
