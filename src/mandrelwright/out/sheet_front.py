"""First page of the build sheet: how to read it, what lies beside it, what must be at hand."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from fnmatch import fnmatchcase
from typing import Any

from mandrelwright.findings.finding import Level
from mandrelwright.job.tooling import Fill, Sand, Smooth, Wax
from mandrelwright.out import sheet
from mandrelwright.out.layup import length_of
from mandrelwright.out.sheet import TICK
from mandrelwright.plan import Plan
from mandrelwright.quantities import show, show_weighed
from mandrelwright.stages.segments import TAP_DRILLS

DEFER = (
    "Data sheets of resin, hardener, solvent, plastic and fibre, local codes, the launch site's "
    "officer and licensed practice come before anything printed here. This sheet certifies no "
    "part for flight."
)
FILES = (  # pattern, what it is for
    ("build-sheet.pdf", "this paper"),
    ("report.html", "all results, findings and where every number comes from"),
    ("report.json", "the same for programs"),
    ("section.svg", "section, as in this sheet"),
    ("section.pdf", "section with dimensions, to print"),
    ("section.dxf", "section with dimensions, for CAD"),
    ("strips.svg", "wall, angle and ridges along the part"),
    ("ladder.svg", "from the mate to the print file, as in this sheet"),
    ("cure.svg", "temperature and hardness over the hours of the cure"),
    ("release.svg", "the gap between part and mould while it is warmed and cooled"),
    ("flight.svg", "heat of the wall in flight and loads along the part"),
    ("patterns.pdf", "cutting patterns 1:1; print at 100 %, measure the check square"),
    ("mould.3mf", "the whole mould, one object for each piece: slice this"),
    ("mould.stl", "the same in one, uncut: to look at or to cut yourself"),
    ("mould.step", "the same uncut for CAD, exact: curve, flange, holes; no marks"),
    ("segments/*", "the same pieces, one STL each"),
    ("aids.3mf", "rings, gauges and jigs in one file"),
    ("aids/*", "the same, one STL each"),
)
PROTECT = (
    "Sanding plastic or cured laminate: wet, or under extraction with a P100 respirator (a "
    "paper mask is not enough); goggles, gloves.",
    "Wet resin: thick nitrile or laminated-film gloves, changed the moment they are wet; eye "
    "protection, long sleeves, fresh air, no face over the cup. Soap and water on skin, never "
    "solvent.",
    "Dry fibre and cut ends are needles: gloves; goggles when a part snaps free.",
)
VAPOUR = (
    "Solvent: outdoors or under a real extractor, gloves and goggles; no flame, spark, switch, "
    "motor, heater or phone near."
)
CARBON = (
    "Carbon dust conducts: keep it from motors, supplies and printers. Its splinters stay "
    "invisible."
)


def sections(plan: Plan, files: Sequence[str]) -> Iterator[dict[str, Any]]:
    """How to read the sheet, what to have at hand, the section drawing."""
    notes = sum(finding.level is Level.NOTE for finding in plan.findings)
    yield sheet.section(
        "Before you begin",
        sheet.say(
            "Work down the pages, tick each box when done, write each reading where it is taken. "
            f"Lengths are in mm; diameters hold at {_reference(plan)}. Tip and base are the "
            "two ends of the part; “from base” counts from the base trim line towards the tip, "
            "“from face” from the mould's base end"
            + (", the flange's upper face" if plan.job.mould.flange else "")
            + f", {sheet.from_face(plan, plan.shape.base)} mm below that line. ø is a diameter. "
            + (f"{notes} notes of the plan stand in report.html." if notes else "")
        ),
        sheet.say(DEFER),
        *sheet.cautions(plan, "job", "shape", "stack", "mould", "fit"),
        sheet.head("In this folder"),
        sheet.table([("file", 52.0), ("what it is for", "rest")], _files(files), False),
        sheet.head("Protect yourself"),
        sheet.ticks(_protect(plan), 1),
    )
    yield sheet.section(
        "Have at hand",
        sheet.head("Tools"),
        sheet.ticks(_tools(plan)),
        sheet.head("Used up"),
        sheet.table(
            [("", 9.0), ("what", "rest"), ("how much", 42.0), ("lot, use by, remark", 55.0)],
            ((TICK, what, much, sheet.BLANK) for what, much in _used(plan)),
        ),
        _money(plan),
        *sheet.cautions(plan, "supplies"),
    )
    yield sheet.section("Section", sheet.picture("section.svg"), page="across")


def _reference(plan: Plan) -> str:
    return show(plan.job.shop.measured_at.value, "degC", 0)


def _files(files: Sequence[str]) -> Iterator[tuple[str, str]]:
    """Files by kind, those of a folder together."""
    kinds = Counter(f"{name.partition('/')[0]}/*" if "/" in name else name for name in files)
    for kind, count in kinds.items():
        purpose = next((text for pattern, text in FILES if fnmatchcase(kind, pattern)), "")
        yield f"{kind} ({count})" if kind.endswith("/*") else kind, purpose


def _protect(plan: Plan) -> Iterator[str]:
    yield from PROTECT
    if any(isinstance(stated, Smooth) for stated in plan.job.surface):
        yield VAPOUR
    if any("carbon" in layer.textile.fibre.lower() for layer in plan.stack.layers):
        yield CARBON


def _tools(plan: Plan) -> Iterator[str]:
    """Tools this job asks for; the list is common practice, no source."""
    job = plan.job
    yield f"calipers that read to {show(job.shop.caliper.value, 'mm', 2)}, long enough for the base"
    yield "rule or tape measure, pencil, masking tape to label pieces"
    yield f"scale of {_scale(plan)} steps, up to {_heaviest(plan)}"
    yield "thermometer, hygrometer, clock that shows minutes"
    yield "scissors that have cut no resin, sharp knife; fine saw to trim, used wet"
    yield "two cradles in which the mould turns, better a slow drive"
    yield "batten or stiff strip to make a marking stick, square"
    if any(piece.tied for piece in plan.layup.pieces):
        yield "strong thread to tie ends (polyester, not elastic)"
    if job.mould.pull_rod:
        yield f"threaded rod for the pull-rod hole, ø {show(job.mould.pull_rod.value, 'mm', 1)}"
    flange = job.mould.flange
    if flange and flange.push_off_screws:
        drill = TAP_DRILLS[flange.thread] * 1e3
        yield (
            f"{flange.push_off_screws} screws {flange.thread} and its tap (holes are printed for "
            f"it; clear them with a {drill:.1f} mm drill)"
        )
    if any(isinstance(stated, Sand) for stated in job.surface):
        yield "wet paper P240, P400, P800, on a block that follows the mould"
    if any(isinstance(stated, Smooth) for stated in job.surface):
        yield "smoothing box with a loose lid, hook for the mould, wick"
    if plan.layup.cups:
        yield "flat tray to pour each cup into, squeegee or roller"
    if any(aid.name == "pin-drill jig" for aid in plan.aids.items):
        yield "hand drill and the bit that the drill jig names"
    if plan.release and any(step.medium == "freezer" for step in plan.release.steps):
        yield "freezer that takes the mould upright and holds no food"
    yield "bucket of sand or water outdoors for a cup that warms"


def _scale(plan: Plan) -> str:
    step = plan.job.shop.scale.value
    return show_weighed(step, step)


def _heaviest(plan: Plan) -> str:
    cups = [cup.mixed for cup in plan.layup.cups]
    return f"{max([0.2, *cups]) * 1e3 + 100.0:.0f} g"


def _used(plan: Plan) -> Iterator[tuple[str, str]]:
    """What is used up, with how much: filament, textiles, resin, wax, sheets."""
    layup, job = plan.layup, plan.job
    plastic = sum(piece.filament.mass for piece in plan.segments.pieces)
    length = sum(piece.filament.length for piece in plan.segments.pieces)
    yield f"{job.mould.plastic}, filament of 1.75 mm", f"{plastic * 1e3:.0f} g, {length:.0f} m"
    for supply in plan.supplies.items:
        yield supply.name, length_of(supply)
    yield from _resin(plan)
    if plan.segments.joints:
        yield "slow epoxy to join the pieces", "a thin film"
    if plan.segments.grooves:
        yield "coloured wax to fill grooves", "a pinch"
    yield "polyester film 50 µm, tape", "should the mould read small"
    yield from _coats(plan)
    if plan.job.assembly is not None:
        for stated in plan.job.assembly.finish:
            yield f"finish: {stated.do}", f"{show(stated.per_side.value, 'mm', 2)} a side"
    for item in layup.consumables:
        yield item.name, f"{item.amount:.2f} m²" if item.unit else f"{item.amount:.0f}"


def _resin(plan: Plan) -> Iterator[tuple[str, str]]:
    """Resin and hardener, or the mix where the hardener's share is not stated."""
    name, cups = plan.job.resin.name, plan.layup.cups
    if plan.job.resin.hardener is None or not cups:
        yield f"{name}: resin and hardener together", sheet.amount(plan.layup.mixed, "g")
        return
    yield f"{name}: resin", show(sum(cup.resin for cup in cups), "g", 0)
    yield f"{name}: hardener", show(sum(cup.hardener for cup in cups), "g", 0)


def _coats(plan: Plan) -> Iterator[tuple[str, str]]:
    for stated in plan.job.surface:
        if isinstance(stated, Smooth):
            yield stated.agent, "as little as wets the wick"
        if isinstance(stated, Fill):
            yield "filler or primer", f"for {show(stated.adds.value, 'mm', 2)} a side"
        if isinstance(stated, Wax):
            yield "mould wax, soft cloths", f"{stated.coats} coats"
    system = plan.job.release.system
    if system not in ("wax", "none"):
        yield f"release: {system}", "over the whole mould"


def _money(plan: Plan) -> sheet.Block | None:
    """What textiles and resin cost, where each has a price."""
    cost = plan.supplies.cost
    if math.isnan(cost):
        return None
    return sheet.say(f"Textiles and resin cost {cost:.2f} in the job's currency.")
