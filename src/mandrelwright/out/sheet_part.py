"""Build sheet, the part off its mould: trim, its gate, the ladder, a log."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

import numpy as np

from mandrelwright.out import sheet
from mandrelwright.out.sheet import BLANK, TICK, Columns, mm
from mandrelwright.plan import Plan
from mandrelwright.quantities import show, show_spread
from mandrelwright.stages.fit import SLOPE, FitResult

TRIMS: Columns = (
    ("", 9.0), ("line", "rest"), ("from base", 24.0), ("from face", 24.0),
    ("mould ø", 24.0), ("scribed", 24.0), ("cut", 24.0),
)  # fmt: skip
FITS: Columns = (
    ("fit", "rest"), ("read its", 17.0), ("from base", 19.0), ("expected", 20.0),
    ("least – most", 31.0), ("0°", 17.0), ("60°", 17.0), ("120°", 17.0),
)  # fmt: skip
LOG: Columns = (
    ("reading", "rest"), ("0°", 20.0), ("60°", 20.0), ("120°", 20.0), ("mean", 20.0),
    ("°C", 15.0), ("date, initials", 30.0),
)  # fmt: skip
MENDED = {
    "bore": "below: hone it, or relieve the mate; above: shim or line it",
    "shoulder": "above: sand it; below: build it up or shim the mate",
    "flush": "above: sand it; below: fill it",
}
FAIRED = 5e-6  # m: a lower ridge is not felt


def sections(plan: Plan, finished: Iterable[dict[str, Any]]) -> Iterator[dict[str, Any]]:
    """Cure, release, trim and gate of the part; the finished part; the ladder; the log."""
    yield sheet.section("Trim", *_cut(plan), page="same")
    yield sheet.section("Gate: the part", *_gate(plan), page="same")
    yield from finished
    yield sheet.section("Ladder", sheet.picture("ladder.svg"), page="across")
    yield sheet.section("Log", *_log(plan))


def _cut(plan: Plan) -> Iterator[sheet.Block | None]:
    yield sheet.say(
        "Scribe both lines before the part leaves the mould; cut wet, a little long, sand to "
        "the line. Cut only what has fully cured."
    )
    yield sheet.table(TRIMS, _trims(plan))


def _gate(plan: Plan) -> Iterator[sheet.Block | None]:
    lead = plan.fit.lead
    yield sheet.say(
        f"At {show(plan.job.shop.measured_at.value, 'degC', 0)}, a day after release, in the "
        "middle of each fit, three readings round it. The limits let the mate as measured "
        "play within the job's window."
    )
    yield sheet.table(FITS, (_fit(plan, item) for item in plan.fit.results))
    yield sheet.table(
        (("fit", 40.0), ("mean outside these limits", "rest")),
        ((item.name, MENDED[item.kind]) for item in plan.fit.results),
        False,
    )
    yield sheet.blanks(
        f"trimmed part weighs (plan {_mass(plan)})",
        f"length between trims (plan {mm(plan.shape.base - plan.shape.tip, 1)})",
        f"wall at {lead.name} (plan {show_spread(lead.wall, lead.wall_spread)})",
    )
    yield sheet.say(
        "With a computer at hand: mw gate JOB --stage part --mark A=reading says what to do "
        "and with which odds."
    )
    yield sheet.head("Finish")
    yield sheet.ticks(_finish(plan), 1)


def _trims(plan: Plan) -> Iterator[tuple[str, ...]]:
    ready = plan.fit.ready
    for name, x in (("base trim line", plan.shape.base), ("tip trim line", plan.shape.tip)):
        size = mm(2.0 * float(np.interp(x, ready.x, ready.r)), 1)
        place = sheet.from_base(plan, x), sheet.from_face(plan, x)
        yield TICK, name, *place, size, TICK, TICK


def _fit(plan: Plan, fit: FitResult) -> tuple[str, ...]:
    """The part's own diameter at a fit: own = mate + (play + form)/slope at either limit."""
    chain = plan.fit.chain
    mean = chain.values(chain.mean[:, None])
    mate = float(mean[f"mate {fit.name}"][0])
    form = 0.0 if fit.kind == "flush" else float(mean[f"form {fit.name}"][0])
    low, high = sorted(mate + (limit + form) / SLOPE[fit.kind] for limit in fit.window)
    place = next(place for place in plan.shape.fits if place.name == fit.name)
    middle = 0.5 * (place.start + place.stop)
    return (
        fit.name,
        "bore" if fit.kind == "bore" else "outside",
        sheet.from_base(plan, middle),
        mm(fit.diameter),
        f"{mm(low)} – {mm(high)}",
        BLANK,
        BLANK,
        BLANK,
    )


def _finish(plan: Plan) -> Iterator[str]:
    """Ridges to fair, and what the job allows to flush fits."""
    ridges = [end for end in plan.mould.ends if end.ridge > FAIRED]
    if ridges:
        high, width = max(end.ridge for end in ridges), max(end.width for end in ridges)
        yield (
            f"Fair the {len(ridges)} layer ends outside: ridges up to {mm(high)} mm over "
            f"{mm(width, 0)} mm. Fill around them; do not sand into the fibre"
        )
    for place, result in zip(plan.shape.fits, plan.fit.results, strict=True):
        finish = getattr(place.fit, "finish", "none")
        if finish != "none":
            step = f"{mm(result.play)} ± {mm(result.spread)} mm a side"
            yield f"{result.name}: expected step {step}; {finish} it into its limits"
    yield "Wet-sand, or with extraction and a P100 respirator, only what has fully cured"


def _mass(plan: Plan) -> str:
    return show_spread(plan.layup.part_mass, plan.layup.part_mass_spread, "g", 0)


def _log(plan: Plan) -> Iterator[sheet.Block | None]:
    """Every reading once more on one page, for whoever types it in, and remarks."""
    yield sheet.say("One line for every reading, for the next mould. Keep this page with the part.")
    rows = ["ring at the fit", "ring at half"]
    rows += [
        f"mark {mark.name}, {mark.purpose}, {when}"
        for when in ("as printed", "ready to wax")
        for mark in plan.mould.marks
    ]
    rows += [f"part at {fit.name}" for fit in plan.fit.results]
    yield sheet.table(
        LOG,
        ((name, *[BLANK] * 6) for name in rows),
    )
    yield sheet.blanks(
        "all pieces dry g",
        "resin and hardener mixed g",
        "left over g",
        "untrimmed part g",
        "trimmed part g",
        "hours at the bench",
    )
    yield sheet.head("Remarks: what slipped, what was dry, what took longer, what to change")
    yield sheet.lines(8)
