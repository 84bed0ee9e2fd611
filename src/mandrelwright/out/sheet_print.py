"""Build sheet, printing: settings, the ring to measure first, the pieces and how they join."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from mandrelwright.out import sheet
from mandrelwright.out.sheet import BLANK, TICK, Columns, mm
from mandrelwright.plan import Plan
from mandrelwright.quantities import show, show_spread

RING = "ring at"  # how the calibration rings among the aids are called
PIECES: Columns = (
    ("", 9.0), ("piece", "rest"), ("tall", 17.0), ("mass", 22.0), ("time", 24.0),
    ("slicer says", 28.0), ("weighs g", 22.0),
)  # fmt: skip
RINGS: Columns = (
    ("", 9.0), ("ring", "rest"), ("in file ø", 20.0), ("expected", 20.0), ("0°", 19.0),
    ("60°", 19.0), ("120°", 19.0), ("mean", 19.0), ("°C", 12.0),
)  # fmt: skip
JOINTS: Columns = (
    ("", 9.0), ("joint", 26.0), ("from base", 24.0), ("dowels", "rest"),
    ("tried dry", 26.0), ("glued: time", 30.0), ("seam flush", 28.0),
)  # fmt: skip
AIDS: Columns = (
    ("", 9.0), ("aid", 36.0), ("size", 19.0), ("reads", 19.0), ("what it is for", "rest"),
)  # fmt: skip
SEAM = (
    "One straight line, away from where the calipers sit. No elephant-foot or hole "
    "compensation, no scaling: size changes are in the file already."
)


def sections(plan: Plan) -> Iterator[dict[str, Any]]:
    """Rings first, then the pieces, then joining them; the bench aids."""
    yield sheet.section(
        "Print",
        *sheet.cautions(plan, "print", "segments"),
        sheet.head("Settings"),
        sheet.table([("", 9.0), ("setting", 42.0), ("value", "rest")], _settings(plan), False),
        sheet.head("Rings: print and measure them before the mould"),
        *_rings(plan),
        sheet.head("Pieces"),
        sheet.say(
            f"Each piece stands in the file as it is printed: its {_down(plan)} end on the bed. "
            "Mass and time are estimates; write what the slicer says."
        ),
        sheet.table(
            PIECES,
            _pieces(plan),
        ),
        sheet.say(_total(plan)),
        *_joining(plan),
    )
    yield sheet.section(
        "Bench aids",
        sheet.say("Print what you will use, measure it, write on it what it reads."),
        sheet.table(
            AIDS,
            _aids(plan),
        ),
        page="same",
    )


def _down(plan: Plan) -> str:
    return "baseward" if plan.segments.base_down else "tipward"


def _settings(plan: Plan) -> Iterator[tuple[str, str, str]]:
    job, printer = plan.job, plan.job.printer
    steepest = max(piece.overhang for piece in plan.segments.pieces)
    yield TICK, "plastic, dried", job.mould.plastic
    yield (
        TICK,
        "layer height, line width",
        f"{show(printer.layer.value, 'mm', 2)}, {show(printer.line.value, 'mm', 2)}",
    )
    yield TICK, "inside", _inside(plan)
    yield TICK, "scale", "100 % in all directions, millimetres"
    yield (
        TICK,
        "supports",
        f"none: steepest overhang {np.degrees(steepest):.0f}° from vertical, printer's limit "
        f"{np.degrees(printer.steepest.value):.0f}°",
    )
    yield TICK, "seam, compensation", SEAM


def _inside(plan: Plan) -> str:
    core = plan.job.mould.core
    if core.hollow is not None:
        return "100 % infill: the file itself is hollow"
    if core.walls is None or core.infill is None:
        return "100 % infill"
    return f"{core.walls} walls, {100.0 * core.infill.value:.0f} % infill"


def _rings(plan: Plan) -> Iterator[sheet.Block | None]:
    """Rings to print first: what to expect, blanks, where the readings go."""
    for ring in plan.job.printer.rings:
        yield sheet.say(
            f"Counted in already: a ring of {mm(ring.file.value)} in its file that read "
            f"{show_spread(*ring.reads)}."
        )
    if plan.job.printer.rings:
        yield sheet.say(
            "Print these only when plastic, roll, nozzle or printer changed since, or to know "
            "better."
        )
    yield sheet.say(
        "Printed like the mould: same plastic, layer, line, place on the bed. Let them cool on "
        "the bed, wait an hour, read the outside half way up, off the seam."
    )
    sizes = plan.fit.sizes
    rings = [aid for aid in plan.aids.items if aid.name.startswith(RING)]
    yield sheet.table(
        RINGS,
        (
            (TICK, aid.name, mm(aid.size), mm(aid.size * (1.0 - sizes.shrink_across)
             + sizes.offset), *[BLANK] * 5)
            for aid in rings
        ),
    )  # fmt: skip
    odds = plan.fit.forecast
    yield sheet.say(
        "Write the means into the job file, under [printer], and run mw build again before the "
        "mould is printed: file, size and digest change, this sheet is then void. Parts that fit "
        f"when laid up unread: {_hundred(odds.unread)} of 100 without a ring, "
        f"{_hundred(odds.ring)} with one."
    )
    for aid in rings:
        yield sheet.say(
            f'[[printer.ring]]      file = "{mm(aid.size)} mm"      '
            'reads = "____________ mm +- 0.02 mm"'
        )


def _aids(plan: Plan) -> Iterator[tuple[str, ...]]:
    """What else is printed for the bench, and what each is for."""
    for aid in plan.aids.items:
        if not aid.name.startswith(RING):
            yield TICK, aid.name, mm(aid.size), BLANK, aid.purpose


def _hundred(probability: float) -> int:
    return min(max(round(100.0 * probability), 1), 99)


def _pieces(plan: Plan) -> Iterator[tuple[str, ...]]:
    for piece in plan.segments.pieces:
        used = piece.filament
        yield (
            TICK,
            piece.name,
            mm(piece.printed_height, 1),
            show_spread(used.mass, used.mass_spread, "g", 0),
            show_spread(used.time, used.time_spread, "h", 0),
            BLANK,
            BLANK,
        )


def _total(plan: Plan) -> str:
    used = [piece.filament for piece in plan.segments.pieces]
    mass, length, time = (
        sum(getattr(each, key) for each in used) for key in ("mass", "length", "time")
    )
    return (
        f"Together {show(mass, 'g', 0)}, {show(length, 'm', 0)} of filament, "
        f"{show(time, 'h', 0)} on the printer."
    )


def _joining(plan: Plan) -> Iterator[sheet.Block | None]:
    """How the pieces join, one line per joint."""
    if not plan.segments.joints:
        return
    yield sheet.head("Join the pieces")
    yield sheet.say(
        "Try them dry: the dowels are spaced unequally, so a piece goes on one way only. Glue the "
        "faces with a thin film of slow epoxy, press together over the pull rod or under a weight, "
        "wipe the seam, let it set. Run a nail across each seam: any step that the part must pass "
        "on its way off locks it. Sand the high side flush."
    )
    yield sheet.table(
        JOINTS,
        (
            (TICK, joint.name, mm(joint.from_base, 0), str(len(joint.angles) or "none"), TICK,
             BLANK, TICK)
            for joint in plan.segments.joints
        ),
    )  # fmt: skip
