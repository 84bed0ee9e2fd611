"""Strips of the finished part in use: how warm the wall gets against its glass transition."""

from __future__ import annotations

import numpy as np

from mandrelwright.out.frame import LEFT, SIZE, Frame
from mandrelwright.out.strip import GAP, TALL, Strip, broken, open_strip, right_names
from mandrelwright.out.svg import CAUTION, INK, PAPER, SOFT, STOP, Drawing
from mandrelwright.plan import Plan
from mandrelwright.quantities import ICE_POINT
from mandrelwright.stages.flight import Flight
from mandrelwright.stages.strength import Strength

MOST = 1000.0  # load factors are cut off here
FACES = (("skin", CAUTION), ("mean", INK), ("inner", SOFT))


def draw_life(drawing: Drawing, plan: Plan, frame: Frame, top: float) -> float:
    """Every strip that the plan has something for; the height below the last."""
    if plan.flight is not None:
        top = _warmth(drawing, plan.flight, frame, top)
    if plan.strength is not None:
        top = _reserve(drawing, plan.strength, plan.whole is not None, frame, top)
    return top


def _reserve(drawing: Drawing, strength: Strength, shell: bool, frame: Frame, top: float) -> float:
    """Load factor of the first ply and of buckling along the part, the least of all cases."""
    lines = [("ply", strength.cracks, INK), ("buckling", strength.buckles, CAUTION)]
    logs = [(name, np.log10(np.clip(line, 0.1, MOST)), ink) for name, line, ink in lines]
    values = np.concatenate([line[np.isfinite(line)] for _, line, _ in logs])
    low = min(float(values.min(initial=0.0)), 0.0) - 0.1
    high = max(float(values.max(initial=1.0)), 1.0) + 0.1
    strip = Strip(top, TALL, low, high)
    title = "Load factor at first failure"
    level = "level where the whole shell buckles" if shell else "local formulas"
    told = f"times the load, least of all cases; {level}; below 1 it fails"
    scale = [(float(np.log10(times)), f"{times:g}") for times in _times(low, high)]
    open_strip(drawing, frame, title, told, strip, scale)
    across = frame.at(strength.x)
    for _, line, ink in logs:
        broken(drawing, across, strip.at(line), np.isfinite(line), ink)
    y = float(strip.at(0.0))
    drawing.line(LEFT, y, float(frame.at(frame.stop)), y, STOP, 1.0)
    ends = [(name, float(strip.at(line[np.isfinite(line)][-1]))) for name, line, _ in logs
            if np.isfinite(line).any()]  # fmt: skip
    right_names(drawing, float(across[-1]), sorted(ends, key=lambda end: end[1]))
    return strip.foot + GAP


def _times(low: float, high: float) -> list[float]:
    """Round factors between two powers of ten: every 1, 2 and 5, or on a tall scale every ten."""
    leads = (1.0, 2.0, 5.0) if high - low < 1.5 else (1.0,)
    every = [lead * 10.0**power for power in range(-1, 4) for lead in leads]
    return [times for times in every if low <= np.log10(times) <= high]


def _warmth(drawing: Drawing, flight: Flight, frame: Frame, top: float) -> float:
    """Skin, mean and inner face along the part when the mean is warmest, and T_g."""
    case = max(flight.cases, key=lambda one: one.warmest("mean"))
    lines = [(name, getattr(case, name) - ICE_POINT, ink) for name, ink in FACES]
    glass = flight.glass - ICE_POINT
    values = np.concatenate([line for _, line, _ in lines])
    low, high = min(float(values.min()), glass), max(float(values.max()), glass)
    room = max(0.12 * (high - low), 2.0)
    strip = Strip(top, TALL, low - room, high + room)
    open_strip(drawing, frame, "Warmest wall", f"°C, {case.name}", strip)
    across = frame.at(flight.x)
    for _, line, ink in lines:
        broken(drawing, across, strip.at(line), np.isfinite(line), ink)
    y = float(strip.at(glass))
    drawing.line(LEFT, y, float(frame.at(frame.stop)), y, STOP, 1.0)
    drawing.text(LEFT + 6.0, y + 13.0, f"glass transition {glass:.0f}", SIZE, fill=STOP,
                 backing=PAPER)  # fmt: skip
    ends = [(name, float(strip.at(line[-1]))) for name, line, _ in reversed(lines)]
    right_names(drawing, float(across[-1]), ends)
    return strip.foot + GAP
