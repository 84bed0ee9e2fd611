"""Build sheet, cure and release: the calendar of both with the treatment's, their pictures."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from mandrelwright.out import calendar, cure, sheet
from mandrelwright.out import release as off
from mandrelwright.out.sheet import BLANK, TICK, Columns
from mandrelwright.plan import Plan
from mandrelwright.quantities import show

CALENDAR: Columns = (
    ("", 9.0), ("hour", 17.0), ("what", 42.0), ("how long, how warm", 44.0),
    ("go on when", "rest"), ("date, hour", 27.0),
)  # fmt: skip
STAYS: Columns = (
    ("", 9.0), ("stay", 28.0), ("at", "rest"), ("in: date, time", 32.0),
    ("°C in", 16.0), ("out: date, time", 32.0), ("°C out", 16.0),
)  # fmt: skip
SOAKS: Columns = (
    ("", 9.0), ("soak", 18.0), ("oven", 18.0), ("hold", 18.0), ("T_g after it", 28.0),
    ("part", "rest"), ("°C read", 20.0), ("date, time", 32.0),
)  # fmt: skip
STEPS: Columns = (
    ("", 9.0), ("step", 14.0), ("lasts", 22.0), ("at", 22.0), ("in", "rest"),
    ("gap to spare at its end", 44.0), ("begun", 28.0),
)  # fmt: skip
FACTS: Columns = (("worked out", 62.0), ("value", "rest"))
CLOCK = (
    "Hours of cure are computed for the resin as stated, from when all of it is on; the data sheet "
    "goes first, and a nail must leave no dent in a drop kept from the last cup."
)
BACK = "Hours before the lay-up are negative: they count back by the least waits. "
CURE_TALL, RELEASE_TALL = 78.0, 118.0  # mm


def sections(plan: Plan) -> Iterator[dict[str, Any]]:
    """Calendar; cure with its picture; release with its picture."""
    yield sheet.section("Calendar: treatment, cure, release", *_calendar(plan))
    yield sheet.section("Cure", *_cure(plan))
    yield sheet.section("Release", *_release(plan))


def _calendar(plan: Plan) -> Iterator[sheet.Block | None]:
    yield sheet.say(BACK + CLOCK)
    rows = ((TICK, *row, BLANK) for row in calendar.calendar(plan))
    yield sheet.table(CALENDAR, rows)


def _cure(plan: Plan) -> Iterator[sheet.Block | None]:
    yield from sheet.cautions(plan, "cure")
    yield sheet.picture("cure.svg", CURE_TALL)
    yield sheet.table(FACTS, cure.facts(plan.cure), False)
    yield sheet.head("Stays")
    yield sheet.table(STAYS, _schedule(plan))
    if plan.cure.post_cure:
        yield sheet.head("A post-cure that stays below the glass transition")
        yield sheet.table(SOAKS, _soaks(plan), False)


def _soaks(plan: Plan) -> Iterator[tuple[str, ...]]:
    for row in cure.soaks(plan.cure):
        yield TICK, *row, BLANK, BLANK


def _schedule(plan: Plan) -> Iterator[tuple[str, ...]]:
    """The stated stays, or a line to write one in."""
    for stay in plan.job.schedule:
        at = "shop temperature" if isinstance(stay.at, str) else show(stay.at.value, "degC", 0)
        yield TICK, f"{stay.stay.value / 3600.0:g} h", at, BLANK, BLANK, BLANK, BLANK
    if not plan.job.schedule:
        yield TICK, BLANK, BLANK, BLANK, BLANK, BLANK, BLANK


def _release(plan: Plan) -> Iterator[sheet.Block | None]:
    yield sheet.blanks("part and mould °C when pulled", "hours since minute 0", "drop hard?")
    yield from sheet.cautions(plan, "release")
    if plan.release is not None:
        yield sheet.picture("release.svg", RELEASE_TALL)
        yield sheet.table(STEPS, ((TICK, *row, BLANK) for row in off.steps(plan.release)))
        yield sheet.table(FACTS, off.facts(plan.release), False)
    yield sheet.ticks(_pulling(plan), 1)


def _pulling(plan: Plan) -> Iterator[str]:
    job = plan.job.mould
    way = "tip" if job.leaves == "tipwards" else "base"
    yield "Gloves and goggles: cut fibre ends are needles. Nobody in line with the part"
    yield "Cover peeled off, thread and tails cut away at the mould's ends"
    if job.vent:
        yield "Vent opened: without air behind it a closed part is held by the vacuum"
    else:
        yield "No vent is printed: where the tip is closed, let air in before pulling"
    flange = job.flange
    if flange and flange.push_off_screws:
        yield (
            f"{flange.push_off_screws} screws {flange.thread} turned in evenly, a quarter turn "
            "each, onto the laminate's end or a ring under it"
        )
    yield (
        f"The part leaves over the mould's {way} end. Push on the laminate's other end with a "
        "ring; pulling a braid makes it grip"
    )
    yield "No compressed air, no flame, no solvent"
    yield "Stuck: stop, write it in the log, give it a night in the cold. Do not pry"
