"""Build sheet, the lay-up: cut list, cups to weigh, and every step with its minute."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import zip_longest
from typing import Any

import numpy as np

from mandrelwright.out import layup as bench
from mandrelwright.out import sheet
from mandrelwright.out.sheet import BLANK, TICK, Columns, mm
from mandrelwright.plan import Plan
from mandrelwright.quantities import show, show_spread, show_weighed
from mandrelwright.stages.ends import LayerEnd

CUTS: Columns = (
    ("", 9.0), ("layer", "rest"), ("cut", 28.0), ("dry", 19.0), ("weighs g", 22.0),
    ("tie its end at", 28.0), ("free end creeps", 26.0),
)  # fmt: skip
ENDS: Columns = (
    ("layer", "rest"), ("end", 16.0), ("from base", 20.0), ("from face", 20.0),
    ("mould ø", 18.0), ("how it ends", 26.0), ("may slip", 18.0), ("ridge to fair", 22.0),
)  # fmt: skip
STRIPS: Columns = [("roll", 40.0), ("length", 22.0), ("side by side", "rest")]
CUPS: Columns = (
    ("", 9.0), ("cup", 9.0), ("for layers", "rest"), ("resin", 18.0), ("really", 19.0),
    ("hardener", 19.0), ("really", 19.0), ("mixed at", 21.0), ("use until", 21.0),
)  # fmt: skip
STEPS: Columns = (
    ("", 9.0), ("", 8.0), ("minute", 15.0), ("takes", 15.0), ("do", "rest"),
    ("clock when done", 30.0),
)  # fmt: skip
RULE = (
    "Pour the resin first, write what the scale really says, then add hardener = {ratio} × that "
    "weight. Stir as long as the plan gives for mixing, scrape walls and bottom, pour the cup into "
    "a flat tray. A cup that warms goes outdoors into sand or water."
)
READY = (
    "mould at shop temperature, film whole, holes taped",
    "all pieces cut, labelled and lying in order",
    "cups labelled, scale level and at zero, a card for a drop of each cup",
    "gloves on, spare pairs out, door or extractor open",
    "threads cut, covers cut to size",
    "marking stick at the mould, trim lines and inner ends on it",
    "clock in sight, this page where it can be read",
)


def sections(plan: Plan) -> Iterator[dict[str, Any]]:
    """Cut list; cups; steps."""
    yield sheet.section("Cut", *_cut(plan))
    yield sheet.section("Weigh and mix", *_mix(plan), page="same")
    yield sheet.section(
        "Lay up",
        sheet.head("Before the first cup"),
        sheet.ticks(READY),
        sheet.blanks(
            "minute 0 is at (clock)",
            "shop °C, humidity %",
            "who",
            "mould with its film g",
            "cups, sticks, brushes empty g",
            "film checked by",
        ),
        sheet.say(
            "Minute 0: the first hand on the mould. Planned minutes are guesses until you have "
            "timed yourself; what counts is that no cup outlives its time. Marks are on the "
            "marking stick. "
            + _over(plan)
            + "Wet: no white fibre, no dry crossing. Squeeze: stroke along the sleeve with a "
            "gloved hand or squeegee until it lies tight and no more resin gathers. A thread "
            "inside the part is wound flat, two turns, and stays in."
        ),
        sheet.table(
            STEPS,
            _steps(plan),
        ),
        sheet.blanks(
            "last cover: clock",
            "shop °C, humidity %",
            "turned until: clock",
            "mould with the laid part g",
            "cups, sticks, brushes after g",
            "drops kept",
        ),
    )


def _over(plan: Plan) -> str:
    """How a sleeve goes on, where there is one."""
    if not any(piece.tied for piece in plan.layup.pieces):
        return ""
    way = "the tip end" if plan.job.mould.flange else "the thinner end"
    return f"Push a sleeve together to open it, slide it over {way}, then pull it long. "


def _cut(plan: Plan) -> Iterator[sheet.Block | None]:
    practice = plan.library.practice["lay-up"]
    yield sheet.say(
        f"Cut squarely, without stretching, with {mm(practice['end_allowance'].value, 0)} mm at "
        f"each end and {100.0 * practice['length_allowance'].value:.0f} % of the length already "
        "counted in. Sleeves are measured lying flat at their label angle. Tape each end before "
        "cutting through the tape, label each piece, weigh it dry, roll it up in order. Layer 1 "
        "lies on the mould. The end that is not tied creeps outwards while layers are squeezed: "
        "leave it free."
    )
    if any(not piece.tied for piece in plan.layup.pieces):
        yield sheet.say(
            "Cloth is cut by patterns.pdf: print it at 100 %, measure its check square, join the "
            "sheets at their marks, lay the arrow along the warp. Across the roll, patterns lie "
            "side by side as listed, strip after strip:"
        )
        yield from sheet.cautions(plan, "patterns")
        yield sheet.table(STRIPS, bench.strips(plan.supplies), False)
    yield sheet.table(
        CUTS,
        _pieces(plan),
    )
    yield sheet.head("Where each layer lies")
    yield sheet.say(
        "“Through”: past the trim line, to the mould's end. Other ends stop inside the part and "
        "are cut square on the mark after squeezing: “faired” over a long ramp in the mould, "
        "“rebate” in a short one that the end must meet, “proud” where it stands outside. “May "
        "slip” is how far the end may lie wrong."
    )
    yield sheet.table(
        ENDS,
        (_end(plan, end) for end in plan.mould.ends),
        False,
    )  # fmt: skip


def _pieces(plan: Plan) -> Iterator[tuple[str, ...]]:
    for piece in plan.layup.pieces:
        cloth = not piece.tied
        yield (
            TICK,
            piece.label,
            "by its pattern" if cloth else sheet.amount(piece.cut, "mm"),
            show_weighed(piece.dry, plan.job.shop.scale.value),
            BLANK,
            "not tied" if cloth else piece.tied,
            "–" if cloth else sheet.amount(piece.grows, "mm", 1),
        )


def _end(plan: Plan, end: LayerEnd) -> tuple[str, ...]:
    x = float(np.clip(end.x, plan.shape.start, plan.shape.stop))
    place = sheet.from_base(plan, x), sheet.from_face(plan, x)
    size = mm(2.0 * float(np.interp(x, plan.fit.ready.x, plan.fit.ready.r)), 1)
    ridge = mm(end.ridge) if end.ridge > 5e-6 else "none"
    return (end.layer, end.side, *place, size, end.kind, mm(end.slip, 0), ridge)


def _mix(plan: Plan) -> Iterator[sheet.Block | None]:
    layup, job = plan.layup, plan.job
    yield from sheet.cautions(plan, "layup")
    ratio = job.resin.hardener
    share = "______" if ratio is None else f"{ratio.value:.3g}"
    yield sheet.say(RULE.format(ratio=share) + f" Mixing is given {_minutes(layup.mixing)}.")
    if ratio is None:
        yield sheet.say("The job states no share of hardener: copy it from the can, by weight.")
        yield sheet.blanks("hardener g per 100 g resin")
    yield sheet.say(_life(plan))
    if math.isnan(layup.pot_life):
        yield sheet.blanks("pot life from the can, min", "of a cup of g", "at °C")
    yield sheet.table(
        CUPS,
        _cups(plan),
    )
    yield sheet.head("Batch numbers")
    yield sheet.blanks(
        "resin: lot, date opened", "hardener: lot, date opened", "scale checked with"
    )


def _life(plan: Plan) -> str:
    """How long a cup is good for, as far as it is known."""
    layup = plan.layup
    if math.isnan(layup.pot_life):
        return "“Use until”: the clock when mixing began and the pot life of the can, less a third."
    life = show_spread(layup.pot_life, layup.pot_life_spread, "min", 0)
    room = show(plan.job.shop.temperature.value, "degC", 0)
    return (
        f"Pot life of a full cup at {room}: {life}. “Use until”: the clock when mixing began and "
        f"{_minutes(layup.lasts)}. In a warmer shop it is shorter: 10 degrees halve it."
    )


def _cups(plan: Plan) -> Iterator[tuple[str, ...]]:
    scale = plan.job.shop.scale.value
    for cup in plan.layup.cups:
        known = not math.isnan(cup.hardener)
        yield (
            TICK,
            str(cup.number),
            ", ".join(cup.layers),
            show_weighed(cup.resin, scale)
            if known
            else f"{show_weighed(cup.mixed, scale)} with hardener",
            BLANK,
            show_weighed(cup.hardener, scale) if known else BLANK,
            BLANK,
            BLANK,
            BLANK,
        )


def _steps(plan: Plan) -> Iterator[tuple[str, ...]]:
    """Every step of the plan; the last line is the turning, which no step of it is."""
    steps = plan.layup.steps
    for number, (told, step) in enumerate(
        zip_longest(bench.steps(plan.layup, plan.job.shop.scale.value), steps), 1
    ):
        takes = "" if step is None else _minutes(step.lasts)
        yield (TICK, str(number), told[0], takes, told[1], BLANK)


def _minutes(time: float) -> str:
    return f"{time / 60.0:.0f} min" if time >= 60.0 else "1 min"
