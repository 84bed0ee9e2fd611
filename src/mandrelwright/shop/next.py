"""The next mould: what the log teaches, what it buys, and what to measure to gain most."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.corrections import Corrections
from mandrelwright.plan import Plan, make_plan
from mandrelwright.shop.finishing import Finishing, learn_finishing
from mandrelwright.shop.history import History
from mandrelwright.shop.learning import Lesson, corrections_of, learn_from
from mandrelwright.shop.mixed import Mixed, growth, mixed_of
from mandrelwright.shop.parts import Row, judge_parts
from mandrelwright.stages import aim
from mandrelwright.stages.chain import Chain
from mandrelwright.stages.fit import DRAWS, SEED, outcome_at
from mandrelwright.stages.forecast import chain_size, ready_doubt

Array = NDArray[np.float64]

WEIGHED = 0.005  # what weighing a part and its fibre leaves unknown of the fibre fraction
THERMOMETER = 0.5  # K: what a thermometer on the setting mould leaves
AVERAGED = 6  # readings of a mate: at three places, twice
WORTH = 0.002  # gain of probability below which a measurement is not proposed


@dataclass(frozen=True)
class Size:
    """Diameter in the print file at a mark, before and after the learning (m)."""

    mark: str
    before: float
    after: float


@dataclass(frozen=True)
class Gain:
    """A measurement not yet made, and what the next part's odds would then be.

    unread: laid up unread; gated: with the prepared mould read and mended.
    """

    what: str
    unread: float
    gated: float


@dataclass(frozen=True)
class Proposal:
    """The next mould: plans before and after the learning, sizes, parts so far, what to measure."""

    lesson: Lesson
    corrections: Corrections
    before: Plan
    after: Plan
    sizes: tuple[Size, ...]
    gains: tuple[Gain, ...]
    row: Row
    finishing: Finishing | None
    mixed: Mixed | None


def propose_next(before: Plan, history: History) -> Proposal:
    """Learn from the whole log and plan the next mould.

    ``before``: the plan made without corrections. The mean of what is learned moves the mould,
    never the last part's full error.
    """
    lesson = learn_from(before, history)
    corrections = corrections_of(lesson, before, history)
    after = before
    if corrections.inputs:
        after = make_plan(before.job, before.library, corrections=corrections)
    sizes = tuple(
        Size(mark.name, _in_file(before, mark.x), _in_file(after, mark.x))
        for mark in before.mould.marks
    )
    gains = tuple(_gains(after, lesson))
    row, coat = judge_parts(after, history), learn_finishing(before, history)
    mixed = mixed_of(lesson)
    return Proposal(lesson, corrections, before, after, sizes, gains, row, coat, mixed)


def _in_file(plan: Plan, x: float) -> float:
    """Diameter of the print file at a place (m)."""
    return 2.0 * float(np.interp(x, plan.fit.ready.x, plan.fit.file.r))


def _gains(plan: Plan, lesson: Lesson) -> Iterator[Gain]:
    """What each measurement would buy, the best first; those that buy nothing are left out."""
    now_unread, now_gated = _odds(plan, plan.fit.chain)
    found = []
    for what, row, doubt in _measurable(plan, lesson):
        told = plan.fit.chain.known(row[None], np.zeros(1), np.array([doubt]))
        found.append(Gain(what, *_odds(plan, told)))
    found.sort(key=lambda gain: (-gain.gated, -gain.unread))
    for gain in found:
        if gain.gated > now_gated + WORTH or gain.unread > now_unread + WORTH:
            yield gain


def _measurable(plan: Plan, lesson: Lesson) -> Iterator[tuple[str, Array, float]]:
    """Measurements that can be made before the next mould: words, which inputs, what is left.

    What differs from mould to mould or from part to part stays: it is doubt of the measurement.
    """
    chain, caliper = plan.fit.chain, plan.job.shop.caliper.value
    differs = lesson.mould + lesson.part
    unit = np.eye(len(chain.mean))

    def one(name: str, doubt: float) -> tuple[Array, float]:
        row = chain.index(name)
        return unit[row], float(np.hypot(doubt, np.sqrt(differs[row])))

    size = chain_size(chain)
    ring = -size * unit[chain.index("shrink")] + unit[chain.index("offset")]
    scatter = float(np.sqrt(differs[chain.index("scatter")]))
    yield (
        "a ring at the fit's diameter, printed and read cold",
        ring,
        float(np.hypot(caliper, scatter)),
    )
    for name in chain.treatments:
        yield f"{name}: a ring read before and after it", *one(name, 2.0**0.5 * caliper)
    for name in chain.films:
        yield f"{name}: the mould read before and after it", *one(name, 2.0**0.5 * caliper)
    lead = chain.lead.place.fit.name
    mate = one(f"mate {lead}", caliper / AVERAGED**0.5)
    yield f"the mate {lead} at three places, twice", *mate
    yield "form: the ready mould turned in the calipers", *one(f"form {lead}", caliper)
    yield "weights of a part and of the fibre in it", *one("fibre fraction", WEIGHED)
    warm = unit[chain.index("set temperature")]
    yield "a thermometer on the mould while it sets", warm, THERMOMETER
    grown = growth(chain)
    films = [chain.index(name) for name in chain.films]
    bare = np.where(np.isin(np.arange(len(grown)), films), 0.0, grown)
    twice = 2.0 * caliper**2
    yield "the bore of a part against its ready mould", *_summed(grown, differs, twice)
    yield "a part's outside on the mould and again off it", *_summed(bare, differs, twice)


def _summed(row: Array, differs: Array, noise: float) -> tuple[Array, float]:
    """A sum of inputs as one reading, with what differs in each of them as doubt."""
    return row, float(np.sqrt(noise + row**2 @ differs))


def _odds(plan: Plan, chain: Chain) -> tuple[float, float]:
    """Odds of the next part with this chain: laid up unread, and read and mended."""
    costs, caliper = aim.read_costs(plan.library), plan.job.shop.caliper.value
    out = outcome_at(chain, plan.fit.outcome.best, caliper, costs, chain.parts(DRAWS, SEED))
    doubt = ready_doubt(chain)
    unread = aim.fits_about(out.best, aim.before_reading(doubt, caliper), out)
    return unread, aim.aim_print(doubt, out, costs, caliper).laid_up_read
