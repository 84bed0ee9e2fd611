"""One strip: its place and range, its title and scale, lines with gaps, names at their ends."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.out.frame import LEFT, SIZE, WIDTH, Frame, gridlines, trims
from mandrelwright.out.placing import spread_out
from mandrelwright.out.svg import HAIR, SOFT, Drawing, fitted, text_width, tick_label, ticks

Array = NDArray[np.float64]
Scale = list[tuple[float, str]]  # values and what stands beside them

TALL, LOW = 96.0, 54.0  # heights of a strip
GAP = 34.0  # between strips: room for the next title


@dataclass(frozen=True)
class Strip:
    """One diagram: where it stands, its range, and height from value."""

    top: float
    height: float
    low: float
    high: float

    def at(self, value: Array | float) -> Array:
        """Height across the picture of a value, kept inside the strip."""
        share = (np.asarray(value, float) - self.low) / (self.high - self.low)
        return np.asarray(self.foot - np.clip(share, 0.0, 1.0) * self.height)

    @property
    def foot(self) -> float:
        """Height of the strip's lower edge."""
        return self.top + self.height


def open_strip(
    drawing: Drawing, frame: Frame, title: str, unit: str, strip: Strip, scale: Scale | None = None
) -> None:
    """Title, ground and scale of a strip; its round values are marked unless others are given."""
    right = float(frame.at(frame.stop))
    _title(drawing, strip, title, unit)
    gridlines(drawing, frame, strip.top, strip.foot)
    _scale(drawing, strip, right, scale or _round(strip, 4))
    trims(drawing, frame, strip.top - 3.0, strip.foot + 3.0)


def open_diagram(drawing: Drawing, strip: Strip, title: str, unit: str, right: float) -> None:
    """Title and scale of a diagram that is not along the part, or has its own ground."""
    _title(drawing, strip, title, unit)
    _scale(drawing, strip, right, _round(strip, 5))


def _title(drawing: Drawing, strip: Strip, title: str, unit: str) -> None:
    drawing.text(LEFT, strip.top - 9.0, title, SIZE, bold=True)
    drawing.text(LEFT + text_width(title, SIZE, True) + 8.0, strip.top - 9.0, unit, SIZE, fill=SOFT)


def _round(strip: Strip, most: int) -> Scale:
    values = ticks(strip.low, strip.high, most)
    step = values[1] - values[0] if len(values) > 1 else 1.0
    return [(value, tick_label(value, step)) for value in values]


def _scale(drawing: Drawing, strip: Strip, right: float, scale: Scale) -> None:
    for value, label in scale:
        y = float(strip.at(value))
        drawing.line(LEFT, y, right, y, HAIR, 0.6)
        drawing.text(LEFT - 6.0, y + 3.5, label, SIZE, "end", SOFT)


def inked_names(drawing: Drawing, right: float, names: list[tuple[str, float, str]]) -> None:
    """Names in their ink beside the right ends of lines, moved apart where they would touch."""
    names = sorted(names, key=lambda item: (item[1], item[0]))
    for (name, _, ink), y in zip(names, spread_out([y for _, y, _ in names], 12.5), strict=True):
        drawing.text(right + 6.0, y + 3.5, name, SIZE, fill=ink)


def right_names(drawing: Drawing, right: float, names: list[tuple[str, float]]) -> None:
    """Names beside the right ends of lines or bands, moved apart where they would touch."""
    for (name, wanted), y in zip(names, spread_out([y for _, y in names], 12.5), strict=True):
        drawing.line(right, wanted, right + 8.0, y, SOFT, 0.6)
        room = WIDTH - right - 14.0
        drawing.text(right + 11.0, y + 3.5, fitted(name, SIZE, room), SIZE)


def broken(drawing: Drawing, across: Array, y: Array, there: NDArray[np.bool_], ink: str) -> None:
    """A line drawn only where it is there."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], there, [False])).astype(int)))
    for first, last in zip(edges[::2], edges[1::2], strict=True):
        if last - first > 1:
            points = np.column_stack((across[first:last], y[first:last]))
            drawing.curve(points, stroke=ink, stroke_width=1.4)
