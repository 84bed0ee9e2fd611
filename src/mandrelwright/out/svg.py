"""The drawing hand: plain SVG elements, fixed number formatting, estimated text widths.

One user unit is one CSS pixel at full size. Only presentation attributes are used (no style
sheet, no variables), so that any viewer or printer shows the same. All text is escaped.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple
from xml.sax.saxutils import escape, quoteattr

import numpy as np
from numpy.typing import NDArray

from mandrelwright.stages.turned import decimate_all

Array = NDArray[np.float64]

PAPER = "#f7f6f0"
INK = "#17272e"
SOFT = "#55636a"  # second voice; 5.7 : 1 on paper
HAIR = "#cfccbf"
PLASTIC = "#e7e2d2"
STOP = "#a3271b"
CAUTION = "#7d5200"
GOOD = "#2c6540"

FONT = "DejaVu Sans, Verdana, sans-serif"
DIRECTIONS = {
    "rising": np.array([[1.0, 1.0]]),
    "falling": np.array([[1.0, -1.0]]),
    "crossed": np.array([[1.0, 1.0], [1.0, -1.0]]),
    "upright": np.array([[1.0, 0.0]]),
}  # normals of a hatch's lines
PLAIN = re.compile(r"[\w #.,:;()+-]*")  # a value that needs no escape
LINE_TOLERANCE = 0.03  # units: a drawn line stays within this of its points
# Advance widths of DejaVu Sans in thousandths of the size, from space to ~; a wide face, so
# text laid out by it fits in most others.
_ADVANCES = (
    318, 401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361, 318, 337, 636, 636, 636,
    636, 636, 636, 636, 636, 636, 636, 337, 337, 838, 838, 838, 531, 1000, 684, 686, 698, 770, 632,
    575, 775, 752, 295, 295, 656, 557, 863, 748, 787, 603, 787, 695, 635, 611, 732, 684, 989, 685,
    611, 685, 390, 337, 390, 838, 500, 500, 613, 635, 550, 635, 615, 352, 635, 634, 278, 278, 579,
    278, 974, 634, 612, 635, 635, 411, 521, 392, 634, 592, 818, 592, 592, 525, 636, 337, 636, 838,
)  # fmt: skip
_OTHER = 1000  # any other character
_NARROW = {"°": 500, "±": 838, "·": 318, "–": 500, "−": 838, "ø": 612, "µ": 636, "×": 838}
_BOLD = 1.12


def text_width(text: str, size: float, bold: bool = False) -> float:
    """Width in units that a text needs at most, by the metrics of a wide face."""
    total = sum(_ADVANCES[ord(c) - 32] if " " <= c <= "~" else _NARROW.get(c, _OTHER) for c in text)
    return total * size / 1000.0 * (_BOLD if bold else 1.0)


def fitted(text: str, size: float, room: float) -> str:
    """The text, cut with an ellipsis where it would be wider than ``room`` units."""
    if text_width(text, size) <= room:
        return text
    while text and text_width(text + "…", size) > room:
        text = text[:-1]
    return text.rstrip() + "…"


def wrapped(text: str, size: float, room: float) -> list[str]:
    """The text in lines of at most ``room`` units, broken at spaces."""
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and text_width(longer, size) > room:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


def number(value: float) -> str:
    """A coordinate with at most two decimals, never "-0"."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def ticks(low: float, high: float, most: int) -> list[float]:
    """At most ``most`` round values (1, 2 or 5 times a power of ten) from low to high."""
    if not high > low:
        return [low]
    raw = (high - low) / max(most, 1)
    power = 10.0 ** math.floor(math.log10(raw))
    for step in (power, 2.0 * power, 5.0 * power, 10.0 * power, 20.0 * power):
        first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
        if last - first + 1 <= most:
            break
    return [step * i for i in range(first, last + 1)]


def tick_label(value: float, step: float) -> str:
    """A tick's value with as many decimals as its step has."""
    digits = max(0, -math.floor(math.log10(step) + 1e-9)) if step > 0.0 else 0
    text = f"{value:.{digits}f}"
    return text.replace("-", "−") if float(text) else f"{0.0:.{digits}f}"


@dataclass(frozen=True)
class Hatch:
    """A fill of parallel strokes on a ground: "rising", "falling", "crossed" or "upright"."""

    ground: str
    stroke: str
    kind: str
    pitch: float


class _Path(NamedTuple):
    """A path whose lines are thinned and written when the picture is finished."""

    lines: tuple[Array, ...]
    close: str
    attributes: dict[str, str | float]


class Drawing:
    """One picture that grows element by element; ``name`` prefixes its ids."""

    def __init__(self, name: str, width: float, title: str, description: str) -> None:
        self.name = name
        self.width = width
        self.title = title
        self.description = description
        self.parts: list[str | _Path] = []

    def add(self, tag: str, **attributes: str | float) -> None:
        """One element; a number is formatted, an underscore in a name becomes a hyphen."""
        self.parts.append(_element(tag, None, attributes))

    def line(
        self, x1: float, y1: float, x2: float, y2: float, stroke: str = INK, width: float = 1.0,
        dash: str = "",
    ) -> None:  # fmt: skip
        """A straight stroke."""
        dashes: dict[str, str | float] = {"stroke_dasharray": dash} if dash else {}
        self.add("line", x1=x1, y1=y1, x2=x2, y2=y2, stroke=stroke, stroke_width=width, **dashes)

    def rect(
        self, x: float, y: float, width: float, height: float, fill: str | Hatch,
        **attributes: str | float,
    ) -> None:  # fmt: skip
        """A filled rectangle."""
        width, height = max(width, 0.0), max(height, 0.0)
        if isinstance(fill, Hatch):
            corners = np.array([[x, y], [x + width, y], [x + width, y + height], [x, y + height]])
            self.band(corners, corners[:0], fill, **attributes)
        else:
            self.add("rect", x=x, y=y, width=width, height=height, fill=fill, **attributes)

    def curve(self, points: Array, **attributes: str | float) -> None:
        """An open line through points (n, 2), thinned to LINE_TOLERANCE."""
        given: dict[str, str | float] = {"fill": "none", "stroke": INK, "stroke_linejoin": "round"}
        self.parts.append(_Path((points,), "", given | attributes))

    def band(self, one: Array, other: Array, fill: str | Hatch, **attributes: str | float) -> None:
        """The area between two lines (n, 2) that run the same way."""
        lines = (one, other[::-1]) if len(other) else (one,)
        if isinstance(fill, str):
            self.parts.append(_Path(lines, "Z", {"fill": fill, **attributes}))
            return
        self.parts.append(_Path(lines, "Z", {"fill": fill.ground}))
        strokes = hatched(np.concatenate(lines), fill.kind, fill.pitch)
        if strokes:
            self.add("path", d=strokes, fill="none", stroke=fill.stroke, stroke_width=0.7)
        if attributes:
            self.parts.append(_Path(lines, "Z", {"fill": "none", **attributes}))

    def text(
        self, x: float, y: float, text: str, size: float = 11.0, anchor: str = "start",
        fill: str = INK, bold: bool = False, backing: str = "", **attributes: str | float,
    ) -> None:  # fmt: skip
        """One line of text on its baseline; ``backing`` is the colour of a plate behind it."""
        if backing:
            width = text_width(text, size, bold)
            left = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * width
            self.rect(left - 2.0, y - 0.85 * size, width + 4.0, 1.12 * size, backing)
        if anchor != "start":
            attributes["text_anchor"] = anchor
        if bold:
            attributes["font_weight"] = "bold"
        placed: dict[str, str | float] = {"x": x, "y": y, "font_size": size, "fill": fill}
        self.parts.append(_element("text", escape(text), placed | attributes))

    def finish(self, height: float) -> str:
        """The whole picture as SVG text, its ground of paper included."""
        titles = (
            _element("title", escape(self.title), {"id": f"{self.name}-title"})
            + _element("desc", escape(self.description), {"id": f"{self.name}-desc"})
        )  # fmt: skip
        ground = _element("rect", None, {"width": self.width, "height": height, "fill": PAPER})
        return _element(
            "svg", "\n".join([titles, ground, *_written(self.parts)]) + "\n",
            {
                "xmlns": "http://www.w3.org/2000/svg", "width": self.width, "height": height,
                "viewBox": f"0 0 {number(self.width)} {number(height)}", "role": "img",
                "aria-labelledby": f"{self.name}-title {self.name}-desc", "font-family": FONT,
            },
        ) + "\n"  # fmt: skip


def _element(tag: str, content: str | None, attributes: dict[str, str | float]) -> str:
    """One SVG element as text."""
    written = "".join([
        f" {_attribute(key)}={_quoted(value if isinstance(value, str) else number(value))}"
        for key, value in attributes.items()
    ])  # fmt: skip
    return f"<{tag}{written}/>" if content is None else f"<{tag}{written}>{content}</{tag}>"


def _attribute(key: str) -> str:
    """SVG's spelling of a keyword: stroke_width → stroke-width."""
    return key.rstrip("_").replace("_", "-")


def _quoted(value: str) -> str:
    """An attribute's value in quotes."""
    return f'"{value}"' if PLAIN.fullmatch(value) else quoteattr(value)


def _written(parts: Sequence[str | _Path]) -> list[str]:
    """Every part as text; the lines of all paths are thinned at once."""
    lines = [line for part in parts if isinstance(part, _Path) for line in part.lines]
    trails = iter([_trail(line) for line in decimate_all(lines, LINE_TOLERANCE)])
    return [part if isinstance(part, str) else _path(part, trails) for part in parts]


def _path(path: _Path, trails: Iterator[str]) -> str:
    """A path as text, which takes its lines from the trails."""
    trail = "L".join([next(trails) for _ in path.lines])
    return _element("path", None, {"d": f"M{trail}{path.close}", **path.attributes})


def _trail(points: Array) -> str:
    """Coordinates of a line, for a path."""
    return "L".join([f"{x:g} {y:g}" for x, y in _hundredths(points)])


def _hundredths(points: Array) -> list[list[float]]:
    """Coordinates with two decimals, as `number` gives them, below 10 000 units."""
    return [[x / 100.0, y / 100.0] for x, y in np.rint(100.0 * points).astype(int).tolist()]


def hatched(outline: Array, kind: str, pitch: float) -> str:
    """Strokes inside a closed outline (n, 2), as the trail of a path.

    The lines a·x + b·y = k·pitch, k whole, cut at the outline: inside between odd and even
    crossings. Their places do not depend on the outline, so that neighbours line up. An edge
    from h to h' is cut by k from ⌈min/pitch⌉ to ⌈max/pitch⌉ − 1, so that corners count once.
    """
    after = np.roll(outline, -1, axis=0)
    strokes = ""
    for normal in DIRECTIONS[kind]:
        here, there = outline @ normal, after @ normal
        ends = np.ceil(np.sort(np.stack((here, there)), axis=0) / pitch).astype(int)
        cuts = ends[1] - ends[0]
        edge = np.repeat(np.arange(len(cuts)), cuts)
        level = ends[0][edge] + np.arange(len(edge)) - (np.cumsum(cuts) - cuts)[edge]
        share = (pitch * level - here[edge]) / (there - here)[edge]
        points = outline[edge] + share[:, None] * (after - outline)[edge]
        rows = _hundredths(points[np.lexsort((points[:, 1], level))])
        strokes += "".join(
            f"M{a:g} {b:g}L{c:g} {d:g}"
            for (a, b), (c, d) in zip(rows[::2], rows[1::2], strict=True)
        )
    return strokes
