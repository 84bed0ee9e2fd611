"""The release drawn: temperatures over the steps, the gap to spare under them, the gap by place."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from mandrelwright.out.frame import LEFT, RIGHT, SIZE, WIDTH, frame_of, rulers
from mandrelwright.out.strip import Strip, inked_names, open_diagram
from mandrelwright.out.svg import (
    CAUTION,
    GOOD,
    INK,
    PLASTIC,
    SOFT,
    STOP,
    Drawing,
    text_width,
    tick_label,
    ticks,
)
from mandrelwright.plan import Plan
from mandrelwright.quantities import ICE_POINT
from mandrelwright.stages.release import Release

Array = NDArray[np.float64]

TALL, GAP = 118.0, 44.0
MOULD, PART = "#74471f", "#1d5560"
WITHOUT = "not drawn: no sound wall lies anywhere"


def draw_release(plan: Plan) -> str:
    """Three diagrams as one SVG text: temperature, gap over time, gap along the part."""
    drawing = Drawing(
        "release", WIDTH, f"Release of {plan.job.part.name}: temperatures, gap, moment to pull",
        "Above: mould and laminate through the steps. Middle: the gap to spare at the place that "
        "is last to come free. Below: the gap along the part, as it stands and when to pull.",
    )  # fmt: skip
    release = plan.release
    if release is None:
        drawing.text(LEFT, 24.0, WITHOUT, SIZE)
        return drawing.finish(40.0)
    foot = _temperatures(drawing, release, GAP)
    foot = _spare(drawing, release, foot + GAP)
    _times(drawing, release, foot)
    return drawing.finish(_along(drawing, plan, release, foot + 2.0 * GAP))


def _across(release: Release, times: Array | float) -> Array:
    """Units across of a moment (s)."""
    whole = float(release.moments.times[-1])
    return np.asarray(LEFT + (WIDTH - LEFT - RIGHT) * np.asarray(times) / whole)


def _moment(drawing: Drawing, release: Release, strip: Strip, label: str = "") -> None:
    """The moments that are as good as the best, and where the steps meet."""
    low, high = (float(_across(release, moment)) for moment in release.band)
    drawing.rect(low - 1.0, strip.top, high - low + 2.0, strip.height, GOOD, fill_opacity=0.22)
    ends = _across(release, np.cumsum([step.lasts for step in release.steps])[:-1]).tolist()
    if label:
        wide = text_width(label, SIZE, True) + 8.0
        fits = high + wide < WIDTH - RIGHT
        clear = min([low, *(at for at in ends if low - wide < at < low)])
        at = high + 5.0 if fits else clear - 5.0
        drawing.text(at, strip.foot - 6.0, label, SIZE, "start" if fits else "end", GOOD, bold=True)
    for at in ends:
        drawing.line(at, strip.top, at, strip.foot, SOFT, 0.8, dash="3 3")


def _step_names(drawing: Drawing, release: Release, y: float) -> None:
    """What each step is in, where there is room for the word."""
    ends = _across(release, np.cumsum([0.0, *(step.lasts for step in release.steps)])).tolist()
    for step, (low, high) in zip(release.steps, pairwise(ends), strict=True):
        name = "bench" if step.medium == "air" else step.medium
        if text_width(name, SIZE) + 8.0 < high - low:
            drawing.text(0.5 * (low + high), y, name, SIZE, "middle", SOFT)


def _temperatures(drawing: Drawing, release: Release, top: float) -> float:
    """Mould and laminate at the place last to come free, and what they must stay under."""
    place = int(np.argmin(np.abs(release.x - release.tightest)))
    moments = release.moments
    lines = [("mould", moments.walls[:, place], MOULD), ("laminate", moments.wall[:, place], PART)]
    celsius = [(name, T - ICE_POINT, ink) for name, T, ink in lines]
    glass = release.glass - ICE_POINT
    low = min(float(T.min()) for _, T, _ in celsius) - 4.0
    high = max(*(float(T.max()) for _, T, _ in celsius), glass) + 4.0
    strip = Strip(top, TALL, low, high)
    right = float(_across(release, moments.times[-1]))
    open_diagram(drawing, strip, "Temperature", "°C, mean over the section", right)
    _moment(drawing, release, strip)
    _step_names(drawing, release, strip.top + 22.0)
    names = [("glass, T_g", float(strip.at(glass)), STOP)]
    drawing.line(LEFT, names[0][1], right, names[0][1], STOP, 1.0, dash="6 3")
    for name, T, ink in celsius:
        drawing.curve(np.column_stack((_across(release, moments.times), strip.at(T))), stroke=ink,
                      stroke_width=1.5)  # fmt: skip
        names.append((name, float(strip.at(T[-1])), ink))
    inked_names(drawing, right, names)
    return strip.foot


def _spare(drawing: Drawing, release: Release, top: float) -> float:
    """The least gap to spare over time."""
    spare = (release.gap - release.asked).min(axis=1) * 1e6
    low, high = min(float(spare.min()), -5.0), max(float(spare.max()), 5.0)
    strip = Strip(top, TALL, low - 0.08 * (high - low), high + 0.12 * (high - low))
    right = float(_across(release, release.moments.times[-1]))
    open_diagram(
        drawing, strip, "Gap to spare where it is least", "µm, beyond the layer lines", right
    )
    zero = float(strip.at(0.0))
    drawing.rect(LEFT, zero, right - LEFT, strip.foot - zero, PLASTIC, fill_opacity=0.7)
    word = "pull" if release.resolved else "pull: the moment is not resolved"
    _moment(drawing, release, strip, word)
    drawing.line(LEFT, zero, right, zero, INK, 1.0)
    points = np.column_stack((_across(release, release.moments.times), strip.at(spare)))
    drawing.curve(points, stroke_width=1.6)
    inked_names(
        drawing, right, [("free", strip.top + 8.0, GOOD), ("held", strip.foot - 8.0, CAUTION)]
    )
    return strip.foot


def _times(drawing: Drawing, release: Release, y: float) -> None:
    """Hours or minutes under the diagrams."""
    whole = float(release.moments.times[-1])
    unit, name = (3600.0, "h") if whole > 2.0 * 3600.0 else (60.0, "min")
    values = ticks(0.0, whole / unit, 9)
    step = values[1] - values[0] if len(values) > 1 else 1.0
    for value in values:
        at = float(_across(release, value * unit))
        drawing.line(at, y, at, y + 4.0, INK, 0.8)
        drawing.text(at, y + 16.0, tick_label(value, step), SIZE, "middle")
    drawing.text(float(_across(release, whole)) + 16.0, y + 16.0, name, SIZE)


def _along(drawing: Drawing, plan: Plan, release: Release, top: float) -> float:
    """The gap along the part, before any step and at the moment to pull, and what lines ask."""
    frame = frame_of(plan)
    order = np.argsort(release.x)
    lines = [
        ("as it stands", release.gap[0] * 1e6, SOFT, ""),
        ("when to pull", release.gap[release.best] * 1e6, GOOD, ""),
        ("lines ask", release.asked * 1e6, CAUTION, "4 3"),
    ]
    low = min(float(value.min()) for _, value, _, _ in lines)
    high = max(float(value.max()) for _, value, _, _ in lines)
    room = 0.08 * max(high - low, 10.0)
    strip = Strip(top, TALL, low - room, high + room)
    right = float(frame.at(frame.stop))
    travel = release.travel * 1e3
    unit = f"µm, after {travel:.3g} mm of travel; below nil it grips"
    open_diagram(drawing, strip, "Gap along the part", unit, right)
    zero = float(strip.at(0.0))
    drawing.line(LEFT, zero, right, zero, INK, 1.0)
    across = frame.at(release.x[order])
    names = []
    for name, value, ink, dash in lines:
        y = strip.at(value[order])
        drawn: dict[str, str | float] = {"stroke": ink, "stroke_width": 1.5}
        drawing.curve(np.column_stack((across, y)), **drawn, **_dashed(dash))
        names.append((name, float(y[-1]), ink))
    inked_names(drawing, right, names)
    return rulers(drawing, frame, strip.foot + 14.0)


def _dashed(dash: str) -> dict[str, str | float]:
    return {"stroke_dasharray": dash} if dash else {}
