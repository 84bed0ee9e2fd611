"""Step 6, Cure: temperature and state of resin and mould over the schedule, and what follows.

set           the last time on the mould that T_g of the wall rises through its temperature
T_set         mean temperature of the mould then: the reference of the dimension chain
share kept    φ = 1 − ρ (α_set − α_gel)/(α_∞ − α_gel), ρ relaxed between gel and glass, α_∞
                  two weeks after the schedule
release       not before T_g stands 20 K above the shop: cold stops the cure
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.physics import kinetics, reaction
from mandrelwright.physics.kinetics import crossing
from mandrelwright.stages import post_cure
from mandrelwright.stages.cells import CELLS, Cells, cut_cells
from mandrelwright.stages.record import result
from mandrelwright.stages.resin import CUP, RATE, Resin, cup, cup_loss, read_resin
from mandrelwright.stages.shape import Shape
from mandrelwright.stages.stack import Stack
from mandrelwright.stages.states import States, run
from mandrelwright.stages.wall import Wall

Array = NDArray[np.float64]

COLD = 1.0  # K from the shop at which a mould counts as cold
PRACTICE = "materials.practice.cure."
AIR = tuple(
    f"materials.practice.surroundings.{key}"
    for key in ("still_air", "moving_air", "freezer_air", "water", "enclosed_air")
)
RUN = ("job.schedule[*]", "job.shop.temperature", *AIR, *RATE, *CELLS)
BY = (reaction.stepped, kinetics.Kinetics.rate)
SET = ("cure.places",)
EXPANDS = ("wall.expansion", "materials.plastics.{plastic}.expansion")
SOFTENS = "materials.plastics.{plastic}.deflection_low"


def kept_share(set_at: Array, ends: Array, gel: float, relaxed: float) -> tuple[Array, Array]:
    """Share of the cure strain that stays: φ = 1 − ρ (α_set − α_gel)/(α_∞ − α_gel).

    ρ of what shrinks between gel and glass is relaxed by the mould; what shrinks later stays.
    set_at: α at the last set, ends: α_∞, (place,). Also returns the second factor, −∂φ/∂ρ.
    Validity: ρ is assumed; the free shrinkage is taken as proportional to α after gel.
    """
    early = np.clip((set_at - gel) / np.maximum(ends - gel, 1e-6), 0.0, 1.0)
    return 1.0 - relaxed * early, early


@dataclass(frozen=True)
class CuredPlace:
    """One place: when it gels and sets, how warm it gets, what glass transition it reaches."""

    label: str
    x: float = result("from the tip of the full profile", "mm", (), CELLS)
    gel: float = result("gel", "h", BY, RUN)
    sets: float = result("last time that it turns to glass on the mould", "h", BY, RUN)
    set_temperature: float = result("mean temperature of the mould then", "degC", BY, RUN)
    peak: float = result("warmest hour of the wall", "degC", BY, RUN)
    mould_peak: float = result("warmest hour of the mould, at its hottest", "degC", BY, RUN)
    glass: float = result("glass transition at the end of the schedule", "degC", BY, RUN)


@dataclass(frozen=True)
class Cure:
    """What the schedule makes of resin and mould. Times in s from the lay-up, NaN for never."""

    states: States
    off_mould: States | None
    rate_told_by: str = result("what sets the rate of cure", "", (read_resin,), RATE)
    rate_doubt: float = result("its relative standard uncertainty", "%", (read_resin,), RATE)
    places: tuple[CuredPlace, ...] = result("places along the part", "", BY, RUN)
    set_temperature: float = result(
        "temperature of the mould when the leading fit sets",
        "degC",
        BY,
        (*SET, *RUN),
        "set_spread",
    )
    set_spread: float = result("its standard uncertainty", "K", BY, RUN)
    share_kept: float = result(
        "share of the cure strain that stays",
        "",
        (kept_share, *BY),
        (*RUN, f"{PRACTICE}strain_relaxed"),
        "kept_spread",
    )
    kept_spread: float = result(
        "its standard uncertainty", "", BY, (*RUN, f"{PRACTICE}strain_relaxed")
    )
    glass: float = result(
        "glass transition at the end of the schedule, the least along the part",
        "degC",
        BY,
        ("job.stated.glass_transition", *RUN),
        "glass_spread",
    )
    glass_spread: float = result(
        "its standard uncertainty", "K", BY, ("job.stated.glass_transition", *RUN)
    )
    gel_first: float = result("first place to gel", "h", (), (*SET, *RUN))
    gel_last: float = result("last place to gel", "h", (), (*SET, *RUN))
    recoat_until: float = result(
        "until then the next session bonds by itself; later wash and scuff", "h", (), (*SET, *RUN)
    )
    cold: float = result("mould within 1 K of the shop after the last warm stay", "h", BY, RUN)
    release_after: float = result(
        "glassy, and hard enough to be pulled", "h", BY, (*RUN, f"{PRACTICE}release_above")
    )
    peak: float = result("warmest of the wall", "degC", (), (*SET, *RUN))
    mould_peak: float = result("warmest of the mould", "degC", (), (*SET, *RUN))
    mould_margin: float = result(
        "plastic's softening less the warmest of the mould",
        "K",
        (),
        ("cure.mould_peak", SOFTENS, *RUN),
    )
    wall_margin: float = result(
        "least of glass transition less temperature on the mould, once it has set",
        "K",
        BY,
        RUN,
    )
    free_margin: float = result("the same off the mould", "K", BY, RUN)
    regrown: float = result(
        "how much larger than at the first set the bore of the leading fit is at the last",
        "mm",
        (),
        (*EXPANDS, *SET, "stack.mould", *RUN),
    )
    post_cure: tuple[post_cure.Soak, ...] = result(
        "post-cure that stays below the glass transition", "", post_cure.propose, (*RUN, SOFTENS)
    )
    cup_peak: float = result(
        "largest cup left standing: peak", "degC", BY, ("job.shop.batch_most", CUP, *RUN)
    )
    cup_time: float = result(
        "largest cup left standing: until its peak", "h", BY, ("job.shop.batch_most", CUP, *RUN)
    )
    dew_point: float = result(
        "a surface colder than this is wet",
        "degC",
        kinetics.dew_point,
        ("job.shop.humidity", "job.shop.temperature"),
    )


class _Sets(NamedTuple):
    """For every place: first and last set (s), temperature and conversion at the last."""

    first: Array
    last: Array
    at_first: Array
    temperature: Array
    conversion: Array


def follow_cure(job: Job, shape: Shape, stack: Stack, wall: Wall, library: Library) -> Cure:
    """Run the schedule at a few places and read from it what the other steps need.

    Every time is located inside its step; spreads are the changes when shop temperature, rate
    and cut-off are each moved by one standard uncertainty, added by their squares and, because
    a warm stay may or may not soften the wall again, no more than their range.
    """
    resin = read_resin(job, library)
    cells = cut_cells(job, shape, stack, resin, library)
    on, off = run(job, cells, resin, library)
    count, lead = len(cells.nodes), cells.lead
    sets = _sets(on)
    nominal, still = on.of(slice(0, count)), on.during()
    gel = crossing(on.times, on.conversion, on.rate, resin.gel)
    glass = on.glass[still][-1] if off is None else off.glass[-1]
    relaxed = library.practice["cure"]["strain_relaxed"]
    ends = on.conversion[-1] if off is None else np.maximum(on.conversion, off.conversion[-1])[-1]
    kept, by_relaxing = kept_share(sets.conversion, ends, resin.gel, relaxed.value)
    doubt = float(by_relaxing[lead]) * relaxed.spread
    room = job.shop.temperature.value
    least = glass.reshape(-1, count).min(axis=1)
    stated = job.stated.glass_transition
    warm, hot = nominal.wall_hottest[still].max(0), nominal.mould_hottest[still].max(0)
    if off is not None:
        warm = np.maximum(warm, off.wall_hottest[:, :count].max(0))
    softens = library.plastics[job.mould.plastic]["deflection_low"].value
    above = library.practice["cure"]["release_above"].value
    at = nominal.conversion[still][-1].min()
    return Cure(
        nominal,
        None if off is None else off.of(slice(0, count)),
        resin.told_by,
        resin.doubt,
        _places(cells, shape, gel, sets, warm, hot, glass),
        float(sets.temperature[lead]),
        _spread(sets.temperature[lead::count], 0.0),
        float(kept[lead]),
        _spread(kept[lead::count], doubt),
        float(least[0]) if stated is None else stated.value,
        _spread(least, 0.0) if stated is None else stated.spread,
        float(gel[:count].min()),
        float(gel[:count].max()),
        float(sets.first[:count].min()),
        _cold(nominal, room),
        float(np.maximum(_hard(nominal, room + above), sets.last[:count]).max()),
        float(warm.max()),
        float(hot.max()),
        softens - float(hot.max()),
        _margin(nominal, sets.last[:count], still),
        float("nan") if off is None else float(off.ahead[:, :count].min()),
        _regrown(job, stack, wall, cells, sets, library),
        post_cure.propose(resin, float(at), softens, library),
        *_cup(job, resin, library),
        _dew_point(job),
    )


def _sets(on: States) -> _Sets:
    """First and last rise of T_g through T, located inside their steps.

    The last is that of the schedule, or where it leaves the wall soft the first one after it.
    """
    ahead = on.ahead
    slope = on.glass_rate - np.gradient(on.wall, on.times, axis=0)
    rises = (ahead[1:] >= 0.0) & (ahead[:-1] < 0.0)
    ends = int(np.count_nonzero(on.during())) - 1
    sets = np.full((2, ahead.shape[1]), np.nan)
    for place, column in enumerate(rises.T):
        rows = np.flatnonzero(column)
        later = rows[rows < ends][-1:] if ahead[ends, place] >= 0.0 else rows[rows >= ends][:1]
        for which, row in ((0, rows[:1]), (1, later)):
            if len(row):
                parts = on.times, ahead[:, place], slope[:, place]
                sets[which, place] = kinetics.located(*parts, int(row[0]), 0.0)
    first, last = np.where(np.isnan(sets), on.times[-1], sets)
    return _Sets(
        sets[0],
        sets[1],
        _at(on, on.mould, first),
        _at(on, on.mould, last),
        _at(on, on.conversion, last),
    )


def _at(on: States, values: Array, times: Array) -> Array:
    """Values (time, place) at a time of each place's own, straight between steps."""
    return np.array([np.interp(t, on.times, row) for t, row in zip(times, values.T, strict=True)])


def _spread(values: Array, other: float) -> float:
    """Root of the squared changes against the first value, these no more than their range."""
    changes = float(np.sqrt(np.sum((values[1:] - values[0]) ** 2)))
    return float(np.hypot(min(changes, np.ptp(values)), other))


def _places(
    cells: Cells, shape: Shape, gel: Array, sets: _Sets, warm: Array, hot: Array, glass: Array
) -> tuple[CuredPlace, ...]:
    columns = (cells.x, gel, sets.last, sets.temperature, warm, hot, glass)
    rows = zip(*(column[: len(cells.nodes)].tolist() for column in columns), strict=True)
    return tuple(CuredPlace(f"{(shape.base - row[0]) * 1e3:.0f} mm", *row) for row in rows)


def _cold(states: States, room: float) -> float:
    """When the mould has come within COLD of the room for good (s)."""
    far = np.abs(states.mould - room).max(axis=1) > COLD
    rows = np.flatnonzero(far)
    return 0.0 if len(rows) == 0 else float(states.times[min(rows[-1] + 1, len(far) - 1)])


def _hard(states: States, transition: float) -> Array:
    """When every place has this glass transition (s), NaN if not within two weeks more."""
    return crossing(states.times, states.glass, states.glass_rate, transition)


def _margin(states: States, sets: Array, still: NDArray[np.bool_]) -> float:
    """Least of T_g − T after the last set, while the schedule is on the mould."""
    after = still[:, None] & (states.times[:, None] >= sets)
    return float(states.ahead[after].min()) if after.any() else float("nan")


def _regrown(
    job: Job, stack: Stack, wall: Wall, cells: Cells, sets: _Sets, library: Library
) -> float:
    """Δd = d (α_m − α_θ)(T_set,last − T_set,first) of the leading fit's bore (m)."""
    node, lead = cells.nodes[cells.lead], cells.lead
    expansion = library.plastics[job.mould.plastic]["expansion"].value - wall.expansion[node, 1]
    warmer = sets.temperature[lead] - sets.at_first[lead]
    return float(2.0 * stack.mould.r[node] * expansion * warmer)


def _cup(job: Job, resin: Resin, library: Library) -> tuple[float, float]:
    """Peak (K) of the largest cup left standing, and when (s)."""
    mass = job.shop.batch_most.value
    loss = cup_loss(mass, resin.liquid, library.practice["cure"]["cup_loss"].value)
    return _left_standing(resin, mass, loss, job.shop.temperature.value)


@lru_cache(maxsize=16)
def _left_standing(resin: Resin, mass: float, loss: float, room: float) -> tuple[float, float]:
    """Peak (K) of a cup, and when (s); the same cup stands beside most changes of a job."""
    history = cup(resin, mass, loss, room)
    T = history.temperature[:, 0, 0]
    return float(T.max()), float(history.times[np.argmax(T)])


def _dew_point(job: Job) -> float:
    humidity = job.shop.humidity
    if humidity is None:
        return float("nan")
    return kinetics.dew_point(job.shop.temperature.value, humidity.value)
