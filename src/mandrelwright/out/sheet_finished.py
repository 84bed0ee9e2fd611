"""Build sheet, the finished part: what it weighs and where it balances, antennas tried."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from mandrelwright.out import finished, flown, sheet
from mandrelwright.out.sheet import BLANK, Columns
from mandrelwright.physics.wetout import GRAVITY
from mandrelwright.plan import Plan
from mandrelwright.quantities import show

STEPS = ("assembly", "joints", "flight", "strength", "radio")
MASSES: Columns = (
    ("what", "rest"), ("plan", 30.0), ("place or thickness", 42.0), ("weighed", 28.0),
)  # fmt: skip
BALANCE = (
    "Weigh part and whole on the kitchen scale; lay the whole across a ruler's edge and read where "
    "it balances, from the base. What was read goes into the job, not what was planned."
)
LEAST_LEFT = 1.5  # load factor a proof must leave: a proof that cracks the wall proves nothing
PROVE = (
    "Goggles; nobody under it or in line with it; a bucket that hangs a hand above the floor",
    "Water or sand added slowly, never a weight dropped; a minute at the full load",
    "It creaks, whitens or stays bent: scrap it. What passed is still no certificate",
)
JOINTS: Columns = (
    ("joint", 42.0), ("bears", 32.0), ("is asked", 44.0), ("remark", "rest"),
)  # fmt: skip
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
    yield sheet.table(MASSES, (_mass(row) for row in finished.masses(plan)), False)
    whole = dict(finished.facts(plan))
    yield sheet.blanks(
        f"finished part weighs (plan {whole['Mass']})",
        f"it balances from its base (plan {finished.balance(plan.assembly)})",
    )
    yield from _joints(plan)
    yield from _proof(plan)
    if plan.radio is not None:
        yield sheet.head("Radio, on the ground, everything in its place")
        yield sheet.table(
            HEARD, ((row[0], row[1], row[2], BLANK, BLANK) for row in finished.heard(plan.radio))
        )


def _joints(plan: Plan) -> Iterator[sheet.Block | None]:
    """Glue, pins and vent with what to drill and to tick, and the test on the ground."""
    rows = list(flown.joined(plan.joints))
    if not rows:
        return
    yield sheet.head("Joints")
    yield sheet.table(JOINTS, ((*row[:3], row[4]) for row in rows), False)
    yield sheet.ticks(_to_do(plan), 1)


def _proof(plan: Plan) -> Iterator[sheet.Block | None]:
    """The proof load, only where it leaves the wall far from its first crack."""
    strength = plan.strength
    if strength is None or not strength.proof_factor > LEAST_LEFT:
        return
    kilograms = strength.proof / GRAVITY
    yield sheet.head("Proof load, cold, on the ground")
    yield sheet.say(
        f"Held by its coupler, level, {strength.proof:.0f} N ({kilograms:.1f} kg) on its tip "
        f"bends its base 1.2 times as much as the flight; the wall first fails at "
        f"{_times(strength.proof_factor)} that. It proves nothing for a warm wall."
    )
    yield sheet.ticks(PROVE, 1)
    yield sheet.blanks("hung, kg", "heard or seen", "springs back to within, mm")


def _times(factor: float) -> str:
    return f"{factor:.0f} times" if factor < 99.5 else "more than 99 times"


def _to_do(plan: Plan) -> Iterator[str]:
    bond, pins, vent = plan.joints.bond, plan.joints.pins, plan.joints.vent
    if bond is not None:
        yield (
            f"Bore at {bond.fit}: washed, wiped, abraded until nothing shines, wiped; water wets "
            f"it without beading; glued over {show(bond.length, 'mm', 0)} within the hour"
        )
    if pins is not None:
        yield (
            f"Pin holes {show(pins.bears, 'mm', 1)} at {pins.fit}, {show(pins.edge, 'mm', 0)} from "
            "the end, drilled slow with the mate in place, backed, edges sealed"
        )
    if vent is not None and vent.area > 0.0:
        yield "Vent drilled in a cylinder, deburred, sealed; nothing inside can cover it"
    if pins is not None:
        yield "Ejection tried on the ground with this joint: it opens, and the holes are whole"


def _mass(row: tuple[str, ...]) -> tuple[str, ...]:
    name, mass, place, _ = row
    return name, mass, place, BLANK
