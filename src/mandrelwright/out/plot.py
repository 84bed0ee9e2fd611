"""Sheets drawn in millimetres and set as PDF: strokes stay vectors in true size."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, field
from itertools import pairwise
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import typst
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

TEMPLATE = Path(__file__).with_name("plot.typ")
FONTS = Path(__file__).with_name("fonts")
PAPERS = {"A4": (210.0, 297.0), "A3": (297.0, 420.0), "Letter": (215.9, 279.4)}  # mm, ISO 216
DIGITS = 4  # of a coordinate in mm
CROSS = 3.0  # mm


@dataclass(frozen=True)
class Words:
    """A line of text whose anchor lies at (x, y), turned clockwise by ``angle``; mm, degrees."""

    x: float
    y: float
    text: str
    size: float = 2.8
    angle: float = 0.0
    anchor: str = "start"
    bold: bool = False


@dataclass
class Sheet:
    """One page; x to the right, y down, mm."""

    width: float
    height: float
    strokes: list[tuple[str, Array]] = field(default_factory=list)
    words: list[Words] = field(default_factory=list)

    def stroke(self, style: str, points: ArrayLike) -> None:
        """A line through points (n, 2) in a style of the template."""
        self.strokes.append((style, np.asarray(points, float)))

    def box(self, style: str, x: float, y: float, width: float, height: float) -> None:
        """A rectangle."""
        across, down = x + width, y + height
        self.stroke(style, [[x, y], [across, y], [across, down], [x, down], [x, y]])

    def cross(self, x: float, y: float) -> None:
        """A mark of two short lines."""
        self.stroke("thin", [[x - CROSS, y], [x + CROSS, y]])
        self.stroke("thin", [[x, y - CROSS], [x, y + CROSS]])

    def write(self, x: float, y: float, lines: Iterable[str], size: float = 2.8) -> None:
        """Lines of text below each other."""
        for number, text in enumerate(lines):
            self.words.append(Words(x, y + 1.5 * size * number, text, size))


def set_sheets(title: str, sheets: Sequence[Sheet]) -> bytes:
    """The sheets as PDF; the same sheets, the same bytes. Text is set as it is."""
    pages = [
        {
            "width": sheet.width,
            "height": sheet.height,
            "strokes": [
                {"style": style, "points": np.round(points, DIGITS).tolist()}
                for style, points in sheet.strokes
            ],
            "words": [asdict(words) for words in sheet.words],
        }
        for sheet in sheets
    ]
    content = json.dumps({"title": title, "sheets": pages}, ensure_ascii=False)
    with TemporaryDirectory(prefix="mandrelwright-") as name:
        folder = Path(name)
        (folder / "data.json").write_text(content, encoding="utf-8")
        (folder / TEMPLATE.name).write_bytes(TEMPLATE.read_bytes())
        made: bytes = typst.compile(
            folder / TEMPLATE.name, font_paths=[FONTS], ignore_system_fonts=True, root=folder
        )
    return made


def clipped(points: Array, low: ArrayLike, high: ArrayLike) -> list[Array]:
    """The runs of a line (n, 2) that lie in the box from ``low`` to ``high`` (Liang-Barsky)."""
    low, high = np.asarray(low, float), np.asarray(high, float)
    runs: list[list[Array]] = []
    for start, stop in pairwise(points):
        way = stop - start
        with np.errstate(divide="ignore", invalid="ignore"):
            cuts = np.stack(((low - start) / way, (high - start) / way))
        still = way == 0.0
        if np.any(still & ((start < low) | (start > high))):
            continue
        enter = max(0.0, float(np.where(still, 0.0, cuts.min(axis=0)).max()))
        leave = min(1.0, float(np.where(still, 1.0, cuts.max(axis=0)).min()))
        if enter >= leave:
            continue
        first, last = start + enter * way, start + leave * way
        if runs and enter == 0.0 and np.array_equal(runs[-1][-1], start):
            runs[-1].append(last)
        else:
            runs.append([first, last])
    return [np.array(run) for run in runs]
