"""The nine parts drawn: what was predicted with its 95 %, what came, the window of the fit."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from mandrelwright.out.frame import SIZE, WIDTH
from mandrelwright.out.svg import GOOD, HAIR, INK, SOFT, STOP, Drawing, tick_label, ticks
from tests.shops.steps import INSIDE, Told

LEFT, RIGHT = 66.0, 690.0
TOP, FOOT = 92.0, 372.0
CAP = 9.0  # half the width of a bar's ends
DOT = 5.0


def draw_bores(all_told: Sequence[Told], window: tuple[float, float]) -> str:
    """Bores of parts in the order they were laid up, as SVG text; window: bores that fit (m)."""
    told = [each for each in all_told if each.step.do == "lay up"]
    bores = tuple(f"{each.step.of}," for each in told)
    again = [each for each in all_told if each.step.of.startswith(bores)]
    drawing = Drawing(
        "bores", WIDTH, "Nine bores, predicted and read",
        "For each part the predicted bore with its 95 % interval, the bore that was read, and the "
        "bores that fit.",
    )  # fmt: skip
    drawing.text(14.0, 22.0, "Nine bores, predicted and read", 13.0, bold=True)
    note = "mean of two readings at right angles, mm; the prediction was written before the lay-up"
    drawing.text(14.0, 38.0, note, SIZE, fill=SOFT)
    _legend(drawing, bool(again), not all(each.came.seen.fits for each in told))
    ends = [each.step.mean + sign * INSIDE * each.step.spread for each in told for sign in (-1, 1)]
    held = [*ends, *window, *(each.read for each in (*told, *again))]
    low, high = min(held) * 1e3, max(held) * 1e3
    room = 0.05 * (high - low)
    low, high = low - room, high + room

    def y(size: float) -> float:
        return FOOT + (TOP - FOOT) * (size * 1e3 - low) / (high - low)

    top, foot = y(window[1]), y(window[0])
    drawing.rect(LEFT, top, RIGHT - LEFT, foot - top, GOOD, fill_opacity=0.12)
    values = ticks(low, high, 8)
    for value in values:
        drawing.line(LEFT, y(value * 1e-3), RIGHT, y(value * 1e-3), HAIR, 0.6)
        label = tick_label(value, values[1] - values[0])
        drawing.text(LEFT - 6.0, y(value * 1e-3) + 4.0, label, SIZE, "end", SOFT)
    for place, word in ((top, "most that fits"), (foot, "least")):
        drawing.text(RIGHT + 10.0, place + 4.0, word, SIZE, fill=GOOD)
    _parts(drawing, told, again, y)
    return drawing.finish(FOOT + 54.0)


def _legend(drawing: Drawing, again: bool, reworked: bool) -> None:
    """What bar, dots and ring are."""
    y = 60.0
    _bar(drawing, 24.0, y - 10.0, y + 2.0, y - 4.0)
    drawing.text(40.0, y, "predicted, 95 %", SIZE)
    for x, ink, word in ((160.0, GOOD, "came, inside"), (270.0, STOP, "came, outside")):
        drawing.add("circle", cx=x, cy=y - 4.0, r=DOT, fill=ink)
        drawing.text(x + 12.0, y, word, SIZE)
    if again:
        _ring(drawing, 390.0, y - 4.0, DOT - 1.0, INK)
        drawing.text(402.0, y, "questioned and read again", SIZE)
    if reworked:
        _ring(drawing, 590.0, y - 4.0, DOT + 4.0, STOP)
        drawing.text(604.0, y, "tried on its mate: had to be reworked", SIZE)


def _bar(drawing: Drawing, x: float, top: float, foot: float, middle: float) -> None:
    drawing.line(x, top, x, foot, INK, 1.6)
    for place, half in ((top, CAP), (foot, CAP), (middle, 0.6 * CAP)):
        drawing.line(x - half, place, x + half, place, INK, 1.6)


def _ring(drawing: Drawing, x: float, y: float, radius: float, ink: str) -> None:
    drawing.add("circle", cx=x, cy=y, r=radius, fill="none", stroke=ink, stroke_width=1.4)


def _parts(
    drawing: Drawing, told: Sequence[Told], again: Sequence[Told], y: Callable[[float], float]
) -> None:
    """One column a part; a line parts one mould from the next."""
    step, mould = (RIGHT - LEFT) / len(told), ""
    for number, each in enumerate(told):
        x, edge = LEFT + step * (number + 0.5), LEFT + step * number
        part, _, on = each.step.of.removeprefix("bore of part ").partition(" on ")
        mean, reach = each.step.mean, INSIDE * each.step.spread
        _bar(drawing, x - 10.0, y(mean + reach), y(mean - reach), y(mean))
        drawing.add("circle", cx=x + 10.0, cy=y(each.read), r=DOT, fill=GOOD if each.hit else STOP)
        if not each.came.seen.fits:
            _ring(drawing, x + 10.0, y(each.read), DOT + 4.0, STOP)
        for other in again:
            if other.step.of.startswith(f"{each.step.of},"):
                _ring(drawing, x + 10.0, y(other.read), DOT - 1.0, INK)
        drawing.text(x, FOOT + 17.0, f"part {part}", SIZE, "middle")
        if on != mould:
            mould = on
            drawing.text(edge + 4.0, FOOT + 36.0, on, SIZE, fill=SOFT)
            if number:
                drawing.line(edge, TOP, edge, FOOT + 40.0, SOFT, 0.8, "2 3")
