"""Build sheet, the finished part: what it weighs and where it balances, antennas tried."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from mandrelwright.out import finished, sheet
from mandrelwright.out.sheet import BLANK, Columns
from mandrelwright.plan import Plan

STEPS = ("assembly", "joints", "flight", "strength", "radio")
MASSES: Columns = (
    ("what", "rest"), ("plan", 30.0), ("place or thickness", 42.0), ("weighed", 28.0),
)  # fmt: skip
BALANCE = (
    "Weigh part and whole on the kitchen scale; lay the whole across a ruler's edge and read where "
    "it balances, from the base. What was read goes into the job, not what was planned."
)
HEARD: Columns = (
    ("antenna", "rest"), ("frequency", 34.0), ("loss in the wall", 34.0),
    ("signal in the open", 34.0), ("in the finished part", 34.0),
)  # fmt: skip


def sections(plan: Plan) -> Iterator[dict[str, Any]]:
    """Finish, mass and balance, radio, with every caution of these steps."""
    yield sheet.section("Finished part", *_blocks(plan))


def _blocks(plan: Plan) -> Iterator[sheet.Block | None]:
    yield sheet.say(finished.JUDGEMENT)
    yield from sheet.cautions(plan, *STEPS)
    yield sheet.head("Mass and balance")
    yield sheet.say(BALANCE)
    yield sheet.table(MASSES, (_mass(row) for row in finished.masses(plan)))
    whole = dict(finished.facts(plan))
    yield sheet.blanks(
        f"finished part weighs (plan {whole['Mass']})",
        f"it balances from its base (plan {finished.balance(plan.assembly)})",
    )
    if plan.radio is not None:
        yield sheet.head("Radio, on the ground, everything in its place")
        yield sheet.table(
            HEARD, ((row[0], row[1], row[2], BLANK, BLANK) for row in finished.heard(plan.radio))
        )


def _mass(row: tuple[str, ...]) -> tuple[str, ...]:
    name, mass, place, _ = row
    return name, mass, place, BLANK
