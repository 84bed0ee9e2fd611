"""Build sheet, the treatment: rings first, its calendar, dryness."""

from __future__ import annotations

from collections.abc import Iterator

from mandrelwright.out import sheet, treatment
from mandrelwright.out.sheet import BLANK, TICK, Columns
from mandrelwright.plan import Plan

CALENDAR: Columns = (
    ("", 9.0), ("step", 30.0), ("from hour", 20.0), ("leaves Ra", 26.0), ("then wait", 26.0),
    ("go on when", "rest"), ("date, hour", 28.0),
)  # fmt: skip


def blocks(plan: Plan) -> Iterator[sheet.Block | None]:
    """Rings to smooth first; hours, waits and checks of every treatment; when to lay up."""
    for text in treatment.rings_first(plan):
        yield sheet.say(text)
    yield sheet.table(CALENDAR, _calendar(plan))
    yield sheet.say(treatment.ready(plan))
    for name, text in treatment.dryness(plan):
        yield sheet.say(f"{name.capitalize()}: {text}.")


def _calendar(plan: Plan) -> Iterator[tuple[str, ...]]:
    for step, hour, _, _, left, wait, check in treatment.rows(plan):
        yield TICK, step, hour, left, wait, check, BLANK
