"""What the page tells first, as plain data in the builder's units: mm or inches."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any, Literal

import numpy as np

from mandrelwright.bench.steps import step_of, verdicts
from mandrelwright.draft import Draft
from mandrelwright.findings.finding import Finding
from mandrelwright.out.finished import heard
from mandrelwright.out.flown import factor_told
from mandrelwright.out.frame import LEFT, WIDTH, frame_of
from mandrelwright.plan import Plan
from mandrelwright.quantities import show_spread
from mandrelwright.stages.stack_checks import reach

Units = Literal["mm", "in"]
DAY = 86400.0
INCH = 25.4  # mm
SAMPLES = 240  # of the curves that the cursor reads


@dataclass(frozen=True)
class Fact:
    """A number told first: name, value, remark, and the result's name for ``why``, or ""."""

    name: str
    value: str
    remark: str
    why: str


def length(value: float, units: Units, digits: int = 2) -> str:
    """A length (m) in the builder's units, with so many decimals of a millimetre."""
    if units == "in":
        return f"{value * 1e3 / INCH:.{digits + 1}f} in".replace("-", "−")
    return f"{value * 1e3:.{digits}f} mm".replace("-", "−")


def facts_of(plan: Plan, units: Units) -> list[dict[str, str]]:
    """The few numbers told first."""
    return [asdict(fact) for fact in _facts(plan, units)]


def _facts(plan: Plan, units: Units) -> Iterator[Fact]:
    fit, out, base = plan.fit, plan.fit.outcome, 0
    mark = next((m for m in plan.mould.marks if m.purpose == fit.lead.name), plan.mould.marks[base])
    window = f"{length(out.least, units)} to {length(out.most, units)} will do"
    at = f"mark {mark.name}, {length(mark.from_base, units, 0)} from the base; {window}"
    yield Fact("Mould, ready to wax, must read", length(out.best, units), at, "fit.outcome.best")
    at = "the same place, as the printer is told it"
    yield Fact("In the print file", length(fit.file_diameter, units), at, "fit.file_diameter")
    yield Fact("Comes off the mould", *_off(plan))
    made = plan.assembly
    mass = show_spread(made.mass, made.mass_spread, "g", 0)
    balance = length(made.balance, units, 0)
    yield Fact("Finished part", mass, f"balances {balance} from the base", "assembly.mass")
    if worst := plan.strength and plan.strength.worst:
        place = length(abs(plan.shape.base - worst.least.x), units, 0)
        how = f"{worst.name}: {worst.least.how}, {place} from the base, by {worst.least.by}"
        yield Fact("Least reserve factor", f"{worst.reserve:.1f}", how, "strength.failures")
    yield Fact("Time", *_time(plan))


def _off(plan: Plan) -> tuple[str, str, str]:
    if not plan.mould.comes_off:
        return "no", "its shape interlocks", "mould.comes_off"
    if plan.release is None:
        return "not known", "no sound wall to judge", ""
    odds = f"free in {100.0 * plan.release.odds:.0f} of 100 by the steps under Release"
    return plan.verdict.comes_off, odds, "release.odds"


def _time(plan: Plan) -> tuple[str, str, str]:
    """Hands, then the days on which they are needed and the hours the printer runs."""
    printing = sum(piece.filament.time for piece in plan.segments.pieces)
    ready, pulled = plan.surface.ready, plan.layup.takes + plan.cure.release_after
    begins = [step.begins for step in plan.surface.steps]
    moments = [*begins, ready, ready + pulled]
    days = {math.floor(moment / DAY) for moment in moments if math.isfinite(moment)}
    value = f"{len(days)} evenings"
    laying = plan.layup.takes / 60.0
    remark = f"{printing / 3600.0:.0f} h of printing; {laying:.0f} min of laying up"
    if math.isfinite(plan.cure.release_after):
        remark += f"; pulled after {plan.cure.release_after / 3600.0:.0f} h"
    return value, remark, "cure.release_after"


def used_of(plan: Plan, units: Units) -> list[dict[str, str]]:
    """Of the part in use: what fails first in every case, and what each antenna loses."""
    return [asdict(fact) for fact in (*_failing(plan, units), *_heard(plan))]


def _failing(plan: Plan, units: Units) -> Iterator[Fact]:
    told: dict[tuple[float, float], list[str]] = {}
    failures = plan.strength.failures if plan.strength is not None else ()
    for one in failures:
        told.setdefault((one.factor, one.x), []).append(one.name)
    for one in failures:
        names = told.pop((one.factor, one.x), None)  # peaks at one moment are told once
        if names is None:
            continue
        spread = one.buckles_spread if one.buckling else one.spread
        times = f"{factor_told(one.factor, spread)} times"
        place = length(abs(plan.shape.base - one.x), units, 0)
        remark = f"{one.how}, {place} from the base, by {one.by}"
        yield Fact(", ".join(names), times, remark, f"strength.failures.{one.name}")


def _heard(plan: Plan) -> Iterator[Fact]:
    for name, frequency, loss, *_ in heard(plan.radio) if plan.radio is not None else ():
        lost = f"at {frequency}, in the wall straight through"
        yield Fact(f"antenna {name}", loss, lost, f"radio.antennas.{name}")


def ends_of(plan: Plan, units: Units) -> list[dict[str, str]]:
    """Where every layer lies and how steeply, from the mould outwards."""
    rows = []
    shape, stack = plan.shape, plan.stack
    for number, limits in enumerate(reach(shape, stack)):
        there = stack.share[number] > 0.5
        if not there.any():
            continue
        x, theta = plan.mould.curve.x[there], np.degrees(stack.angle[number][there])
        ends = (max(shape.base - x[-1], 0.0), min(shape.base - x[0], shape.base - shape.tip))
        low, high = (length(end, units, 0) for end in ends)
        starts = length(limits.start_diameter, units, 0)
        angle = f"{theta.min():.0f}° to {theta.max():.0f}°"
        lies = f"{low.split()[0]} to {high} from the base"
        row = {"layer": limits.layer.label, "lies": lies, "angle": angle}
        rows.append({**row, "starts": f"ø {starts}"})
    return rows


def marks_of(plan: Plan, units: Units) -> list[dict[str, str]]:
    """Marks of the mould to read, and where each lies; what to expect there is not told."""
    return [
        {"name": mark.name,
         "lies": f"{mark.purpose}, {length(mark.from_base, units, 0)} from the base"}
        for mark in plan.mould.marks
    ]  # fmt: skip


def findings_of(plan: Plan) -> list[dict[str, Any]]:
    """Every finding, with its step and whether it stands."""
    reasons = {item.finding: item.reason for item in plan.job.accepted}
    stops = plan.stops
    return [_told(finding, finding in stops, reasons) for finding in plan.findings]


def _told(finding: Finding, stands: bool, reasons: dict[str, str]) -> dict[str, Any]:
    place = None if finding.place is None else [float(x) for x in finding.place]
    accepted = "" if stands else reasons.get(finding.id, "")
    return {"id": finding.id, "level": finding.level.value, "what": finding.what,
            "why": finding.why, "do": list(finding.do), "place": place,
            "step": step_of(finding), "accepted": accepted}  # fmt: skip


def steps_of(plan: Draft) -> dict[str, list[int]]:
    """Stops that stand, cautions and notes by step."""
    return verdicts(plan.findings, plan.stops)


def axis_of(plan: Draft) -> dict[str, Any]:
    """What a cursor needs: the drawings' axial scale, and curves to read along it.

    Curves hold one value per place of ``x`` (m from the tip of the full profile); null where
    there is nothing. Radii and thicknesses in m, angles in degrees.
    """
    frame, stack = frame_of(plan), plan.stack
    x = np.linspace(plan.shape.tip, plan.shape.base, SAMPLES)
    mould = stack.mould
    layers = []
    for number, layer in enumerate(stack.layers):
        there = np.interp(x, mould.x, stack.share[number]) > 0.5
        thick = np.interp(x, mould.x, stack.thickness[number])
        angle = np.degrees(np.interp(x, mould.x, stack.angle[number]))
        layers.append({"label": layer.label, "thick": _kept(thick, there, 7),
                       "angle": _kept(angle, there, 1)})  # fmt: skip
    gap: list[float | None] = []
    if isinstance(plan, Plan) and plan.release is not None:
        order = np.argsort(plan.release.x)
        best = plan.release.gap[plan.release.best]
        gap = _kept(np.interp(x, plan.release.x[order], best[order]), np.isfinite(x), 8)
    return {
        "left": LEFT / WIDTH, "scale": frame.scale / WIDTH, "low": frame.low,
        "tip": frame.tip, "base": frame.base,
        "x": [round(float(value), 6) for value in x],
        "mould": _kept(np.interp(x, mould.x, mould.r), np.isfinite(x), 7),
        "wall": _kept(np.interp(x, mould.x, stack.wall), np.isfinite(x), 7),
        "layers": layers, "gap": gap,
    }  # fmt: skip


def _kept(values: Any, there: Any, digits: int) -> list[float | None]:
    return [
        round(float(v), digits) if ok and math.isfinite(v) else None
        for v, ok in zip(values, there, strict=True)
    ]
