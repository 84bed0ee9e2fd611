"""Strips under the section, on its axial scale: wall, braid angle, expansion, ridges, undercut."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mandrelwright.draft import Draft
from mandrelwright.out.callouts import ridge_at
from mandrelwright.out.frame import (
    SIZE,
    WIDTH,
    Frame,
    Tone,
    frame_of,
    rulers,
    tones,
)
from mandrelwright.out.life_strips import draw_life
from mandrelwright.out.strip import GAP, LOW, TALL, Strip, broken, open_strip, right_names
from mandrelwright.out.svg import (
    CAUTION,
    INK,
    PAPER,
    STOP,
    Drawing,
    Hatch,
    text_width,
)
from mandrelwright.plan import Plan
from mandrelwright.stages.mould import COMES_OFF

Array = NDArray[np.float64]

PRESENT = 0.02  # share of full thickness from which a layer's line is drawn
WALL_CUT = 4.0  # times the median wall: where a pile of tows is cut off
ROOM_FOR_NAME = 12.5  # units of thickness that a name needs inside its band


def draw_strips(plan: Plan) -> str:
    """All strips as one SVG text; its axial scale is the section's own."""
    drawing, frame, top = _made(plan)
    return _finished(drawing, frame, draw_life(drawing, plan, frame, top))


def draw_first_strips(plan: Draft) -> str:
    """The strips that a draft has something for."""
    return _finished(*_made(plan))


def draw_last_strips(plan: Plan) -> str:
    """The strips that a draft has nothing for, "" where there are none."""
    if plan.flight is None and plan.strength is None:
        return ""
    frame = frame_of(plan)
    drawing = Drawing(
        "life", WIDTH, f"Along {plan.job.part.name} in use: warmest wall, load factor",
        "Diagrams over the distance along the part, on the scale of the section.",
    )  # fmt: skip
    return _finished(drawing, frame, draw_life(drawing, plan, frame, GAP))


def _finished(drawing: Drawing, frame: Frame, top: float) -> str:
    return drawing.finish(rulers(drawing, frame, top - GAP + 14.0))


def _made(plan: Draft) -> tuple[Drawing, Frame, float]:
    """The strips of the part as it is made, and the height below the last."""
    frame = frame_of(plan)
    drawing = Drawing(
        "strips", WIDTH, f"Along {plan.job.part.name}: wall, braid angle, hoop expansion, ridges",
        "Diagrams over the distance along the part, on the scale of the section above them.",
    )  # fmt: skip
    layers = tones(plan.stack.layers)
    top = GAP
    top = _wall(drawing, plan, frame, layers, top)
    top = _angle(drawing, plan, frame, layers, top)
    top = _expansion(drawing, plan, frame, top)
    if np.abs(ridge_at(plan, plan.stack.x[-1])).max() > 0.0:
        top = _ridge(drawing, plan, frame, top)
    if plan.mould.undercut.max() > COMES_OFF:
        top = _undercut(drawing, plan, frame, top)
    return drawing, frame, top


def _wall(drawing: Drawing, plan: Draft, frame: Frame, layers: list[Tone], top: float) -> float:
    """Thickness of every layer, stacked from the mould outwards."""
    stack = plan.stack
    x, thickness = stack.mould.x, stack.thickness * 1e3
    inside = (x >= frame.tip) & (x <= frame.base)
    wall = stack.wall * 1e3
    most = min(float(wall[inside].max()), WALL_CUT * float(np.median(wall[inside])))
    strip = Strip(top, TALL, 0.0, 1.08 * most)
    open_strip(drawing, frame, "Wall by layer", "mm, along the normal", strip)
    edges = np.concatenate((np.zeros((1, len(x))), np.cumsum(thickness, axis=0)))
    across = frame.at(x)
    unnamed = []
    for number, tone in enumerate(layers):
        low, high = strip.at(edges[number]), strip.at(edges[number + 1])
        there = np.flatnonzero(low - high > 0.05)
        if len(there) == 0:
            continue
        run = slice(max(there[0] - 1, 0), there[-1] + 2)
        one, other = (np.column_stack((across[run], y[run])) for y in (low, high))
        drawing.band(other, one, tone.fill, stroke=PAPER, stroke_width=0.6)
        name = stack.layers[number].label
        if not _name_inside(drawing, across, low, high, name, tone):
            middle = 0.5 * (one + other)
            unnamed.append((name, middle, int(np.argmax(low[run] - high[run]))))
    drawing.curve(np.column_stack((across, strip.at(wall))))
    _name_outside(drawing, strip, float(across[-1]), unnamed)
    if float(wall[inside].max()) > strip.high:
        text = f"up to {wall[inside].max():.1f} mm where tows pile up"
        drawing.text(float(across[0]) + 6.0, strip.top + 9.0, text, SIZE, fill=STOP, backing=PAPER)
    return strip.foot + GAP


def _name_inside(
    drawing: Drawing, across: Array, low: Array, high: Array, name: str, tone: Tone
) -> bool:
    """Write a layer's name in its band where that is thick and level enough; else False."""
    width = text_width(name, SIZE) + 8.0
    grid = np.arange(across[0], across[-1], 4.0)
    top, foot = np.interp(grid, across, high), np.interp(grid, across, low)
    need = int(np.ceil(width / 4.0)) + 1
    if len(grid) < need:
        return False
    window = np.lib.stride_tricks.sliding_window_view
    clear = window(foot, need).min(axis=1) - window(top, need).max(axis=1)
    best = int(np.argmax(clear))
    if clear[best] < ROOM_FOR_NAME:
        return False
    good = np.flatnonzero(clear >= min(clear[best] - 0.5, ROOM_FOR_NAME + 2.0))
    spot = int(good[len(good) // 2])
    y = 0.5 * (window(foot, need).min(axis=1)[spot] + window(top, need).max(axis=1)[spot])
    plate = tone.ground if tone.fill != tone.ground else ""
    drawing.text(float(grid[spot]) + 4.0, float(y) + 3.6, name, SIZE, fill=tone.reads,
                 backing=plate)  # fmt: skip
    return True


def _name_outside(
    drawing: Drawing, strip: Strip, edge: float, unnamed: list[tuple[str, Array, int]]
) -> None:
    """Names of bands too thin to hold them: in the margin, or beside a layer that stops short."""
    through = [(name, line) for name, line, _ in unnamed if line[-1, 0] > edge - 1.0]
    right_names(drawing, edge, [(name, float(line[-1, 1])) for name, line in through])
    y = strip.top + 8.0
    for name, line, thickest in reversed(unnamed):
        if line[-1, 0] <= edge - 1.0:
            x = float(line[-1, 0]) + 10.0
            left, middle = line[thickest].tolist()
            drawing.line(left, middle, x, y - 4.0, INK, 0.6)
            drawing.text(x + 3.0, y, name, SIZE, backing=PAPER)
            y += 13.0


def _angle(drawing: Drawing, plan: Draft, frame: Frame, layers: list[Tone], top: float) -> float:
    """Braid angle of every layer, and the locks of its sleeve where it lies."""
    stack = plan.stack
    there = stack.share > PRESENT
    angle = np.where(there, np.degrees(stack.angle), np.nan)
    lower = [np.degrees(layer.textile.lower) for layer in stack.layers]
    upper = [np.degrees(layer.textile.upper) for layer in stack.layers]
    low = 5.0 * np.floor(min(min(lower), np.nanmin(angle)) / 5.0 - 0.6)
    high = 5.0 * np.ceil(max(max(upper), np.nanmax(angle)) / 5.0 + 0.6)
    strip = Strip(top, TALL, float(low), float(high))
    open_strip(
        drawing, frame, "Braid angle between its locks", "°, from the part's own length", strip
    )
    across, names = frame.at(stack.mould.x), []
    sleeves = list(dict.fromkeys(layer.textile.name for layer in stack.layers))
    for sleeve in sleeves:
        own = [i for i, layer in enumerate(stack.layers) if layer.textile.name == sleeve]
        ink = layers[own[0]].dark
        run = np.flatnonzero(there[own].any(axis=0))
        left, right = float(across[run[0]]), float(across[run[-1]])
        for value, side in ((lower[own[0]], 1.0), (upper[own[0]], -1.0)):
            _lock(drawing, strip, left, right, value, side, ink)
        for i in own:
            broken(drawing, across, strip.at(angle[i]), np.isfinite(angle[i]), ink)
        name = f"{_ranges([i + 1 for i in own])} {sleeve}"
        names.append((name, right, _last(strip.at(angle[own]))))
    _line_names(drawing, across, names)
    return strip.foot + GAP


def _ranges(numbers: list[int]) -> str:
    """Whole numbers, runs of them drawn together: 1–3, 5."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(f"{r[0]}–{r[-1]}" if len(r) > 1 else f"{r[0]}" for r in runs)


def _last(heights: Array) -> float:
    """Mean height of the lines (line, place) at the last place where any of them is drawn."""
    place = np.flatnonzero(np.isfinite(heights).any(axis=0))[-1]
    return float(np.nanmean(heights[:, place]))


def _lock(
    drawing: Drawing, strip: Strip, left: float, right: float, value: float, side: float, ink: str
) -> None:
    """A limit of a sleeve: a thin line, hatched on the side that cannot be reached."""
    y = float(strip.at(value))
    fill = Hatch("none", ink, "rising", 6.0)
    drawing.rect(left, min(y, y + 4.0 * side), right - left, 4.0, fill)
    drawing.line(left, y, right, y, ink, 0.8)


def _line_names(drawing: Drawing, across: Array, names: list[tuple[str, float, float]]) -> None:
    """Names at the lines' right ends: in the margin, or above the end of a line that stops."""
    edge = float(across[-1])
    right_names(drawing, edge, [(name, y) for name, right, y in names if right > edge - 30.0])
    for name, right, y in names:
        if right <= edge - 30.0:
            drawing.text(right + 6.0, y + 3.5, name, SIZE, backing=PAPER)


def _expansion(drawing: Drawing, plan: Draft, frame: Frame, top: float) -> float:
    """Hoop expansion of the laminate, the mould's own for comparison."""
    hoop = plan.wall.expansion[:, 1] * 1e6
    sound = np.isfinite(hoop)
    chain = plan.fit.chain
    mould = float(chain.mean[chain.index("mould expansion")]) * 1e6
    values = hoop[sound] if sound.any() else np.array([0.0])
    low, high = float(values.min()), float(values.max())
    pad = max(0.12 * (high - low), 1.0)
    strip = Strip(top, LOW + 20.0, min(low - pad, 0.0) if low < 10.0 else low - pad, high + pad)
    unit = f"µm per metre for each °C warmer; the mould's is {mould:.0f}"
    open_strip(drawing, frame, "Hoop expansion of the wall", unit, strip)
    broken(drawing, frame.at(plan.stack.mould.x), strip.at(hoop), sound, INK)
    x = plan.stack.mould.x
    gap = x[~sound & (x >= frame.tip) & (x <= frame.base)]
    if len(gap):
        drawing.text(float(frame.at(gap[0])) + 4.0, strip.foot - 6.0,
                     "bunched or bare: no laminate", SIZE, fill=STOP, backing=PAPER)  # fmt: skip
    return strip.foot + GAP


def _ridge(drawing: Drawing, plan: Draft, frame: Frame, top: float) -> float:
    """What square-cut layer ends leave on the outside, to be faired."""
    stack = plan.stack
    ridge = ridge_at(plan, stack.x[-1]) * 1e3
    low, high = min(float(ridge.min()), 0.0), max(float(ridge.max()), 0.1)
    strip = Strip(top, LOW, 1.1 * low, 1.15 * high)
    open_strip(
        drawing, frame, "Ridges and hollows left outside by layer ends", "mm, to fair", strip
    )
    _area(drawing, frame, strip, stack.x[-1], ridge, CAUTION)
    return strip.foot + GAP


def _undercut(drawing: Drawing, plan: Draft, frame: Frame, top: float) -> float:
    """By how much the bore catches on the mould on its way off."""
    depth = plan.mould.undercut * 1e3
    strip = Strip(top, LOW, 0.0, 1.15 * float(depth.max()))
    open_strip(drawing, frame, "Undercut: the bore catches here",
          f"mm on the radius, leaving {plan.job.mould.leaves}", strip)  # fmt: skip
    _area(drawing, frame, strip, plan.stack.mould.x, depth, STOP)
    return strip.foot + GAP


def _area(drawing: Drawing, frame: Frame, strip: Strip, x: Array, value: Array, ink: str) -> None:
    """A filled curve above and below zero."""
    across = frame.at(x)
    line = np.column_stack((across, strip.at(value)))
    zero = np.column_stack((across, np.full(len(across), float(strip.at(0.0)))))
    drawing.band(line, zero, ink, fill_opacity=0.55)
    drawing.curve(line, stroke=ink)
