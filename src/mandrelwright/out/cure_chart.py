"""State against time: how warm mould and wall get, and how far the resin has come."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.out.frame import SIZE, WIDTH
from mandrelwright.out.svg import (
    CAUTION,
    GOOD,
    HAIR,
    INK,
    SOFT,
    STOP,
    Drawing,
    fitted,
    tick_label,
    ticks,
)
from mandrelwright.plan import Plan
from mandrelwright.quantities import ICE_POINT
from mandrelwright.stages.states import States

Array = NDArray[np.float64]

LEFT, RIGHT = 54.0, 690.0  # of the time axis
TOP, FOOT = 84.0, 330.0
HOUR = 3600.0
WALL_INK, MOULD_INK = "#1d5560", "#74471f"  # as in the release
TOGETHER = 0.08  # share of the axis within which places are said to set at once
GAP = 15.0  # least between two labels at the right
NOTE = "bands span the places along the part; past the schedule the part is left on its mould"


@dataclass(frozen=True)
class _Axes:
    """Hours and degrees Celsius to units."""

    hours: float
    low: float
    high: float

    def x(self, seconds: Array | float) -> Array:
        """Units across."""
        return np.asarray(LEFT + (RIGHT - LEFT) * np.asarray(seconds) / (self.hours * HOUR))

    def y(self, kelvin: Array | float) -> Array:
        """Units down."""
        share = (np.asarray(kelvin) - ICE_POINT - self.low) / (self.high - self.low)
        return np.asarray(FOOT + (TOP - FOOT) * share)


def draw_cure(plan: Plan) -> str:
    """Temperatures of wall and mould and the glass transition over the schedule, as SVG text."""
    drawing = Drawing(
        "cure", WIDTH, f"Cure of {plan.job.part.name}",
        "Temperature of wall and mould and the glass transition of the resin over time, with gel, "
        "the moment it sets, and the first hour at which it may be pulled.",
    )  # fmt: skip
    parts = _parts(plan)
    axes = _axes(plan, parts)
    title = f"Cure: {fitted(plan.job.part.name, 13.0, 300.0)}"
    drawing.text(14.0, 22.0, title, 13.0, bold=True)
    drawing.text(14.0, 38.0, NOTE, SIZE, fill=SOFT)
    _scales(drawing, axes)
    labels: list[tuple[float, str, str]] = []
    softens = plan.library.plastics[plan.job.mould.plastic]["deflection_low"].value
    if axes.low < softens - ICE_POINT < axes.high:
        y = float(axes.y(softens))
        drawing.line(LEFT, y, RIGHT, y, STOP, 1.0, "6 3")
        labels.append((y, f"{fitted(plan.job.mould.plastic, SIZE, 90.0)} gives way", STOP))
    for values, ink, dash, name in (
        ("glass", GOOD, "", "glass transition"),
        ("mould", MOULD_INK, "5 3", "mould"),
        ("wall", WALL_INK, "", "wall"),
    ):
        for begin, states in parts:
            _band(drawing, axes, begin, states, values, ink, dash)
        last = parts[-1][1]
        labels.append((float(axes.y(np.mean(_shown(last, values)[-1]))), name, ink))
    _label(drawing, labels)
    _events(drawing, axes, plan)
    return drawing.finish(FOOT + 46.0)


def _parts(plan: Plan) -> list[tuple[float, States]]:
    """On the mould, then off it: when each begins (s) and its states."""
    on, off = plan.cure.states, plan.cure.off_mould
    if off is None:
        return [(0.0, _until(on, max(on.ends, _watched(plan))))]
    return [(0.0, _until(on, on.ends)), (on.ends, off)]


def _watched(plan: Plan) -> float:
    """Until it may be pulled, if that is not long after the schedule."""
    ready, ends = plan.cure.release_after, plan.cure.states.ends
    return 1.05 * ready if ready < 3.0 * ends else ends


def _until(states: States, end: float) -> States:
    return states.first(int(np.count_nonzero(states.times <= end * (1.0 + 1e-9))))


def _shown(states: States, name: str) -> Array:
    values: Array = getattr(states, name)
    return values


def _axes(plan: Plan, parts: list[tuple[float, States]]) -> _Axes:
    """Axes that hold every curve from the first hour."""
    begin, last = parts[-1]
    warm = np.concatenate([np.ravel([s.wall, s.mould, s.glass]) for _, s in parts])
    room = min(float(np.min([s.wall.min() for _, s in parts])), plan.job.shop.temperature.value)
    low = 5.0 * np.floor((room - ICE_POINT) / 5.0) - 10.0
    high = 5.0 * np.ceil((float(warm.max()) - ICE_POINT) / 5.0) + 5.0
    return _Axes((begin + float(last.times[-1])) / HOUR, low, high)


def _scales(drawing: Drawing, axes: _Axes) -> None:
    values = ticks(axes.low, axes.high, 8)
    for value in values:
        y = float(axes.y(value + ICE_POINT))
        drawing.line(LEFT, y, RIGHT, y, HAIR, 0.6)
        label = tick_label(value, values[1] - values[0])
        drawing.text(LEFT - 6.0, y + 4.0, label, SIZE, "end", SOFT)
    hours = ticks(0.0, axes.hours, 9)
    for hour in hours:
        x = float(axes.x(hour * HOUR))
        drawing.line(x, FOOT, x, FOOT + 4.0, SOFT, 0.8)
        label = tick_label(hour, hours[1] - hours[0] if len(hours) > 1 else 1.0)
        drawing.text(x, FOOT + 17.0, label, SIZE, "middle", SOFT)
    drawing.line(LEFT, FOOT, RIGHT, FOOT, SOFT, 0.8)
    drawing.text(RIGHT + 14.0, FOOT + 17.0, "h", SIZE, fill=SOFT)
    drawing.text(LEFT - 6.0, TOP - 12.0, "°C", SIZE, "end", SOFT)


def _band(
    drawing: Drawing, axes: _Axes, begin: float, states: States, name: str, ink: str, dash: str
) -> None:
    """Least and most along the part, and the mean as a line."""
    values = np.clip(_shown(states, name), axes.low + ICE_POINT, None)
    x = axes.x(begin + states.times)
    low, high = (np.column_stack((x, axes.y(edge(values, axis=1)))) for edge in (np.min, np.max))
    drawing.band(low, high, ink, fill_opacity=0.22)
    middle = np.column_stack((x, axes.y(values.mean(axis=1))))
    dashes: dict[str, str | float] = {"stroke_dasharray": dash} if dash else {}
    drawing.curve(middle, stroke=ink, stroke_width=1.8, **dashes)


def _label(drawing: Drawing, labels: list[tuple[float, str, str]]) -> None:
    """Names at the right end, moved apart downwards."""
    below = -1e9
    for y, name, ink in sorted(labels):
        below = max(y + 4.0, below + GAP)
        drawing.text(RIGHT + 14.0, below, name, SIZE, fill=ink)


def _events(drawing: Drawing, axes: _Axes, plan: Plan) -> None:
    """Gel as a stretch from the first place to the last, set at each place, the hour to pull."""
    cure = plan.cure
    sets = [place.sets for place in cure.places]
    row = TOP - 30.0
    apart = max(sets) - min(sets) > TOGETHER * axes.hours * HOUR
    for name, low, high, ink in (
        ("gels", cure.gel_first, cure.gel_last, INK),
        ("sets", min(sets), max(sets), CAUTION),
        ("may be pulled", cure.release_after, cure.release_after, GOOD),
    ):
        if not high <= axes.hours * HOUR:
            continue
        left, right = float(axes.x(low)), float(axes.x(high))
        if name == "sets" and apart:
            for at in sets:
                drawing.rect(float(axes.x(at)), TOP, 1.5, FOOT - TOP, ink, fill_opacity=0.35)
        else:
            drawing.rect(left, TOP, max(right - left, 1.0), FOOT - TOP, ink, fill_opacity=0.35)
        anchor = "end" if left > RIGHT - 90.0 else "start"
        drawing.text(left, row, name, SIZE, anchor, ink)
        drawing.line(left, row + 3.0, left, TOP, ink, 0.8)
        row += 11.0
