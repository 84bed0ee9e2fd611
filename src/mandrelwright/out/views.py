"""The section as lines and dimensions in true size, before any file format.

Millimetres; x from the tip trim line towards the base, y from the axis. Both halves are drawn.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.out.mould_section import draw_mould
from mandrelwright.out.mould_section import spans as spans_of_mould
from mandrelwright.out.svg import text_width
from mandrelwright.plan import Plan
from mandrelwright.stages.shape import FitPlace
from mandrelwright.stages.turned import decimate

Array = NDArray[np.float64]

ROW = 8.0  # mm on paper between rows of dimensions
FINE = 0.002  # mm: a drawn line stays this close to the true one
SAME = 1e-6  # mm
TEXT = 2.6  # mm on paper, height of words
BESIDE = 4.0  # mm on paper between a short length and its words
CLEAR = 6.0  # mm on paper between the view and its dimensions
ASIDE = 0.25  # a fit's diameter stands at this share of its length, away from its mark
APART = 5.0  # mm on paper between neighbouring diameters


@dataclass(frozen=True)
class Outline:
    """A line (n, 2) in mm on a layer that is named by its content."""

    layer: str
    points: Array
    closed: bool = False


@dataclass(frozen=True)
class Dimension:
    """A measured length in mm: of two places along the axis, or of a diameter across it.

    low, high: (x, y) of what is measured; stand: y of the dimension line, or of a diameter the x.
    """

    text: str
    low: tuple[float, float]
    high: tuple[float, float]
    stand: float
    across: bool

    @property
    def value(self) -> float:
        """What is measured, mm."""
        axis = 1 if self.across else 0
        return self.high[axis] - self.low[axis]


@dataclass(frozen=True)
class Note:
    """Words at a place."""

    text: str
    x: float
    y: float


@dataclass(frozen=True)
class View:
    """Everything of the section: lines, dimensions, notes; and the box of its lines."""

    outlines: tuple[Outline, ...]
    dimensions: tuple[Dimension, ...]
    notes: tuple[Note, ...]
    low: tuple[float, float]
    high: tuple[float, float]


def view_section(plan: Plan, scale: float) -> View:
    """The part on its mould, to be drawn at a scale that sets the room between dimensions."""
    outlines = tuple(_outlines(plan))
    points = np.concatenate([line.points for line in outlines])
    low, high = points.min(axis=0), points.max(axis=0)
    lengths = _in_rows(list(_lengths(plan)), float(low[1]), scale)
    marks = tuple(
        Note(mark.name, 1e3 * (mark.x - plan.shape.tip), -0.5e3 * mark.diameter)
        for mark in plan.mould.marks
    )
    return View(
        outlines,
        (*lengths, *_diameters(plan, scale)),
        marks,
        (float(low[0]), float(low[1])),
        (float(high[0]), float(high[1])),
    )


def _outlines(plan: Plan) -> Iterator[Outline]:
    """Wall, layers, mould and axis, trim lines, fits and marks."""
    x, r, shape = plan.stack.x, plan.stack.r, plan.shape
    bore, *between, outside = (_trimmed(plan, *each) for each in zip(x, r, strict=True))
    for name, points, closed in draw_mould(plan):
        yield Outline(name, decimate(points, FINE), closed)
    wall = np.concatenate((bore, outside[::-1]))
    yield from (Outline("WALL", each, closed=True) for each in (wall, _mirrored(wall)))
    for layer in between:
        yield from (Outline("LAYERS", each) for each in (layer, _mirrored(layer)))
    start, stop = (1e3 * (each - shape.tip) for each in (shape.start, shape.stop))
    flange = plan.job.mould.flange
    stop += 1e3 * flange.thickness.value if flange else 0.0
    yield Outline("AXIS", np.array([[start - CLEAR, 0.0], [stop + CLEAR, 0.0]]))
    top = float(outside[:, 1].max()) + CLEAR
    for at in (0.0, 1e3 * (shape.base - shape.tip)):
        yield Outline("TRIM", np.array([[at, -top], [at, top]]))
    for place in shape.fits:
        curve = _trimmed(plan, *_fit_surface(plan, place), place.start, place.stop)
        yield from (Outline("FITS", each) for each in (curve, _mirrored(curve)))
    for mark in plan.mould.marks:
        at, radius = 1e3 * (mark.x - shape.tip), 0.5e3 * mark.diameter
        yield Outline("MARKS", np.array([[at, -radius], [at, radius]]))


def _fit_surface(plan: Plan, place: FitPlace) -> tuple[Array, Array]:
    """The surface that mates: the outside of a flush fit and of a shoulder, else the bore."""
    number = 0 if place.fit.kind == "bore" else -1
    return plan.stack.x[number], plan.stack.r[number]


def _placed(plan: Plan, x: Array, r: Array) -> Array:
    """A curve in mm, without the points it can do without."""
    return decimate(np.stack((1e3 * (x - plan.shape.tip), 1e3 * r), axis=1), FINE)


def _trimmed(
    plan: Plan, x: Array, r: Array, start: float | None = None, stop: float | None = None
) -> Array:
    """A surface between two x, else between the trim lines."""
    start = plan.shape.tip if start is None else start
    stop = plan.shape.base if stop is None else stop
    inside = (x > start) & (x < stop)
    ends = np.interp((start, stop), x, r)
    return _placed(
        plan,
        np.concatenate(([start], x[inside], [stop])),
        np.concatenate((ends[:1], r[inside], ends[1:])),
    )


def _mirrored(points: Array) -> Array:
    return np.asarray(points * np.array([1.0, -1.0]))


def _lengths(plan: Plan) -> Iterator[tuple[str, float, float]]:
    """Name and both ends (mm from the tip trim line) of every length that is dimensioned."""
    tip, base = plan.shape.tip, plan.shape.base
    spans = [("", tip, base)]
    joint = 0.0
    for section in plan.job.sections:
        spans.append((section.name, max(joint, tip), joint + section.length.value))
        joint += section.length.value
    spans += [(place.name, place.start, place.stop) for place in plan.shape.fits]
    spans += [(f"mark {mark.name}", mark.x, base) for mark in plan.mould.marks]
    spans += spans_of_mould(plan)
    spans += [("margin", plan.shape.start, tip), ("margin", base, plan.shape.stop)]
    seen = set()
    for name, start, stop in spans:
        key = round(start, 7), round(stop, 7)
        if key not in seen and stop - start > 1e-6:
            seen.add(key)
            yield name, 1e3 * (start - tip), 1e3 * (stop - tip)


def _in_rows(spans: list[tuple[str, float, float]], low: float, scale: float) -> list[Dimension]:
    """Lengths below the view, short ones nearest, none over another or its words."""
    rows: list[list[tuple[float, float]]] = []
    placed = []
    for name, start, stop in sorted(spans, key=lambda span: span[2] - span[1]):
        words = (text_width(f"{stop - start:.2f} {name}", TEXT) + BESIDE) / scale
        end = stop if words < stop - start else stop + words + BESIDE / scale
        free = [all(end <= a + SAME or start >= b - SAME for a, b in row) for row in rows]
        number = [*free, True].index(True)
        if number == len(rows):
            rows.append([])
        rows[number].append((start, end))
        stand = low - (CLEAR + ROW * (number + 1)) / scale
        placed.append(Dimension(name, (start, low), (stop, low), stand, across=False))
    return placed


def _diameters(plan: Plan, scale: float) -> Iterator[Dimension]:
    """Trim lines, fits and marks; a dimension line moves aside where two would touch."""
    shape = plan.shape
    outside = plan.stack.outside
    found = [
        (f"outside, {name}", x, float(np.interp(x, outside.x, outside.r)))
        for name, x in (("tip trim", shape.tip), ("base trim", shape.base))
    ]
    for place in shape.fits:
        x = place.start + ASIDE * (place.stop - place.start)
        name = "bore" if place.fit.kind == "bore" else "outside"
        found.append((f"{name}, {place.name}", x, float(np.interp(x, *_fit_surface(plan, place)))))
    found += [
        (f"mould, mark {mark.name}", mark.x, 0.5 * mark.diameter) for mark in plan.mould.marks
    ]
    if flange := plan.job.mould.flange:
        x = shape.stop + 0.5 * flange.thickness.value
        found.append(("flange", x, 0.5 * flange.diameter.value))
    stand = -np.inf
    for name, x, radius in sorted(found, key=lambda each: each[1]):
        at, reach = 1e3 * (x - shape.tip), 1e3 * radius
        stand = max(at, stand + APART / scale)
        yield Dimension(name, (at, -reach), (at, reach), stand, across=True)
