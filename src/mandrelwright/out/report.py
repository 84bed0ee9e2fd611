"""The report: one HTML file that needs nothing else, from the same plan as the drawings."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import NamedTuple

import jinja2
import numpy as np
from markupsafe import Markup

from mandrelwright import __version__
from mandrelwright.findings.finding import Finding, Level
from mandrelwright.job.sources import cite
from mandrelwright.out import cure, cure_chart, finished, flown, treatment
from mandrelwright.out import layup as bench
from mandrelwright.out import release as off
from mandrelwright.out.flight_chart import draw_flight
from mandrelwright.out.ladder import CERTAIN, draw_ladder
from mandrelwright.out.marks import target
from mandrelwright.out.release_chart import draw_release
from mandrelwright.out.section import draw_section
from mandrelwright.out.strips import draw_strips
from mandrelwright.physics import tolerance
from mandrelwright.plan import Plan
from mandrelwright.quantities import show, show_spread
from mandrelwright.stages.fit import FitResult
from mandrelwright.stages.segments import Segment
from mandrelwright.stages.size_change import SizeChange
from mandrelwright.stages.stack_checks import reach

TEMPLATE = Path(__file__).with_name("report.html")
GRAVE = (
    (Level.STOP, "Stops: nothing is made until these are dealt with"),
    (Level.CAUTION, "Cautions"),
)
CUT = (
    "Lengths are measured at the sleeve's own label angle, with what it takes to hold and to tie. "
    "Laid: on the whole mould, trim margins included."
)
CUPS = (
    "Weigh the resin, then the hardener into it. What stays in cup and brush is counted in. No "
    "cup may wait: what is left when its time is up is spread thin outdoors."
)
STEPS = "Minutes from the first hand on the mould; most are guesses until you have timed yourself."
PIECES = (
    "In the order they stand on each other, as printed. Plastic, filament of 1.75 mm and time are "
    "estimates before any slicer was asked."
)
JOINTS = (
    "Cut square to the axis, clear of the fits; unequally spaced dowels let a piece on one way."
)
AIDS = "Sizes once printed; the file is larger by the printer's shrink."
NOTHING = "–"
SHOWN = {"mm": 1e-3, "%": 1e-2, "ppm/K": 1e-6, "deg": np.pi / 180.0}  # SI of what inputs come in


class Row(NamedTuple):
    """Cells of one table row; ``weak`` marks a number not known at first hand."""

    cells: tuple[str, ...]
    weak: bool = False


def write_report(plan: Plan) -> str:
    """The report as HTML text; the same plan gives the same bytes."""
    return _template().render(
        plan=plan,
        level=plan.verdict.level,
        facts=list(_facts(plan)),
        grave=[(level.value, title, _findings(plan, level)) for level, title in GRAVE],
        notes=_findings(plan, Level.NOTE),
        drawings={
            "section": Markup(draw_section(plan)),
            "strips": Markup(draw_strips(plan)),
            "ladder": Markup(draw_ladder(plan)),
            "cure": Markup(cure_chart.draw_cure(plan)),
            "release": Markup(draw_release(plan)),
            "flight": Markup(draw_flight(plan)) if plan.flight else "",
        },
        marks=list(_marks(plan)),
        sleeves=list(_sleeves(plan)),
        heading="What stands in the way" if plan.stops else "What needs care",
        fits=list(_fits(plan)),
        closures=list(_closures(plan)),
        changes=list(_changes(plan)),
        printed=list(_printed(plan)),
        layup=list(_layup(plan)),
        taken=list(bench.facts(plan.layup, plan.supplies)),
        release=[Row(line) for line in off.steps(plan.release)] if plan.release else [],
        release_heads=off.STEP_HEADS,
        pulled=list(off.facts(plan.release)) if plan.release else [],
        roughness=_roughness(plan),
        treated=list(_treated(plan)),
        ready=treatment.ready(plan),
        dryness=list(treatment.dryness(plan)),
        cure=(cure.PLACE_HEADS, [Row(cells) for cells in cure.places(plan.cure)]),
        soaks=(cure.SOAK_HEADS, [Row(cells) for cells in cure.soaks(plan.cure)]),
        cured=list(cure.facts(plan.cure)),
        finished=[(*told, [Row(line) for line in lines]) for *told, lines in finished.tables(plan)],
        balanced=list(finished.facts(plan)),
        flown=[(*told, [Row(line) for line in lines]) for *told, lines in flown.tables(plan)],
        warmed=list(flown.facts(plan.flight, plan.strength)) if plan.flight else [],
        judgement=finished.JUDGEMENT,
        inputs=list(_inputs(plan)),
        version=__version__,
    )


@cache
def _template() -> jinja2.Template:
    environment = jinja2.Environment(
        autoescape=True, undefined=jinja2.StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    return environment.from_string(TEMPLATE.read_text(encoding="utf-8"))


def _facts(plan: Plan) -> Iterator[tuple[str, str, str]]:
    """The few numbers told first: name, value, remark."""
    fit, out = plan.fit, plan.fit.outcome
    mark = next((m for m in plan.mould.marks if m.purpose == fit.lead.name), None)
    at = f"mark {mark.name}, {_mm(mark.from_base, 0)} from the base" if mark else fit.lead.name
    yield "Mould ready to wax", _mm(out.best), at
    window = f"{out.least * 1e3:.2f} to {out.most * 1e3:.2f}"
    yield (
        "Good enough to lay up",
        window,
        f"mm, read at {show(plan.job.shop.measured_at.value, 'degC', 0)}",
    )
    yield "In the print file", _mm(fit.file_diameter), "same place"
    yield "Comes off the mould", plan.verdict.comes_off, _off(plan)
    whole = plan.assembly
    mass = show_spread(whole.mass, whole.mass_spread, "g", 0)
    yield "Finished part", mass, f"balances {finished.balance(whole)} from the base"


def _off(plan: Plan) -> str:
    """What stands behind the word."""
    if not plan.mould.comes_off:
        return "its shape interlocks"
    if plan.release is None:
        return "no sound wall to judge"
    return f"free in {100.0 * plan.release.odds:.0f} of 100 by the steps under Release"


def _findings(plan: Plan, level: Level) -> list[tuple[Finding, str]]:
    """Findings of one level, each with the reason for which it was accepted, if it was."""
    reasons = {item.finding: item.reason for item in plan.job.accepted}
    return [
        (f, reasons.get(f.id, "") if f not in plan.stops else "")
        for f in plan.findings
        if f.level is level
    ]


def _marks(plan: Plan) -> Iterator[Row]:
    """Every caliper mark with the diameter to aim at, and the readings that are good enough."""
    out = plan.fit.outcome
    for mark in plan.mould.marks:
        leads = mark.purpose == plan.fit.lead.name
        window = f"{out.least * 1e3:.2f} to {_mm(out.most)}" if leads else NOTHING
        yield Row((mark.name, _mm(mark.from_base, 1), mark.purpose, _mm(target(plan, mark)),
                   window, f"{2.0 * abs(mark.slope):.3f} mm"))  # fmt: skip


def _sleeves(plan: Plan) -> Iterator[Row]:
    """Where each layer ends, which end is tied, how far it may slip and grows."""
    ends = plan.mould.ends
    for number, limits in enumerate(reach(plan.shape, plan.stack)):
        pair = ends[2 * number : 2 * number + 2]
        tied = next((end.side for end in pair if not end.free), NOTHING)
        free = next((end for end in pair if end.free), pair[0])
        places = [_end(plan, end.x, end.kind) for end in pair]
        yield Row((
            limits.layer.label, *places, _stretch(plan, limits.start, limits.stop), f"{tied}ward",
            _mm(free.slip, 0), _mm(free.growth, 1),
        ))  # fmt: skip


def _printed(plan: Plan) -> Iterator[tuple[str, str, tuple[str, ...], list[Row]]]:
    """Tables of what is printed: name, text, heads, rows."""
    made = plan.segments
    heads = "piece", "tall", "steepest face", "plastic", "filament", "time"
    yield "Pieces of the mould", PIECES, heads, [Row(_piece(piece)) for piece in made.pieces]
    joints = [
        Row((joint.name, _mm(joint.from_base, 1), str(len(joint.angles)))) for joint in made.joints
    ]
    if joints:
        yield "Joints", JOINTS, ("joint", "from the base", "dowels"), joints
    aids = [Row((aid.name, _mm(aid.size), aid.purpose)) for aid in plan.aids.items]
    yield "Bench aids", AIDS, ("aid", "size", "what it is for"), aids


def _piece(piece: Segment) -> tuple[str, ...]:
    used = piece.filament
    return (
        piece.name,
        _mm(piece.printed_height, 1),
        f"{np.degrees(piece.overhang):.0f}° from vertical",
        show_spread(used.mass, used.mass_spread, "g", 0),
        show(used.length, "m", 0),
        show_spread(used.time, used.time_spread, "h", 0),
    )


def _layup(plan: Plan) -> Iterator[tuple[str, str, tuple[str, ...], list[Row]]]:
    """Tables of the lay-up plan: name, text, heads, rows."""
    made, scale = plan.layup, plan.job.shop.scale.value
    for name, text, heads, lines in (
        ("Cut list", CUT, bench.CUT_HEADS, bench.rows(made, scale)),
        ("Cups", CUPS, bench.CUP_HEADS, bench.cups(made, scale)),
        ("Steps", STEPS, bench.STEP_HEADS, bench.steps(made, scale)),
    ):
        if cells := list(lines):
            yield name, text, heads, [Row(line) for line in cells]


def _treated(plan: Plan) -> Iterator[tuple[str, str, tuple[str, ...], list[Row]]]:
    """Tables of the treatment plan: name, text, heads, rows."""
    for name, text, heads, lines in treatment.tables(plan):
        yield name, text, heads, [Row(line) for line in lines]


def _end(plan: Plan, x: float, kind: str) -> str:
    """A layer's end as distance from the base and drawn diameter."""
    if kind == "through":
        return "past the trim"
    diameter = 2.0 * plan.stack.scale * plan.shape.radius(x)
    return f"{(plan.shape.base - x) * 1e3:.0f} mm, ø {diameter * 1e3:.1f}, {kind}"


def _stretch(plan: Plan, start: float, stop: float) -> str:
    """Where a layer may lie, as distances from the base."""
    if not np.isfinite(start + stop):
        return "nowhere"
    shape = plan.shape
    low = "the end" if stop >= shape.base else _mm(shape.base - stop, 0)
    high = "the tip" if start <= shape.tip else _mm(shape.base - start, 0)
    return f"{high} to {low}"


def _fits(plan: Plan) -> Iterator[Row]:
    """Every fit as predicted over a mould that reads right."""
    for fit in plan.fit.results:
        least, most = fit.window
        mate = plan.fit.chain.index(f"mate {fit.name}")
        yield Row((
            fit.name + (" (leads)" if fit.leads else ""), fit.kind,
            show_spread(plan.fit.chain.inputs[mate].mean, _doubt(plan, mate)),
            f"{least * 1e3:.2f} to {most * 1e3:.2f} mm".replace("-", "−"), _grade(fit),
            _minus(show_spread(fit.play, fit.spread)),
            f"{100.0 * fit.probability:.0f} %", f"{100.0 * fit.mendable:.0f} %",
            show_spread(fit.wall, fit.wall_spread),
        ))  # fmt: skip


def _grade(fit: FitResult) -> str:
    """The standard tolerance grade that is as wide as the fit's window on diameter."""
    width = (fit.window[1] - fit.window[0]) * (2.0 if fit.kind == "flush" else 1.0)
    try:
        grade = tolerance.grade_of(fit.diameter, width)
    except ValueError:
        return NOTHING
    return "finer than IT5" if grade is None else f"IT{grade}"


def _closures(plan: Plan) -> Iterator[Row]:
    """Where a bore and a flush fit share a place: the wall there is, the wall they ask for."""
    for one, flush in zip(plan.shape.fits, plan.fit.results, strict=True):
        for other, bore in zip(plan.shape.fits, plan.fit.results, strict=True):
            meet = one.start < other.stop and other.start < one.stop
            if flush.kind == "flush" and bore.kind == "bore" and meet:
                step = flush.play - one.wanted
                asked = _mm(flush.wall - step)
                left = _minus(show_spread(step, flush.spread))
                yield Row((f"{bore.name} and {flush.name}", _mm(flush.wall), asked, left))


def _changes(plan: Plan) -> Iterator[Row]:
    """What every treatment and film does to the diameter."""
    for change in (*plan.surface.treatments, *plan.surface.films):
        yield _change(change)


def _change(change: SizeChange) -> Row:
    by = _minus(f"{change.diameter * 1e3:+.3f} mm")
    cells = (change.label, by, _mm(change.spread, 3), change.basis, cite(change.source))
    return Row(cells, _weak(change.basis))


def _roughness(plan: Plan) -> str:
    """Range of Ra along the mould as printed."""
    low, high = (show(float(f(plan.surface.roughness)), "um", 0) for f in (np.min, np.max))
    return low if low == high else f"{low} to {high}"


def _inputs(plan: Plan) -> Iterator[Row]:
    """Every uncertain input of the chain as it stands after the rings."""
    chain = plan.fit.chain
    for number, item in enumerate(chain.inputs):
        mean, doubt = float(chain.mean[number]), _doubt(plan, number)
        digits = _decimals(doubt / SHOWN.get(item.unit, 1.0))
        value = _minus(show_spread(mean, doubt, item.unit, digits))
        yield Row((item.name, value, item.basis, _cited(item.source)), _weak(item.basis))


def _decimals(spread: float) -> int:
    """Decimals that show two digits of a spread, three at most."""
    return int(np.clip(1 - np.floor(np.log10(max(spread, 1e-9))), 0, 3))


def _doubt(plan: Plan, number: int) -> float:
    """Standard uncertainty of an input after the rings."""
    return float(np.sqrt(plan.fit.chain.covariance[number, number]))


def _cited(source: str) -> str:
    """A source in words, "job; spread: key" included."""
    return "; spread: ".join(cite(part) for part in source.split("; spread: "))


def _weak(basis: str) -> bool:
    return basis not in CERTAIN


def _mm(value: float, digits: int = 2) -> str:
    return _minus(show(value, "mm", digits))


def _minus(text: str) -> str:
    """Numbers with a minus sign rather than a hyphen."""
    return text.replace("-", "−")
