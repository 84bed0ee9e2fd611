"""Lines on flat patterns: arcs along parallels, edges along meridians, seams with their ticks."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mandrelwright.physics import cloth
from mandrelwright.stages.stretches import Stretch

Array = NDArray[np.float64]

ARC_POINTS = 241
TICK = 4e-3  # m
TICKS_APART = 50e-3  # m


@dataclass(frozen=True)
class Line:
    """A line on a pattern, (n, 2) in m, and what stands at its middle.

    kind: "cut", "centre", "seam", "tick", "turn", "trim", "lap", "warp" or "mark".
    """

    kind: str
    points: Array
    text: str = ""


def arc(stretch: Stretch, place: int, start: float, stop: float) -> Array:
    """The parallel through one place between two azimuths, (n, 2)."""
    azimuth = np.linspace(start, stop, ARC_POINTS)
    return cloth.unroll(stretch.arc[place], stretch.radius[place], stretch.sine[place], azimuth)


def edge(stretch: Stretch, azimuth: ArrayLike) -> Array:
    """The line at an azimuth, or at one for every place, (place, 2)."""
    return cloth.unroll(stretch.arc, stretch.radius, stretch.sine, azimuth)


def square_to(stretch: Stretch, x: float, span: tuple[float, float], kind: str, text: str) -> Line:
    """The parallel at x between two azimuths as a line."""
    s, r, a = stretch.at(x)
    return Line(kind, cloth.unroll(s, r, a, np.linspace(*span, ARC_POINTS)), text)


def seam_lines(stretch: Stretch, half: float, turns: int) -> Iterator[Line]:
    """Where the plain edge comes to lie, once a turn, and ticks that meet on both edges.

    Ticks stand every 50 mm from the baseward end, and lie along the parallels.
    """
    for turn in range(1, turns + 1):
        text = "the other edge lies here" if turn == turns else f"turn {turn} ends here"
        azimuth = -half + 2.0 * math.pi * turn if turns > 1 else half
        yield Line("seam" if turn == turns else "turn", edge(stretch, azimuth), text)
    steps = np.arange(TICKS_APART, stretch.arc[-1] - TICKS_APART / 5.0, TICKS_APART)
    for number, s in enumerate(stretch.arc[-1] - steps, 1):
        r = float(np.interp(s, stretch.arc, stretch.radius))
        a = float(np.interp(s, stretch.arc, stretch.sine))
        reach = TICK / r
        for azimuth in (-half, half):
            span = np.array([azimuth - (reach if azimuth > 0.0 else 0.0), azimuth + reach])
            yield Line("tick", cloth.unroll(s, r, a, span), str(number) if azimuth < 0.0 else "")
