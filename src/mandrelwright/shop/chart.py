"""The parts so far as a chart of single values: clearance in the order the parts were laid up."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from mandrelwright.out.frame import SIZE, WIDTH
from mandrelwright.out.svg import (
    CAUTION,
    GOOD,
    HAIR,
    INK,
    PAPER,
    SOFT,
    STOP,
    Drawing,
    fitted,
    tick_label,
    ticks,
)
from mandrelwright.shop.parts import Row

LEFT, RIGHT = 60.0, 700.0  # of the row of parts
TOP, FOOT = 84.0, 324.0
DOT = 4.0
INKS = {"fits": GOOD, "does not fit": STOP, "cannot be told": CAUTION}
SHORT = {"fits": "fits", "does not fit": "no fit", "cannot be told": "?"}
GAP = 14.0  # least between two labels at the right
NOTE = (
    "clearance or step in mm, by its reading; bars: its doubt (one standard uncertainty); "
    "shaded: what fits; dashed: as far as chance goes"
)


def draw_parts(row: Row, name: str) -> str:
    """Clearance of every part, the fit's window, and the chart's centre and limits, as SVG text."""
    drawing = Drawing(
        "parts", WIDTH, f"Parts of {name}",
        "Clearance of the leading fit of each part in the order of lay-up, with the window of the "
        "fit and the limits of an individuals chart.",
    )  # fmt: skip
    drawing.text(14.0, 22.0, f"Parts: {fitted(name, 13.0, 400.0)}", 13.0, bold=True)
    drawing.text(14.0, 38.0, NOTE, SIZE, fill=SOFT)
    for x, verdict in ((24.0, "fits"), (100.0, "does not fit"), (220.0, "cannot be told")):
        _mark(drawing, x, 54.0, verdict)
        words = verdict + (": too near an end, ? below its part" * (verdict == "cannot be told"))
        drawing.text(x + 12.0, 58.0, words, SIZE)
    if not row.parts:
        drawing.text(LEFT, TOP, "no part has been read at its leading fit", SIZE)
        return drawing.finish(TOP + 24.0)
    low, high = _range(row)

    def y(play: float) -> float:
        return FOOT + (TOP - FOOT) * (play * 1e3 - low) / (high - low)

    drawing.rect(LEFT, y(row.window[1]), RIGHT - LEFT, y(row.window[0]) - y(row.window[1]), GOOD,
                 fill_opacity=0.14)  # fmt: skip
    values = ticks(low, high, 8)
    for value in values:
        drawing.line(LEFT, y(value * 1e-3), RIGHT, y(value * 1e-3), HAIR, 0.6)
        label = tick_label(value, values[1] - values[0])
        drawing.text(LEFT - 6.0, y(value * 1e-3) + 4.0, label, SIZE, "end", SOFT)
    labels = [
        (y(row.window[1]), "most that fits", GOOD),
        (y(row.window[0]), "least that fits", GOOD),
    ]
    if row.chart:
        limits = (row.chart.upper, "by chance up to"), (row.chart.centre, "middle")
        for value, word in (*limits, (row.chart.lower, "by chance down to")):
            dash = "" if word == "middle" else "6 3"
            drawing.line(LEFT, y(value), RIGHT, y(value), INK, 1.0, dash)
            labels.append((y(value), f"{word} {value * 1e3:.2f}", INK))
    _dots(drawing, row, y)
    below = -1e9
    for place, word, ink in sorted(labels):
        below = max(place + 4.0, below + GAP)
        drawing.text(RIGHT + 12.0, below, word, SIZE, fill=ink)
    return drawing.finish(FOOT + 70.0)


def _range(row: Row) -> tuple[float, float]:
    """Least and most of the scale, mm."""
    held = [part.play + sign * part.doubt for part in row.parts for sign in (-1.0, 1.0)]
    held += row.window
    if row.chart:
        held += [row.chart.lower, row.chart.upper]
    low, high = float(np.min(held)) * 1e3, float(np.max(held)) * 1e3
    room = 0.06 * (high - low)
    return low - room, high + room


def _dots(drawing: Drawing, row: Row, y: Callable[[float], float]) -> None:
    """Parts in order; a line parts one mould from the next."""
    step = (RIGHT - LEFT) / len(row.parts)
    mould = ""
    for number, part in enumerate(row.parts):
        x = LEFT + step * (number + 0.5)
        ink = INKS[part.verdict]
        drawing.line(x, y(part.play - part.doubt), x, y(part.play + part.doubt), ink, 1.4)
        _mark(drawing, x, y(part.play), part.verdict)
        drawing.text(x, FOOT + 17.0, fitted(part.part, SIZE, step - 4.0), SIZE, "middle", INK)
        word = fitted(SHORT[part.verdict], SIZE, step - 2.0)
        drawing.text(x, FOOT + 32.0, word, SIZE, "middle", ink)
        if part.mould != mould:
            mould = part.mould
            edge = LEFT + step * number
            if number:
                drawing.line(edge, TOP, edge, FOOT + 54.0, SOFT, 0.8, "2 3")
            name = fitted(f"mould {mould}", SIZE, 160.0)
            drawing.text(edge + 4.0, FOOT + 51.0, name, SIZE, fill=SOFT)


def _mark(drawing: Drawing, x: float, y: float, verdict: str) -> None:
    """A dot that fits, a cross that does not, a ring that cannot be told."""
    ink, arm = INKS[verdict], DOT + 0.5
    if verdict == "fits":
        drawing.add("circle", cx=x, cy=y, r=DOT, fill=ink)
    elif verdict == "does not fit":
        drawing.line(x - arm, y - arm, x + arm, y + arm, ink, 2.4)
        drawing.line(x - arm, y + arm, x + arm, y - arm, ink, 2.4)
    else:
        drawing.add("circle", cx=x, cy=y, r=DOT, fill=PAPER, stroke=ink, stroke_width=1.8)
