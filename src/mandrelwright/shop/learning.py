"""Learning: a shop's readings give the chain's inputs new means and spreads.

Every input of the dimension chain has a part that lasts (the printer's shrink, a hand's habit)
and a part that differs from mould to mould or from part to part; how large the differing parts
are is learned too, one factor each for print, surface and lay-up. The library's or the job's
value is the prior of all. Learning starts from the plan without corrections and reads the whole
log, so learning twice changes nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.corrections import Corrected, Corrections
from mandrelwright.job.materials import Library
from mandrelwright.physics.hierarchy import FLAGGED, Learned, factor_grid, learn
from mandrelwright.plan import Plan
from mandrelwright.shop.history import History
from mandrelwright.shop.observations import Observation, Observed, observe
from mandrelwright.shop.questions import Questioned
from mandrelwright.stages.chain import Chain

Array = NDArray[np.float64]

LINKS = ("print", "surface", "lay-up", "form")  # nothing the log holds tells the last one
PRINTED = ("shrink", "shrink up", "offset", "scatter")
FREE = 1.0e-3  # m: how far a mended mould may lie from its prediction, one standard uncertainty
INFORMED = 0.01  # share of its link's doubt from which on a reading counts for an input
CHANGED = 1e-6  # of a spread: below, an input has learned nothing
LAMINATE = ("fibre fraction", "braid angle", "cure shrinkage", "share kept", "springback")


@dataclass(frozen=True)
class Odd:
    """A reading, mould or part that lies far from what the rest say: how far, what it counts.

    deviation: standard uncertainties, itself left out. kept: share of its weight.
    """

    what: str
    entries: tuple[int, ...]
    deviation: float
    kept: float


@dataclass(frozen=True)
class Shares:
    """How an input's variance parts: lasting, from mould to mould, from part to part; its link."""

    lasting: Array
    mould: Array
    part: Array
    link: tuple[int, ...]


@dataclass(frozen=True)
class Lesson:
    """What was learned: the chain before, what lasts, what differs, and what was odd.

    mean (input,), lasting, before the readings and after (input, input): of the lasting parts.
    mould, part (input,): variance of what differs next time. factors: learned variance over the
    guessed one, by link. counts (input,): readings that inform each input.
    """

    chain: Chain
    observed: Observed
    mean: Array
    before: Array
    lasting: Array
    mould: Array
    part: Array
    factors: dict[str, float]
    counts: Array
    odd: tuple[Odd, ...]
    readings: int

    @property
    def covariance(self) -> Array:
        """Joint covariance of the inputs of the next part on the next mould."""
        return self.lasting + np.diag(self.mould + self.part)

    @property
    def questioned(self) -> tuple[Questioned, ...]:
        """Readings to look at again."""
        return self.observed.questioned


def shares_of(chain: Chain, library: Library) -> Shares:
    """How much of each input's variance lasts, by what the library holds of habits."""
    habits = library.practice["learning"]
    kept = {
        **dict.fromkeys((*chain.treatments, *chain.coats), habits["treatment_lasts"].value),
        **dict.fromkeys(chain.films, habits["film_lasts"].value),
        **dict.fromkeys(LAMINATE, habits["laminate_lasts"].value),
        "set temperature": habits["room_lasts"].value,
        "scatter": 0.0,
    }
    names = [item.name for item in chain.inputs]
    kept |= {n: habits["treatment_lasts"].value for n in names if n.startswith("form")}
    lasting = np.array([kept.get(name, 1.0) for name in names])
    by_mould = [n == "scatter" or n in chain.treatments or n.startswith("form") for n in names]
    mould = np.where(by_mould, 1.0 - lasting, 0.0)
    return Shares(lasting, mould, 1.0 - lasting - mould, tuple(_link(chain, n) for n in names))


def _link(chain: Chain, name: str) -> int:
    """Which of LINKS an input belongs to."""
    if name in PRINTED:
        return 0
    if name in (*chain.treatments, *chain.coats):
        return 1
    return 3 if name.startswith("form") else 2


def learn_from(plan: Plan, history: History) -> Lesson:
    """Everything the log tells of the plan's chain; ``plan`` made without corrections."""
    chain, observed = plan.fit.chain, observe(plan, history)
    shares = shares_of(chain, plan.library)
    degrees = plan.library.practice["learning"]["spread_degrees"].value
    return _learned(chain, observed, shares, degrees)


def _learned(chain: Chain, observed: Observed, shares: Shares, degrees: float) -> Lesson:
    """The lesson of the observations."""
    seen = observed.observations
    root, variance = np.sqrt(shares.lasting), np.diag(chain.covariance)
    lasting = chain.covariance * root[:, None] * root
    counts = np.zeros(len(chain.mean), int)
    if not seen:
        blank = dict.fromkeys(LINKS, 1.0)
        mould, part = shares.mould * variance, shares.part * variance
        alike = chain.mean, lasting, lasting
        return Lesson(chain, observed, *alike, mould, part, blank, counts, (), 0)
    C = np.array([item.slopes for item in seen])
    kernels, used = _kernels(seen, C, shares, variance)
    names, directions = _directions(seen)
    told = learn(
        C,
        np.array([item.gap for item in seen]),
        _noise(seen),
        np.zeros(len(chain.mean)),
        lasting,
        kernels,
        factor_grid(len(used), degrees),
        directions,
    )
    factors = np.ones(len(LINKS))
    factors[used] = told.factors
    grown = factors[list(shares.link)]
    return Lesson(
        chain,
        observed,
        chain.mean + told.mean,
        lasting,
        told.covariance,
        shares.mould * variance * grown,
        shares.part * variance * grown,
        dict(zip(LINKS, factors.tolist(), strict=True)),
        _counts(seen, C, variance, shares.link),
        _odd(seen, names, told),
        sum(item.readings for item in seen),
    )


def _kernels(
    seen: Sequence[Observation], C: Array, shares: Shares, variance: Array
) -> tuple[Array, list[int]]:
    """Covariance of the readings from what differs, by link, and the links that differ at all.

    Readings of one mould share what differs from mould to mould, of one part what differs from
    part to part.
    """
    same_mould = _same([item.mould for item in seen])
    same_part = _same([item.part or f"none {row}" for row, item in enumerate(seen)])
    is_part = np.array([bool(item.part) for item in seen])
    same_part &= is_part[:, None] & is_part
    link = np.array(shares.link)
    all_kernels = []
    for number in range(len(LINKS)):
        own = np.where(link == number, variance, 0.0)
        moulds = (C * (own * shares.mould)) @ C.T * same_mould
        parts = (C * (own * shares.part)) @ C.T * same_part
        all_kernels.append(moulds + parts)
    used = [n for n, kernel in enumerate(all_kernels) if np.trace(kernel) > 0.0] or [0]
    return np.array([all_kernels[n] for n in used]).reshape(len(used), len(seen), len(seen)), used


def _same(names: Sequence[str]) -> NDArray[np.bool_]:
    array = np.array(names)
    return np.asarray(array[:, None] == array)


def _noise(seen: Sequence[Observation]) -> Array:
    """Covariance of the readings' own doubts: calipers, form, place; a tool's zero in common.

    A mended mould's diameter is its own: the reading after the mending tells it.
    """
    zero = np.sqrt([item.zero for item in seen])
    common = _same([item.tool for item in seen]) * zero[:, None] * zero
    mended = np.array([item.mended > 0 for item in seen])
    state = _same([f"{item.mould} {item.mended}" for item in seen]) & mended[:, None] & mended
    return np.asarray(np.diag([item.noise for item in seen]) + common + FREE**2 * state)


def _directions(seen: Sequence[Observation]) -> tuple[list[tuple[str, tuple[int, ...]]], Array]:
    """What may be odd: every observation alone, and every mould of several, and every part."""
    rows = np.eye(len(seen))
    names = [(item.where, item.entries) for item in seen]
    for key, word in (("mould", "mould"), ("part", "part")):
        own = [getattr(item, key) for item in seen]
        for name in dict.fromkeys(n for n in own if n and own.count(n) > 1):
            rows = np.vstack([rows, [float(other == name) for other in own]])
            entries = sum((i.entries for i, o in zip(seen, own, strict=True) if o == name), ())
            names.append((f"{word} {name}, all its readings", entries))
    return names, rows


def _odd(
    seen: Sequence[Observation], names: list[tuple[str, tuple[int, ...]]], told: Learned
) -> tuple[Odd, ...]:
    """Directions beyond three standard uncertainties, or whose weight was lessened."""
    found = [
        Odd(*name, float(z), float(kept))
        for name, z, kept in zip(names, told.deviations, told.told, strict=True)
        if kept < 1.0 or (abs(z) > FLAGGED and "all its readings" not in name[0])
    ]
    return tuple(sorted(found, key=lambda item: item.kept))


def _counts(seen: Sequence[Observation], C: Array, variance: Array, link: Sequence[int]) -> Array:
    """Readings by input: those it is to blame for by a hundredth or more among its own link."""
    blame = C**2 * variance
    link_of = np.array(link)
    total = np.stack([blame[:, link_of == own].sum(axis=1) for own in link], axis=1)
    informs = blame > INFORMED * np.where(total > 0.0, total, 1.0)
    return np.asarray(informs.T @ np.array([item.readings for item in seen]))


def corrections_of(lesson: Lesson, plan: Plan, history: History) -> Corrections:
    """The lesson as the record that comes back as input to the plan."""
    chain, covariance = lesson.chain, lesson.covariance
    spread, before = np.sqrt(np.diag(covariance)), np.sqrt(np.diag(chain.covariance))
    moved = np.abs(lesson.mean - chain.mean) > CHANGED * before
    rows = np.flatnonzero(moved | (np.abs(spread - before) > CHANGED * before))
    inputs = tuple(
        Corrected(
            chain.inputs[row].name,
            float(chain.mean[row]),
            float(before[row]),
            float(lesson.mean[row]),
            float(spread[row]),
            int(lesson.counts[row]),
        )
        for row in rows
    )
    used = {item.mould for item in lesson.observed.observations}
    moulds = tuple(mould.name for mould in history.moulds if mould.name in used)
    table = tuple(tuple(row) for row in covariance[np.ix_(rows, rows)].tolist())
    return Corrections(plan.job.digest, moulds, lesson.readings, inputs, table)
