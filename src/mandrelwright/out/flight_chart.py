"""The flight drawn: wall temperatures over time, air and angle under them, loads along the part."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mandrelwright.out.frame import LEFT, RIGHT, SIZE, WIDTH, frame_of, rulers
from mandrelwright.out.strip import Strip, inked_names, open_diagram
from mandrelwright.out.svg import (
    CAUTION,
    GOOD,
    INK,
    PAPER,
    SOFT,
    STOP,
    Drawing,
    text_width,
    tick_label,
    ticks,
)
from mandrelwright.plan import Plan
from mandrelwright.quantities import ICE_POINT
from mandrelwright.stages.course import Course
from mandrelwright.stages.flight import Flight
from mandrelwright.stages.wall_heat import Warmth

Array = NDArray[np.float64]
Lines = list[tuple[str, Array, str]]

TALL, GAP = 118.0, 44.0
SKIN, MEAN, INNER = "#a05a16", "#1d5560", "#6b5b95"
ALONG = {"peak-axial": SOFT, "peak-angle": STOP, "ejection": CAUTION, "landing": "#74471f"}
SHOWN_AFTER = 3.0  # times the moment of the hottest wall, s


def draw_flight(plan: Plan) -> str:
    """Temperatures, dynamic pressure and forces as one SVG text."""
    drawing = Drawing(
        "flight", WIDTH, f"Flight of {plan.job.part.name}: heat over time, loads along the part",
        "Above: skin, mean and inner face where the laminate gets warmest, with the glass "
        "transition and the moments of the peaks. Middle: dynamic pressure. Below: axial force "
        "and bending moment along the part for the cases that load it.",
    )  # fmt: skip
    flight = plan.flight
    if flight is None:
        drawing.text(LEFT, 24.0, "not drawn: the job states no flight", SIZE)
        return drawing.finish(40.0)
    foot = 0.0
    if flight.course is not None and flight.warmth is not None:
        until = _until(flight.course, flight.warmth)
        foot = _temperatures(drawing, flight, flight.warmth, until, GAP)
        foot = _pressure(drawing, flight, flight.course, until, foot + GAP)
        foot = _seconds(drawing, until, foot) + 0.5 * GAP
    foot = _along(drawing, plan, flight, "axial", "Axial force", "N, tension positive", foot + GAP)
    foot = _along(drawing, plan, flight, "moment", "Bending moment", "N·m", foot + GAP)
    return drawing.finish(rulers(drawing, frame_of(plan), foot + 14.0))


def _until(course: Course, warmth: Warmth) -> float:
    """The stretch of the flight that is drawn (s): to thrice the hottest moment, or all."""
    hottest = warmth.times[int(np.argmax(warmth.mean.max(axis=1)))]
    fastest = course.times[int(np.argmax(course.pressure))]
    return float(min(max(SHOWN_AFTER * max(hottest, fastest), 3.0), warmth.times[-1]))


def _across(until: float, times: Array | float) -> Array:
    """Units across of a moment (s)."""
    return np.asarray(LEFT + (WIDTH - LEFT - RIGHT) * np.asarray(times) / until)


def _draw(drawing: Drawing, strip: Strip, across: Array, right: float, lines: Lines) -> None:
    """Lines with their names beside their right ends, moved apart where they would touch."""
    for _, values, ink in lines:
        points = np.column_stack((across, strip.at(values)))
        drawing.curve(points, stroke=ink, stroke_width=1.5)
    inked_names(drawing, right, [(n, float(strip.at(v[-1])), ink) for n, v, ink in lines])


def _temperatures(
    drawing: Drawing, flight: Flight, warmth: Warmth, until: float, top: float
) -> float:
    """Skin, mean and inner face at the place whose mean gets warmest."""
    place = int(np.argmax(warmth.mean.max(axis=0)))
    shown = warmth.times <= until + 1e-9
    lines: Lines = [
        ("skin", warmth.skin[shown, place] - ICE_POINT, SKIN),
        ("mean", warmth.mean[shown, place] - ICE_POINT, MEAN),
        ("inner face", warmth.inner[shown, place] - ICE_POINT, INNER),
    ]
    glass = flight.glass - ICE_POINT
    low = min(float(values.min()) for _, values, _ in lines) - 5.0
    high = max(*(float(values.max()) for _, values, _ in lines), glass) + 8.0
    strip, right = Strip(top, TALL, low, high), float(_across(until, until))
    says = f"°C, where its mean gets warmest; red dashes: glass transition, {glass:.0f} °C"
    open_diagram(drawing, strip, "Wall", says, right)
    _moments(drawing, flight, strip, until)
    y = float(strip.at(glass))
    drawing.line(LEFT, y, right, y, STOP, 1.0, dash="6 3")
    _draw(drawing, strip, _across(until, warmth.times[shown]), right, lines)
    return strip.foot


def _moments(drawing: Drawing, flight: Flight, strip: Strip, until: float) -> None:
    """When the peaks of the flight are."""
    for case in flight.cases:
        if case.time is not None and case.dynamic_pressure > 0.0 and case.time <= until:
            at = float(_across(until, case.time))
            drawing.line(at, strip.top, at, strip.foot, SOFT, 0.8, dash="3 3")


def _pressure(drawing: Drawing, flight: Flight, course: Course, until: float, top: float) -> float:
    """Dynamic pressure, and the peaks by name."""
    shown = course.times <= until + 1e-9
    q = course.pressure[shown] * 1e-3
    strip = Strip(top, TALL, 0.0, 1.5 * max(float(q.max()), 1.0))
    right = float(_across(until, until))
    open_diagram(
        drawing, strip, "Dynamic pressure", "kPa; dashed: the peaks, each at its time", right
    )
    _moments(drawing, flight, strip, until)
    _draw(drawing, strip, _across(until, course.times[shown]), right, [("q", q, INK)])
    names: dict[float, list[str]] = {}
    for case in flight.cases:
        if case.time is not None and case.dynamic_pressure > 0.0 and case.time <= until:
            names.setdefault(round(case.time, 1), []).append(case.name.removeprefix("peak "))
    for row, (time, told) in enumerate(sorted(names.items())):
        at, text = float(_across(until, time)), ", ".join(told)
        room = right - at - 6.0
        anchor = "start" if text_width(text, SIZE) <= room else "end"
        x, y = (at + 5.0 if anchor == "start" else at - 5.0), strip.top + 12.0 + 14.0 * row
        drawing.text(x, y, text, SIZE, anchor, GOOD, backing=PAPER)
    return strip.foot


def _seconds(drawing: Drawing, until: float, y: float) -> float:
    """Seconds under the diagrams."""
    values = ticks(0.0, until, 9)
    step = values[1] - values[0] if len(values) > 1 else 1.0
    for value in values:
        at = float(_across(until, value))
        drawing.line(at, y, at, y + 4.0, INK, 0.8)
        drawing.text(at, y + 16.0, tick_label(value, step), SIZE, "middle")
    drawing.text(float(_across(until, until)) + 16.0, y + 16.0, "s", SIZE)
    return y + 16.0


def _along(
    drawing: Drawing, plan: Plan, flight: Flight, field: str, title: str, unit: str, top: float
) -> float:
    """One kind of force along the part, for the cases that differ."""
    frame = frame_of(plan)
    lines: Lines = [
        (case.name.removeprefix("peak "), getattr(case, field), ALONG[case.id])
        for case in flight.cases
        if case.id in ALONG and np.abs(getattr(case, field)).max() > 1e-3
    ]
    low = min([0.0, *(float(values.min()) for _, values, _ in lines)])
    high = max([0.0, *(float(values.max()) for _, values, _ in lines)])
    room = 0.08 * max(high - low, 1.0)
    strip, right = Strip(top, TALL, low - room, high + room), float(frame.at(frame.stop))
    open_diagram(drawing, strip, title, unit, right)
    zero = float(strip.at(0.0))
    drawing.line(LEFT, zero, right, zero, INK, 0.8)
    if lines:
        _draw(drawing, strip, np.asarray(frame.at(flight.x)), right, lines)
    return strip.foot
