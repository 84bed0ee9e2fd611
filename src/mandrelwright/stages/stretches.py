"""Where a cloth layer lies, stretch by stretch: straight ones unroll, curved ones take gores."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from mandrelwright.physics.curves import Curve, spline_derivative
from mandrelwright.stages.shape import Shape

Array = NDArray[np.float64]

STRAIGHT = 0.2e-3  # m: a meridian that stays this close to a line is cut as a cone or cylinder
SHORTEST = 30e-3  # m: a shorter straight stretch goes with the curved one beside it
STATIONS = 161


@dataclass(frozen=True)
class Stretch:
    """One piece's length of the surface that cloth lies on; axes (place,), SI, x from the tip.

    turning: d(sin β)/ds, 0 on a straight stretch. own: places outside rounded corners and laps.
    joint: x where the next stretch begins, over which this one laps; NaN for the last.
    """

    name: str
    x: Array
    arc: Array
    radius: Array
    sine: Array
    turning: Array
    own: NDArray[np.bool_]
    joint: float

    @property
    def curved(self) -> bool:
        """Whether it curves both ways."""
        return bool(np.any(self.turning))

    def at(self, x: float) -> tuple[float, float, float]:
        """Arc length, radius and sin β at x."""
        arc, radius, sine = (
            float(np.interp(x, self.x, each)) for each in (self.arc, self.radius, self.sine)
        )
        return arc, radius, sine

    def reaches(self, x: float) -> bool:
        """Whether x lies inside it, away from its ends."""
        return bool(self.x[0] + 1e-4 < x < self.x[-1] - 1e-4)


@dataclass(frozen=True)
class _Span:
    """A stretch of the drawn surface between two x; core: without its rounded corners."""

    name: str
    start: float
    stop: float
    core: tuple[float, float]
    straight: bool


def find_stretches(
    shape: Shape, scale: float, middle: Curve, start: float, stop: float, lap: float
) -> list[Stretch]:
    """Stretches from ``start`` to ``stop`` of the surface with this middle, tip to base.

    ``scale`` multiplies the drawn radii. A rounded corner goes half to either side, the margin
    beyond the base to what is before it. Each stretch but the last is
    longer by ``lap``, for the next to lie upon.
    """
    start, stop = max(start, shape.start), min(stop, shape.stop)
    spans = _joined(shape, _spans(shape, start, stop))
    last = len(spans) - 1
    return [
        _stretch(shape, scale, middle, span, 0.0 if number == last else min(lap, stop - span.stop))
        for number, span in enumerate(spans)
    ]


def _spans(shape: Shape, start: float, stop: float) -> list[_Span]:
    """Pieces of the drawn surface inside (start, stop), corners halved."""
    spans: list[_Span] = []
    begin = shape.start
    for piece, after in zip(shape.pieces, [*shape.pieces[1:], None], strict=True):
        if piece.name.startswith("corner before "):
            continue
        end = piece.stop
        if after is not None and after.name.startswith("corner before "):
            end = 0.5 * (after.start + after.stop)
        low, high = max(begin, start), min(end, stop)
        if piece.name == "base margin" and spans:
            spans[-1] = replace(spans[-1], stop=high) if high > low else spans[-1]
        elif high > low:
            core = max(piece.start, start), min(piece.stop, stop)
            spans.append(_Span(piece.name, low, high, core, _is_straight(shape, *core)))
        begin = end
    return spans


def _is_straight(shape: Shape, start: float, stop: float) -> bool:
    """Whether the drawn meridian stays within STRAIGHT of its chord."""
    x = np.linspace(start, stop, STATIONS)
    r = shape.profile(x)[0]
    chord = r[0] + (r[-1] - r[0]) * (x - x[0]) / (x[-1] - x[0])
    return bool(np.abs(r - chord).max() <= STRAIGHT)


def _joined(shape: Shape, spans: Sequence[_Span]) -> list[_Span]:
    """Neighbours that are one straight line, or curved, or too short to stand alone, as one."""
    out: list[_Span] = []
    for span in spans:
        if out and _belong_together(shape, out[-1], span):
            before = out.pop()
            core = before.core[0], span.core[1]
            straight = before.straight and span.straight
            longer = max(before, span, key=lambda each: each.stop - each.start)
            span = _Span(longer.name, before.start, span.stop, core, straight)
        out.append(span)
    return out


def _belong_together(shape: Shape, one: _Span, two: _Span) -> bool:
    if one.straight and two.straight:
        return _is_straight(shape, one.core[0], two.core[1])
    if not (one.straight or two.straight):
        return True
    straight = one if one.straight else two
    return straight.stop - straight.start < SHORTEST


def _stretch(shape: Shape, scale: float, middle: Curve, span: _Span, lap: float) -> Stretch:
    """The middle surface over one span, as a straight line or as it runs."""
    turn = np.linspace(0.0, np.pi, STATIONS)
    x = span.start + (span.stop + lap - span.start) * 0.5 * (1.0 - np.cos(turn))
    drawn, slope = (scale * each for each in shape.profile(x))
    hypotenuse = np.hypot(1.0, slope)
    depth = float(np.mean((drawn - np.interp(x, middle.x, middle.r)) / hypotenuse))
    inside = x + depth * slope / hypotenuse
    radius = np.interp(inside, middle.x, middle.r)
    own = (x >= span.core[0]) & (x <= min(span.core[1], span.stop))
    joint = span.stop if lap > 0.0 else np.nan
    if span.straight:
        slant, front = np.polyfit(x[own], radius[own], 1)
        sine = slant / np.hypot(1.0, slant)
        arc = (x - x[0]) * np.hypot(1.0, slant)
        line = front + slant * x
        return Stretch(span.name, x, arc, line, np.full_like(x, sine), 0.0 * x, own, joint)
    offset = drawn - depth / hypotenuse
    arc = np.concatenate(([0.0], np.cumsum(np.hypot(np.diff(inside), np.diff(offset)))))
    sine = slope / hypotenuse
    return Stretch(span.name, x, arc, radius, sine, spline_derivative(arc) @ sine, own, joint)
