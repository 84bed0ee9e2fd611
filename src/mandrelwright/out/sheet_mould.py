"""Build sheet, the mould: read it as printed, prepare it, read it again, wax it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import groupby
from typing import Any

import numpy as np

from mandrelwright.job.tooling import Fill, Sand, Smooth, Wax
from mandrelwright.out import sheet, sheet_surface
from mandrelwright.out.marks import target
from mandrelwright.out.sheet import BLANK, TICK, Columns, mm
from mandrelwright.physics.curves import Curve
from mandrelwright.plan import Plan
from mandrelwright.quantities import show
from mandrelwright.stages import aim
from mandrelwright.stages.mould import Mark

SAME = 0.5e-3  # m: places nearer than this are one line on the mould
REACH, STEP = 1.0e-3, 0.01e-3  # m: readings that the gate's table covers, and how finely
GATE: Columns = (
    ("mark", 12.0), ("what", "rest"), ("from base", 17.0), ("from face", 17.0), ("aim", 18.0),
    ("good", 29.0), ("0°", 18.0), ("60°", 18.0), ("120°", 18.0),
)  # fmt: skip
DO: Columns = (("", 9.0), ("mean at A", 40.0), ("do", "rest"))
PLACES: Columns = (
    ("place", "rest"), ("from base", 20.0), ("from face", 20.0), ("by tape", 18.0),
    ("mould ø", 18.0), ("in the print", 18.0),
)  # fmt: skip
PREPARE: Columns = (
    ("", 9.0), ("do", "rest"), ("A should then read", 27.0), ("reads", 24.0),
    ("from – to, initials", 40.0),
)  # fmt: skip
STANDING = ("push-off ring", "tip tie cap")  # aids that are on the mould when it is laid up
FILMS = {  # how a release film goes on; common practice, no source
    "wax and PVA film": "one even coat of PVA by spray or foam brush; let it dry, look for bare "
    "spots against the light",
    "release spray": "on a clean mould without wax, as the can says; let it flash off",
    "polyester film wrap": "one turn, edges butted (a lap is a step in the bore), taped down "
    "beyond the trim lines only, no wrinkle, no air",
    "release tape": "strips side by side, edges butted, no wrinkle; wipe off dust",
    "stretched release sleeve": "pulled on, stretched tight, tied beyond both trim lines",
}
STICK = (
    "Some are grooves in the print. For the others make a marking stick: a batten whose end "
    "stands on the face, beside the mould and parallel to its axis, with every “from face” marked "
    "on it. It tells the places when fibre and resin hide the mould. “By tape” is the way along "
    "the surface from the base trim line; ø is of the mould ready to wax."
)
HOW = (
    "Three readings round the mould at each mark, jaws square to the axis, off the seam. Of the "
    "three take the mean; more than 0.10 between them is an oval mould: sand the high sides."
)


def sections(plan: Plan) -> Iterator[dict[str, Any]]:
    """Marking stick, the gate as printed, preparation, the gate ready to wax, wax and film."""
    yield sheet.section(
        "Marking stick: places on the mould",
        sheet.say(STICK),
        sheet.table(PLACES, _places(plan), False),
        page="same",
    )
    yield sheet.section(
        "Gate: as printed",
        sheet.say("The pieces joined, the mould cold, nothing sanded but the seams."),
        *_gate(plan, "printed"),
        sheet.table(DO, _actions(plan, "printed"), False),
        sheet.say("With a computer at hand: mw gate JOB --stage printed --mark A=reading."),
    )
    yield sheet.section(
        "Prepare the mould",
        *sheet.cautions(plan, "surface"),
        *sheet_surface.blocks(plan),
        sheet.table(PREPARE, _preparation(plan)),
        *_drying(plan),
    )
    yield sheet.section(
        "Gate: ready to wax",
        sheet.say("The mould clean, dry and at shop temperature."),
        *_gate(plan, "ready"),
        sheet.table((*DO, ("of 100 then fit", 30.0)), _actions(plan, "ready"), False),
        sheet.say("With a computer at hand: mw gate JOB --mark A=reading."),
        sheet.head("Wax and release"),
        sheet.ticks(_grooves(plan), 1),
        sheet.ticks(_coats(plan), 3),
        sheet.ticks(_release(plan), 1),
        page="same",
    )


def _gate(plan: Plan, stage: str) -> Iterator[sheet.Block | None]:
    """How to read, the marks with blanks, and the head of what follows from the reading."""
    yield sheet.say(f"{HOW} {_warm(plan)}")
    yield sheet.table(GATE, _marks(plan, stage))
    yield sheet.blanks("mean at A", "mould °C", "date, initials")
    yield sheet.head("What the mean at A tells you to do")


def _warm(plan: Plan) -> str:
    """How to bring a reading to the reference temperature by hand."""
    chain, shop = plan.fit.chain, plan.job.shop
    per = float(chain.mean[chain.index("mould expansion")]) * plan.fit.outcome.best
    at = show(shop.measured_at.value, "degC", 0)
    return (
        f"For every degree the mould is warmer than {at} take {mm(per, 3)} off a reading at A "
        "(add it when colder)."
    )


def _printed(plan: Plan) -> Curve:
    """The mould as it should leave the printer, before any preparation."""
    sizes, file = plan.fit.sizes, plan.fit.file
    return Curve(
        sizes.base + (file.x - sizes.base) * (1.0 - sizes.shrink_up),
        file.r * (1.0 - sizes.shrink_across) + 0.5 * sizes.offset,
    )


def _size(curve: Curve, x: float) -> float:
    return 2.0 * float(np.interp(x, curve.x, curve.r))


def _planned(plan: Plan) -> float:
    """What all treatments together add to the leading fit's diameter, m."""
    return plan.fit.chain.lead.secant * plan.fit.sizes.treatments


def _lead_mark(plan: Plan) -> Mark:
    return plan.mould.marks[0]


def _marks(plan: Plan, stage: str) -> Iterator[tuple[str, ...]]:
    """One row per mark: aim, good readings at A, blanks."""
    out, printed = plan.fit.outcome, _printed(plan)
    shift = _planned(plan) if stage == "printed" else 0.0
    for mark in plan.mould.marks:
        aimed = _size(printed, mark.x) if stage == "printed" else target(plan, mark)
        good = "write down"
        if mark is _lead_mark(plan):
            least = mm(STEP * math.ceil((out.least - shift) / STEP))
            most = mm(STEP * math.floor(out.most / STEP))
            good = f"{least} or more" if stage == "printed" else f"{least} – {most}"
        yield (
            mark.name, mark.purpose, mm(mark.from_base, 1), sheet.from_face(plan, mark.x, 1),
            mm(aimed), good, BLANK, BLANK, BLANK,
        )  # fmt: skip


def _actions(plan: Plan, stage: str) -> Iterator[tuple[str, ...]]:
    """What to do at every reading of mark A, neighbours with the same answer in one row."""
    out, costs = plan.fit.outcome, aim.read_costs(plan.library)
    shift = _planned(plan) if stage == "printed" else 0.0
    middle, reach = round((out.best - shift) / STEP), round(REACH / STEP)
    ready = np.array([shift + STEP * n for n in range(middle - reach, middle + reach + 1)])
    options = aim.options(ready, out, costs)
    chosen = [options[int(number)] for number in aim.choose(ready, out, options)]
    told = [
        _action(option.action, int(option.amount[i]), plan, stage)
        for i, option in enumerate(chosen)
    ]
    odds = [_odds(plan, option, i) for i, option in enumerate(chosen)]
    for text, group in groupby(range(len(ready)), lambda i: told[i]):
        where = list(group)
        low, high = (mm(float(ready[i] - shift)) for i in (where[0], where[-1]))
        span = _span(low, high, where[0] == 0, where[-1] == len(ready) - 1)
        least, most = (round(100.0 * end([odds[i] for i in where])) for end in (min, max))
        share = (f"{least} – {most}" if most > least else f"{most}",)
        yield (TICK, span, text, *(share if stage == "ready" else ()))


def _odds(plan: Plan, option: aim.Option, at: int) -> float:
    """Share that fits after the action; a mould printed again is read and mended in its turn."""
    again = option.action == "reprint"
    return plan.fit.forecast.gated if again else float(option.probability[at])


def _span(low: str, high: str, first: bool, last: bool) -> str:
    if first:
        return f"up to {high}"
    return f"{low} and more" if last else f"{low} to {high}"


def _action(action: str, count: int, plan: Plan, stage: str) -> str:
    best = mm(plan.fit.outcome.best)
    wraps = "1 wrap" if count == 1 else f"{count} wraps"
    if action == "reprint":
        return (
            f"Print it again. Write the mean as printed into the job as a ring of "
            f"{mm(plan.fit.file_diameter)} in its file, and run mw build first."
        )
    if stage == "printed":
        if action == "film":
            return f"Prepare it as planned; it will then want {wraps} of 50 µm film."
        return f"Prepare it as planned; sanding ends when A reads {best}."
    if action == "sand":
        return f"Wet-sand A down to {best}, all round and along the whole fit; read again."
    if action == "film":
        return f"{wraps} of 50 µm polyester film over the whole fit, edges butted; read again."
    waxed = any(isinstance(stated, Wax) for stated in plan.job.surface)
    return "Wax it and lay up." if waxed else "Put the release on and lay up."


def _places(plan: Plan) -> Iterator[tuple[str, ...]]:
    """Trim lines, ends of fits, marks and inner ends of layers, from the base up."""
    ready = plan.fit.ready
    steps = np.hypot(np.diff(ready.x), np.diff(ready.r))
    arc = np.concatenate(([0.0], np.cumsum(steps)))
    base = float(np.interp(plan.shape.base, ready.x, arc))
    grooves = [plan.shape.base - groove.from_base for groove in plan.segments.grooves]
    for x, group in groupby(sorted(_spots(plan), key=lambda spot: -spot[0]), lambda spot: spot[0]):
        names = "; ".join(name for _, name in group)
        cut = "groove" if any(abs(x - place) < SAME for place in grooves) else BLANK
        tape = mm(base - float(np.interp(x, ready.x, arc)), 0)
        size = mm(_size(ready, x), 1)
        yield names, sheet.from_base(plan, x), sheet.from_face(plan, x), tape, size, cut


def _spots(plan: Plan) -> Iterator[tuple[float, str]]:
    """Places by x from the tip, to a tenth of a millimetre, and their names."""
    shape = plan.shape
    spots = [(shape.base, "base trim line"), (shape.tip, "tip trim line")]
    for fit in shape.fits:
        spots += [(fit.stop, f"{fit.name}, base end"), (fit.start, f"{fit.name}, tip end")]
    spots += [(mark.x, f"mark {mark.name}") for mark in plan.mould.marks]
    spots += [
        (end.x, f"layer {end.layer}, {end.side} end")
        for end in plan.mould.ends
        if end.kind != "through"
    ]
    for x, name in spots:
        yield round(x, 4), name


def _preparation(plan: Plan) -> Iterator[tuple[str, ...]]:
    """Every treatment before wax, with what mark A should read after it."""
    size = _size(_printed(plan), _lead_mark(plan).x)
    changes = iter(plan.surface.treatments)
    secant = plan.fit.chain.lead.secant
    yield TICK, "Wash off grease and dust, let it dry.", mm(size), BLANK, BLANK
    for stated in plan.job.surface:
        if isinstance(stated, Wax):
            continue
        size += secant * next(changes).diameter
        yield TICK, _treatment(stated), mm(size), BLANK, BLANK
    left = plan.fit.sizes.allowance
    if left > plan.job.shop.caliper.value:
        yield (
            TICK,
            f"Last sanding, once dry: the print was left {mm(left)} large on purpose. Wet-sand "
            f"until A reads {mm(size - left)}, all round and along the whole fit; read often.",
            mm(size - left), BLANK, BLANK,
        )  # fmt: skip


def _treatment(stated: Sand | Smooth | Fill) -> str:
    if isinstance(stated, Sand):
        off = stated.off.value
        return (
            f"Wet-sand the whole mould, {mm(off)} a side ({mm(2.0 * off)} on ø), long strokes "
            "along it, turning it; never round and round in one place."
        )
    if isinstance(stated, Smooth):
        return (
            f"Smooth with {stated.agent}, {show(stated.time.value, 'min', 0)}, outdoors. "
            "Touch nothing until it is hard."
        )
    adds = stated.adds.value
    return f"Coat with filler or primer, {mm(adds)} a side ({mm(2.0 * adds)} on ø); let it harden."


def _drying(plan: Plan) -> Iterator[sheet.Block]:
    """How long a smoothed mould dries, with blanks for its weight."""
    if not any(isinstance(stated, Smooth) for stated in plan.job.surface):
        return
    yield sheet.say("Dry the smoothed mould in moving air. No oven, no freezer, no closed car.")
    yield sheet.blanks("before smoothing g", "just after g", "after a day g",
                       "after two days g", "after three days g", "dry: date")  # fmt: skip


def _grooves(plan: Plan) -> Iterator[str]:
    """Marks cut into the print, which must not print into the part."""
    if grooves := plan.segments.grooves:
        yield (
            f"Grooves ({mm(grooves[0].depth)} deep) filled flush with coloured wax, wiped level: "
            "left open they print ridges into the bore, which hold the part"
        )


def _coats(plan: Plan) -> Iterator[str]:
    coats = sum(stated.coats for stated in plan.job.surface if isinstance(stated, Wax))
    for number in range(1, coats + 1):
        yield f"wax coat {number}, buffed"


def _release(plan: Plan) -> Iterator[str]:
    """The release film, and the holes that resin must not reach."""
    system, mould = plan.job.release.system, plan.job.mould
    if system not in ("wax", "none"):
        film = next((item for item in plan.surface.films if item.label == "release film"), None)
        counted = "" if film is None else f" Counted in: {mm(0.5 * film.diameter, 3)} a side"
        how = FILMS.get(system, "one even film")
        yield f"{system}, margins beyond the trim lines included: {how}.{counted}"
    for aid in plan.aids.items:
        if aid.name in STANDING:
            yield f"{aid.name}: {aid.purpose}"
    if mould.pull_rod:
        yield "Pull rod through the mould, nut and washer at both ends; its hole closed with tape"
    if mould.vent:
        yield "Vent taped over at both ends, so that no resin runs in"
    if mould.flange is not None and mould.flange.push_off_screws is not None:
        yield "Screws greased and turned in flush, so that no resin runs in"
