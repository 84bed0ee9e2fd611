"""The parts made so far: pass or fail, how capable the shop is, how its moulds age, what they cost.

A part passes or fails with a guard band; where the reading cannot tell, that is said.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.records import Reading
from mandrelwright.physics.capability import (
    Capability,
    Conformity,
    Individuals,
    capability,
    conforms,
    describe,
    individuals,
)
from mandrelwright.physics.regression import regress, student_quantile
from mandrelwright.plan import Plan
from mandrelwright.shop.history import History, MouldRecord, PartRecord
from mandrelwright.shop.part_gate import own_play
from mandrelwright.shop.questions import is_slip

Array = NDArray[np.float64]

CHARTED = 4  # parts from which on limits are drawn; a textbook asks for 20
CAPABLE = 10  # parts from which on C_pk is told; its interval is then still wide
AGED = 3  # parts on one mould from which on a trend is looked for
BAND = 0.95


@dataclass(frozen=True)
class PartFit:
    """One part's leading fit: play ± doubt (m), pass or fail, and how it really ended."""

    mould: str
    part: str
    laid_on: str
    play: float
    doubt: float
    verdict: Conformity
    outcome: str


@dataclass(frozen=True)
class Life:
    """How the parts of one mould change: m per part with its 95 % half width; parts still to come.

    left: parts until the middle of the trend leaves the window, None where no trend is seen.
    """

    mould: str
    parts: int
    slope: float
    half_width: float
    left: int | None


@dataclass(frozen=True)
class Cost:
    """Money and hours (s) per part that fits, moulds included; None while none fits."""

    money: float
    hours: float
    fitting: int


@dataclass(frozen=True)
class Row:
    """All parts in the order they were laid up, and what may be said of the row.

    neighbours: lag-1 autocorrelation. out: parts outside the chart's limits.
    """

    window: tuple[float, float]
    parts: tuple[PartFit, ...]
    chart: Individuals | None
    out: tuple[str, ...]
    neighbours: float
    capability: Capability | None
    lives: tuple[Life, ...]
    cost: Cost | None


def judge_parts(plan: Plan, history: History) -> Row:
    """Every part of the log that was read at its leading fit."""
    window = plan.fit.chain.lead.place.window
    pairs = [(mould, part) for mould in history.moulds for part in mould.parts]
    pairs.sort(key=lambda pair: pair[1].laid_on)
    parts = tuple(_parts(plan, history, pairs))
    plays = np.array([part.play for part in parts])
    enough = len(parts) >= CHARTED and float(np.ptp(plays)) > 0.0
    chart = individuals(plays) if enough else None
    out: tuple[str, ...] = ()
    if chart:
        out = tuple(
            f"{p.part} on {p.mould}" for p in parts if not chart.lower <= p.play <= chart.upper
        )
    told = describe(plays) if enough else None
    able = None
    if told and len(parts) >= CAPABLE:
        able = capability(told.mean, told.deviation, window, len(parts))
    lives = tuple(_lives(parts, window))
    neighbours = told.neighbours if told else math.nan
    return Row(window, parts, chart, out, neighbours, able, lives, _cost(history, parts))


def _parts(
    plan: Plan, history: History, pairs: list[tuple[MouldRecord, PartRecord]]
) -> Iterator[PartFit]:
    """Play of each part at its leading fit, with the doubt of readings, mate and form."""
    expected = plan.fit.lead.diameter
    lead = plan.mould.marks[0].name
    for mould, part in pairs:
        own = [
            reading
            for reading in part.readings
            if reading.stage == "part"
            and reading.of == "diameter"
            and reading.mark.upper() == lead
            and not is_slip(reading.value, expected)
        ]
        if own:
            play, doubt = own_play(plan, _with_tools(own, history), part.mate)
            verdict = conforms(play, doubt, plan.fit.chain.lead.place.window)
            yield PartFit(mould.name, part.name, part.laid_on, play, doubt, verdict, part.outcome)


def _with_tools(readings: list[Reading], history: History) -> list[Reading]:
    """Readings with the spread of their tool where none was stated."""
    tools = history.tools
    return [
        replace(r, spread=tools[r.tool].spread) if not r.spread and r.tool in tools else r
        for r in readings
    ]


def _lives(parts: tuple[PartFit, ...], window: tuple[float, float]) -> Iterator[Life]:
    """Trend of play over the parts of each mould, by least squares."""
    for name in dict.fromkeys(part.mould for part in parts):
        plays = np.array([part.play for part in parts if part.mould == name])
        count = len(plays)
        if count < AGED:
            continue
        steps = np.arange(count, dtype=float)
        fit = regress(np.column_stack([np.ones(count), steps]), plays)
        slope = float(fit.coefficients[1])
        half = student_quantile(BAND, fit.degrees) * float(fit.deviations[1])
        yield Life(name, count, slope, half, _left(fit.coefficients, count, half, window))


def _left(line: Array, count: int, half: float, window: tuple[float, float]) -> int | None:
    """Parts until the trend leaves the window, None where its slope may as well be zero."""
    start, slope = float(line[0]), float(line[1])
    if abs(slope) <= half:
        return None
    limit = window[1] if slope > 0.0 else window[0]
    return max(0, math.floor((limit - start) / slope - (count - 1)))


def _cost(history: History, parts: tuple[PartFit, ...]) -> Cost | None:
    """Everything spent over the parts that fit, as their builder or else their reading says."""
    good = sum(p.outcome in ("fits", "reworked") or (not p.outcome and p.verdict == "fits")
               for p in parts)  # fmt: skip
    money = sum(m.cost + sum(p.cost for p in m.parts) for m in history.moulds)
    hours = sum(m.hours + sum(p.hours for p in m.parts) for m in history.moulds)
    if not good or not (money or hours):
        return None
    return Cost(money / good, hours / good, good)
