"""The log as learning reads it: standing entries gathered into moulds, parts, rings and tools."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from mandrelwright.job.records import Reading as Read
from mandrelwright.shop import entries as log
from mandrelwright.shop.history import (
    Event,
    History,
    MarkRecord,
    MouldRecord,
    PartRecord,
    RingRecord,
    Tool,
    Weight,
)
from mandrelwright.shop.log import Log
from mandrelwright.shop.standing import Logged

OUTCOMES = ("fits", "reworked", "scrapped")
MENDED = "mended"


def history(shop: Log, job: str | None = None) -> History:
    """Everything that stands about the moulds of a job (all jobs where none is named)."""
    rows = shop.standing()
    tools = {row.entry.id: row.entry for row in rows if isinstance(row.entry, log.Tool)}
    moulds = [row.entry for row in rows if isinstance(row.entry, log.Mould)]
    rings = [row.entry for row in rows if isinstance(row.entry, log.Coupon)]
    return History(
        tuple(_mould(mould, rows, tools) for mould in moulds if job in (None, mould.job)),
        tuple(_ring(ring, rows, tools) for ring in rings if ring.file is not None),
        {tool.name: _tool(tool) for tool in tools.values()},
    )


def _tool(tool: log.Tool) -> Tool:
    doubt = tool.doubt or tool.doubt_mass
    return Tool(tool.name, doubt.value if doubt else 0.0, tool.checked_on)


def _mould(mould: log.Mould, rows: Sequence[Logged], tools: dict[str, log.Tool]) -> MouldRecord:
    own = [row for row in rows if row.entry.mould == mould.id and row.entry.part is None]
    parts = [row.entry for row in own if isinstance(row.entry, log.Part)]
    marks = mould.facts.get("marks", {})
    return MouldRecord(
        mould.name,
        mould.plastic,
        mould.printed_on,
        mould.job_digest,
        tuple(_mark(name, mark) for name, mark in marks.items()),
        mould.facts.get("treatments", {}),
        _readings(own, tools),
        tuple(_part(part, rows, tools) for part in parts),
        _weights(own),
        _events(own),
        _hours(own),
        _cost(own),
    )


def _mark(name: str, mark: dict[str, Any]) -> MarkRecord:
    length = mark.get("length", 0.0)  # logs of before kept none
    return MarkRecord(name, mark["file"], mark["slope"], mark["from_base"], length)


def _part(part: log.Part, rows: Sequence[Logged], tools: dict[str, log.Tool]) -> PartRecord:
    own = [row for row in rows if row.entry.part == part.id]
    events = _events(own)
    ended = [event.what for event in events if event.what in OUTCOMES]
    return PartRecord(
        part.name,
        part.laid_on,
        _readings(own, tools),
        _weights(own),
        events,
        ended[-1] if ended else "",  # type: ignore[arg-type]  # one of OUTCOMES, as Outcome spells
        _hours(own),
        _cost(own),
        part.mate.value if part.mate else 0.0,
    )


def _ring(ring: log.Coupon, rows: Sequence[Logged], tools: dict[str, log.Tool]) -> RingRecord:
    own = [row for row in rows if row.entry.coupon == ring.id]
    file = ring.file.value if ring.file else 0.0
    return RingRecord(ring.name, ring.plastic, ring.printed_on, file, _readings(own, tools))


def _readings(own: Sequence[Logged], tools: dict[str, log.Tool]) -> tuple[Read, ...]:
    """Readings in the order of the shop; ``mended`` counts the mendings entered before each."""
    out, mended = [], 0
    for number, entry in own:
        if isinstance(entry, log.Event) and entry.what == MENDED:
            mended += 1
        elif isinstance(entry, log.Reading):
            out.append(_reading(number, entry, mended, tools))
    return tuple(out)


def _reading(number: int, entry: log.Reading, mended: int, tools: dict[str, log.Tool]) -> Read:
    tool = tools.get(entry.tool or "")
    spread = entry.reads.spread or (tool.doubt.value if tool and tool.doubt else 0.0)
    return Read(
        entry.stage,  # type: ignore[arg-type]  # checked against STAGES when it was made
        entry.mark,
        entry.reads.value,
        spread,
        entry.temperature.value if entry.temperature else None,
        entry.of,  # type: ignore[arg-type]  # checked likewise
        entry.angle.value if entry.angle else None,
        entry.repeat,
        mended,
        tool.name if tool else "",
        entry.place.value if entry.place else None,
        entry.at,
        number,
    )


def _weights(own: Sequence[Logged]) -> tuple[Weight, ...]:
    return tuple(
        Weight(entry.what, entry.reads.value, entry.reads.spread, entry.at, number)
        for number, entry in own
        if isinstance(entry, log.Weight)
    )


def _events(own: Sequence[Logged]) -> tuple[Event, ...]:
    return tuple(
        Event(entry.what, entry.text, entry.at, entry.amount.value if entry.amount else 0.0, number)
        for number, entry in own
        if isinstance(entry, log.Event)
    )


def _hours(own: Sequence[Logged]) -> float:
    return math.fsum(row.entry.took.value for row in own if isinstance(row.entry, log.Time))


def _cost(own: Sequence[Logged]) -> float:
    return math.fsum(row.entry.cost for row in own if isinstance(row.entry, log.Event))
