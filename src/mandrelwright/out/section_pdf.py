"""section.pdf: the dimensioned section on one sheet, at the largest usual scale that fits."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mandrelwright.out.mould_section import legend
from mandrelwright.out.plot import PAPERS, Sheet, Words, set_sheets
from mandrelwright.out.section_dxf import title_lines, words_of
from mandrelwright.out.svg import fitted, text_width
from mandrelwright.out.views import BESIDE, TEXT, Dimension, View, view_section
from mandrelwright.plan import Plan

Array = NDArray[np.float64]

SCALES = (1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01)  # ISO 5455
MARGIN = 12.0  # mm
ABOVE = 48.0  # mm over the view, for the words of diameters
BLOCK = (150.0, 26.0)  # mm, the title block
STYLES = {
    "WALL": "thin", "LAYERS": "pale", "MOULD": "thin", "HOLES": "thin", "JOINTS": "thin",
    "AXIS": "centre", "TRIM": "trim",
    "FITS": "edge", "MARKS": "pale",
}  # fmt: skip


@dataclass(frozen=True)
class Frame:
    """A sheet laid across, and where true millimetres come to lie on it."""

    sheet: Sheet
    scale: float
    left: float
    middle: float

    def at(self, points: ArrayLike) -> Array:
        """Places on the sheet of places of the view, (..., 2)."""
        flipped = np.asarray(points, float) * np.array([self.scale, -self.scale])
        return np.asarray(flipped + np.array([self.left, self.middle]))


def write_section_pdf(plan: Plan, date: str = "") -> bytes:
    """The section on A4 or A3 (or Letter) laid across; same plan and date, same bytes."""
    paper = plan.job.shop.paper
    papers = {"A4": ("A4", "A3"), "A3": ("A3",), "Letter": ("Letter",)}[paper]
    frame, view = next(_frames(plan, papers))
    for line in view.outlines:
        points = np.concatenate((line.points, line.points[:1])) if line.closed else line.points
        frame.sheet.stroke(STYLES[line.layer], frame.at(points))
    for dimension in view.dimensions:
        _dimension(frame, dimension, view)
    for note in view.notes:
        x, y = frame.at((note.x, note.y))
        frame.sheet.words.append(Words(x + 0.8, y + 3.4, note.text, TEXT, bold=True))
    _title_block(frame, plan, date)
    return set_sheets(f"Section: {plan.job.part.name}", [frame.sheet])


def _frames(plan: Plan, papers: tuple[str, ...]) -> Iterator[tuple[Frame, View]]:
    """Sheets on which the section fits, the largest scale first; the last one always."""
    for scale in SCALES:
        view = view_section(plan, scale)
        lowest = min(each.stand for each in view.dimensions if not each.across)
        words = max(_words_end(each, scale) for each in view.dimensions)
        wide = max(scale * view.high[0], words) - scale * view.low[0]
        deep = scale * (view.high[1] - lowest) + ABOVE
        for paper in papers:
            height, width = PAPERS[paper]
            room = height - 2.0 * MARGIN - BLOCK[1] - 4.0
            if (wide <= width - 2.0 * MARGIN and deep <= room) or scale == SCALES[-1]:
                left = 0.5 * (width - wide) - scale * view.low[0]
                middle = MARGIN + ABOVE + scale * view.high[1]
                yield Frame(Sheet(width, height), scale, left, middle), view


def _words_end(dimension: Dimension, scale: float) -> float:
    """How far to the right a length's words reach, mm on paper."""
    room = scale * dimension.value - BESIDE
    wide = text_width(words_of(dimension, f"{dimension.value:.2f}"), TEXT)
    beside = 0.0 if dimension.across or wide < room else BESIDE + wide
    return scale * dimension.high[0] + beside


def _dimension(frame: Frame, dimension: Dimension, view: View) -> None:
    """Extension lines, a line with arrows and its words."""
    place = [dimension.low, dimension.high]
    stand = np.array(place)
    stand[:, 0 if dimension.across else 1] = dimension.stand
    start, stop = frame.at(place), frame.at(stand)
    for a, b in zip(start, stop, strict=True):
        if np.hypot(*(b - a)) > 0.01:
            frame.sheet.stroke("pale", [a, b + 1.5 * (b - a) / np.hypot(*(b - a))])
    low, high = stop
    words = words_of(dimension, f"{dimension.value:.2f}")
    if dimension.across:
        top = frame.at((0.0, view.high[1]))[1]
        frame.sheet.stroke("thin", [low, (high[0], top - 4.0)])
        frame.sheet.words.append(Words(high[0] - 0.8, top - 4.5, words, TEXT, -90.0))
    else:
        _lengthwise(frame, low, high, words)
    inside = np.hypot(*(high - low)) > 8.0
    for tip, other in ((low, high), (high, low)):
        frame.sheet.stroke("thin", _arrow(tip, (other - tip) if inside else (tip - other)))


def _lengthwise(frame: Frame, low: Array, high: Array, words: str) -> None:
    """The line of a length and its words: over it, or beside it where they would not fit."""
    frame.sheet.stroke("thin", [low, high])
    wide = text_width(words, TEXT)
    if wide < high[0] - low[0] - BESIDE:
        x, anchor = 0.5 * (low[0] + high[0]), "middle"
    else:
        x, anchor = high[0] + BESIDE, "start"
    frame.sheet.words.append(Words(float(x), float(low[1]) - 0.8, words, TEXT, 0.0, anchor))


def _arrow(tip: Array, way: Array) -> Array:
    along = way / np.hypot(*way)
    aside = np.array([-along[1], along[0]])
    return np.array([tip + 2.4 * along + 0.6 * aside, tip, tip + 2.4 * along - 0.6 * aside])


def _title_block(frame: Frame, plan: Plan, date: str) -> None:
    """Who, what, which job; beside it holes and dowels, and the layers."""
    sheet = frame.sheet
    width, height = BLOCK
    x, y = sheet.width - MARGIN - width, sheet.height - MARGIN - height
    sheet.box("edge", x, y, width, height)
    scale = f"scale 1:{round(1.0 / frame.scale)}"
    lines = [*title_lines(plan, ""), f"{scale}; date {date or '________________'}"]
    room = width - 6.0
    for number, text in enumerate(lines):
        sheet.words.append(
            Words(x + 3.0, y + 5.0 + 4.6 * number, fitted(text, TEXT, room), TEXT, bold=number == 0)
        )
    beside = x - MARGIN - 4.0
    layers = [f"layer {layer.label}" for layer in plan.stack.layers]
    rows = math.floor(height / 4.0)
    for column, texts in enumerate((list(legend(plan)), layers)):
        for number, text in enumerate(texts[:rows]):
            left = MARGIN + 0.65 * column * beside
            room = (0.35 if column else 0.63) * beside
            place = left, y + 4.0 + 4.0 * number
            sheet.words.append(Words(*place, fitted(text, TEXT, room), TEXT))
