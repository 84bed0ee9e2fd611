"""The flight and the joints in words and rows."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from mandrelwright.out.finished import NOTHING, Lines, Table
from mandrelwright.plan import Plan
from mandrelwright.quantities import show, show_spread
from mandrelwright.stages.edge import Edged
from mandrelwright.stages.flight import Case, Flight
from mandrelwright.stages.joints import Bonded, Joints, Pinned, Vented
from mandrelwright.stages.strength import Failure, Strength
from mandrelwright.stages.whole import AsShell

LOADS = (
    "Cases in the order in which such parts fail, each peak of the flight at its own time. Axial "
    "force at the base (tension positive), the largest bending moment; the part is a slender rigid "
    "body and the air steady."
)
LOAD_HEADS = ("case", "when", "Mach", "dynamic pressure", "axial force", "bending moment")
WARMTH = (
    "Warmest place of each at the time of each load. Skin: where paint and resin soften first; "
    "mean: what carries the load; inner face and bond line: what holds the coupler. Each against "
    "the glass transition."
)
WARM_HEADS = ("case", "skin", "mean", "inner face", "bond line", "mean below glass transition by")
STRENGTH = (
    "By how much each load may grow until the wall first fails, where and how: the first ply by "
    "maximum stress, Tsai-Wu and Hashin, warm as it is then and with what cure left in it, or "
    "buckling. Each is the lesser of what membrane and beam forces with SP-8007 and SP-8019 tell "
    "and what the part tells as one shell (below). Reserve factor: the lesser, each less one "
    "standard uncertainty by strength, fibre fraction, angle, cure and heat."
)
STRENGTH_HEADS = (
    "case", "a ply fails at", "it buckles at", "first", "from the base", "reserve", "set by",
)  # fmt: skip
WHOLE = (
    "The part as laid, from its tip to its base, as one shell of revolution. A ply fails: with the "
    "wall bent at its ends, ramps and corners, on either side of every ply; the base is clamped "
    "and the tip plugged round and square, each where a coupler inside ends. It buckles: both "
    "ends kept round and free to warp, the worst meridian of bending taken all the way round; of "
    "the perfect shell, and times the share that real ones bear where it moves most (SP-8007, "
    "SP-8019)."
)
WHOLE_HEADS = (
    "case", "a ply fails at", "how", "from the base", "perfect, buckles at", "with its share",
    "waves round", "from the base",
)  # fmt: skip
JOINED = (
    "What the joints bear and what is asked of them, as far as the job states them. Strength of "
    "glue and holes made by hand is an estimate: try the joint on the ground."
)
JOINED_HEADS = ("joint", "bears", "is asked", "reserve", "remark")


def tables(plan: Plan) -> Iterator[Table]:
    """Tables of flight and joints: name, text, heads, rows."""
    if plan.flight is not None:
        yield "Loads", LOADS, LOAD_HEADS, [_load(case) for case in plan.flight.cases]
        yield "Heat", WARMTH, WARM_HEADS, [_warm(plan.flight, case) for case in plan.flight.cases]
    if plan.strength is not None:
        failed = [_failed(plan, one) for one in plan.strength.failures]
        yield "First failure", STRENGTH, STRENGTH_HEADS, failed
    if plan.whole is not None:
        yield "As one shell", WHOLE, WHOLE_HEADS, [_as_shell(plan, one) for one in plan.whole.cases]
    if rows := list(joined(plan.joints)):
        yield "Joints", JOINED, JOINED_HEADS, rows


def facts(flight: Flight, strength: Strength | None) -> Iterator[tuple[str, str]]:
    """The wall against its glass transition, before and in flight; what cure left in its plies."""
    yield "Glass transition", show_spread(flight.glass, flight.glass_spread, "degC", 0)
    yield (
        "Wall in the sun, facing it",
        f"{_warmth(flight.sun)} ± {flight.sun_spread:.0f} ({flight.colour})",
    )
    yield "Wall as the flight begins", _warmth(flight.start)
    worst = max(flight.cases, key=lambda case: case.warmest("mean"))
    yield (
        "Least of glass transition less mean",
        f"{_minus(show(flight.margin, 'K', 0))}, {worst.name}",
    )
    if strength is not None and math.isfinite(strength.left):
        yield (
            "Stress across the fibres that cure and cooling left",
            f"{_minus(show(strength.left, 'MPa', 0))}, {100.0 * strength.left_share:.0f} % of what "
            "a ply bears so",
        )


def _load(case: Case) -> tuple[str, ...]:
    moment = float(np.abs(case.moment).max())
    flies = case.dynamic_pressure > 0.0
    return (
        case.name,
        NOTHING if case.time is None else show(case.time, "s", 1),
        f"{case.mach:.2f}" if flies else NOTHING,
        show(case.dynamic_pressure, "kPa", 1) if flies else NOTHING,
        _minus(f"{round(float(case.axial[-1])) + 0:d} N"),
        f"{moment:.1f} N·m",
    )


def _warm(flight: Flight, case: Case) -> tuple[str, ...]:
    skin, mean, inner, bond = (case.warmest(name) for name in ("skin", "mean", "inner", "bond"))
    doubt = flight.mean_spread(case)
    told = _warmth(mean) + (f" ± {doubt:.0f}" if doubt >= 0.5 else "")
    below = _minus(f"{flight.glass - mean:.0f} K")
    return case.name, _warmth(skin), told, _warmth(inner), _warmth(bond), below


def _failed(plan: Plan, one: Failure) -> tuple[str, ...]:
    cracks, buckles = (
        factor_told(one.cracks, one.spread),
        factor_told(one.buckles, one.buckles_spread),
    )
    return (
        one.name, cracks, buckles, one.how, _from_base(plan, one.x), _ratio(one.reserve),
        one.least.by,
    )  # fmt: skip


def _as_shell(plan: Plan, one: AsShell) -> tuple[str, ...]:
    cracks, how = factor_told(one.cracks, one.spread), f"{one.mode} in {one.layer}, {one.face} side"
    told = one.name, cracks, how, _from_base(plan, one.cracks_x)
    if not math.isfinite(one.perfect):
        return *told, NOTHING, NOTHING, NOTHING, NOTHING
    share = factor_told(one.buckles, one.buckles_spread)
    place = _from_base(plan, one.buckles_x)
    return *told, _ratio(one.perfect), share, str(one.waves), place


def factor_told(factor: float, spread: float) -> str:
    """A load factor with its spread; a hundredth more where the wall fails."""
    digits = 2 if factor < 0.995 else 1
    return f"{factor:.{digits}f} ± {spread:.{digits}f}" if factor < 99.95 else "over 100"


def _from_base(plan: Plan, x: float) -> str:
    return f"{abs(plan.shape.base - x) * 1e3:.0f} mm"


def joined(joints: Joints) -> Iterator[tuple[str, ...]]:
    """One line for the bond, each way the pins can go, and the vent."""
    if joints.bond is not None:
        yield _bonded(joints.bond)
    if joints.pins is not None:
        yield from _pinned(joints.pins)
    if joints.vent is not None:
        yield _vented(joints.vent)
    if joints.edge is not None:
        yield _edged(joints.edge)


def _bonded(bond: Bonded) -> tuple[str, ...]:
    strength = show_spread(bond.strength, bond.strength_spread, "MPa", 0)
    where = f"{show(bond.length, 'mm', 0)} of {bond.adhesive}, {show(bond.gap, 'mm', 2)} thick"
    if not bond.case:
        return f"bond at {bond.fit}", strength, "no flight stated", NOTHING, where
    asked = f"{show(bond.stress, 'MPa', 2)} at its end, {bond.case}"
    warm = f"; {_warmth(bond.temperature)}, keeps {100.0 * bond.kept:.0f} %"
    return f"bond at {bond.fit}", strength, asked, _ratio(bond.reserve), where + warm


def _pinned(pins: Pinned) -> Lines:
    name, hold = f"pins at {pins.fit}", _newtons(pins.hold, pins.hold_spread)
    air = f"{pins.trapped:.0f} N of it trapped air" if pins.asked > 0.5 else "nothing pulls"
    low, high = pins.hold - pins.hold_spread, pins.hold + pins.hold_spread
    known = math.isfinite(pins.asked)
    return [
        (
            f"{name} hold",
            hold,
            f"{pins.asked:.0f} N in flight" if known else "no flight stated",
            _ratio(low / pins.asked) if known and pins.asked > 0.0 else NOTHING,
            air if known else NOTHING,
        ),
        (
            f"{name} let go",
            hold,
            f"{pins.ejection:.0f} N of ejection" if pins.ejection > 0.0 else "no flight stated",
            _ratio(pins.ejection / high) if pins.ejection > 0.0 else NOTHING,
            "ejection over what they hold",
        ),
        (
            f"holes at {pins.fit}",
            _newtons(pins.crush, pins.crush_spread),
            f"{high:.0f} N as pins shear",
            _ratio((pins.crush - pins.crush_spread) / high),
            f"crushed; torn out at {_newtons(pins.tear, pins.tear_spread)}",
        ),
    ]


def _vented(vent: Vented) -> tuple[str, ...]:
    hole = f"{1e6 * vent.area:.1f} mm² open" if vent.area > 0.0 else "no hole"
    if not math.isfinite(vent.lag):
        return "vent", hole, "no flight stated", NOTHING, NOTHING
    lag = f"lags {show(vent.lag, 'kPa', 2)}"
    return "vent", hole, lag, NOTHING, f"{show(vent.wanted, 'mm', 1)} hole keeps it below 0.5 kPa"


def _edged(edge: Edged) -> tuple[str, ...]:
    bears = f"{min(edge.cut, edge.tear):.0f} N"
    asked = _newtons(edge.force, edge.force_spread) if edge.force_spread else f"{edge.force:.0f} N"
    factor = f"{_ratio(max(edge.reserve, 0.0))}"
    remark = f"cord {show(edge.width, 'mm', 0)}: {edge.factor:.1f} ± {edge.factor_spread:.1f} times"
    return "open edge, base", bears, asked, factor, remark


def _newtons(value: float, spread: float) -> str:
    return f"{value:.0f} N ± {spread:.0f}"


def _ratio(value: float) -> str:
    return f"{value:.{2 if value < 0.995 else 1}f}" if value < 99.95 else "over 100"


def _warmth(value: float) -> str:
    return _minus(show(value, "degC", 0)) if math.isfinite(value) else NOTHING


def _minus(text: str) -> str:
    return text.replace("-", "−")
