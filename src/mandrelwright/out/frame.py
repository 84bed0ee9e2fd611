"""What section and strips share: the axial scale, the rulers, the tone of every layer."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.draft import Draft
from mandrelwright.out.svg import HAIR, INK, SOFT, Drawing, Hatch, tick_label, ticks
from mandrelwright.stages.layers import Layer
from mandrelwright.stages.shape import FitPlace, Shape

Array = NDArray[np.float64]

WIDTH = 880.0
SIZE = 11.0  # of text
LEFT, RIGHT = 54.0, 88.0  # room for tick labels and for labels at the lines' ends
STUB = 0.07  # of the part's length: how much of a mate is drawn beyond the part
TALLEST = 175.0  # units from the axis to the outermost thing drawn
LABELS = 9  # most labels on a ruler

ON_LIGHT = "#10222a"  # ink on a layer's own tone, which stays as it is where paper turns dark
# dark and light end of each sleeve's tones, and its hatch: told apart by lightness and pattern
SLEEVES = (
    ("#1d5560", "#8cb6b8", "none"),
    ("#74471f", "#e0c59c", "falling"),
    ("#54456f", "#bdb1cf", "crossed"),
    ("#3f5f2a", "#b2c597", "rising"),
    ("#74344a", "#d6a9b6", "upright"),
)


@dataclass(frozen=True)
class Frame:
    """Axial scale: x from the tip of the full profile (m) to units across the picture."""

    low: float
    high: float
    scale: float
    tip: float
    base: float
    stop: float

    def at(self, x: Array | float) -> Array:
        """Units from the picture's left edge."""
        return np.asarray(LEFT + (np.asarray(x) - self.low) * self.scale)

    @property
    def right(self) -> float:
        """Where the drawn stretch ends, in units."""
        return LEFT + (self.high - self.low) * self.scale


@dataclass(frozen=True)
class Scale:
    """The section's scale: a radius (m) above and below the axis, walls ``thicker`` times.

    mould_x, mould_r: the mould's surface (m), from which thickness is counted.
    """

    frame: Frame
    axis: float
    thicker: int
    mould_x: Array
    mould_r: Array

    def drawn(self, x: Array | float, r: Array | float) -> Array:
        """The radius as drawn (m): what stands on the mould is thickened."""
        ground = np.interp(x, self.mould_x, self.mould_r)
        return np.asarray(ground + self.thicker * (r - ground))

    def above(self, x: Array, r: Array) -> Array:
        """Points (n, 2) of a line of the upper half, r already as drawn."""
        return np.column_stack((self.frame.at(x), self.axis - self.frame.scale * r))

    def below(self, x: Array, r: Array) -> Array:
        """Points (n, 2) of a line of the lower half, r already as drawn."""
        return np.column_stack((self.frame.at(x), self.axis + self.frame.scale * r))


def frame_of(plan: Draft) -> Frame:
    """The stretch from the mould's tip (or a mate's) to its flange and the mate beyond."""
    shape, flange = plan.shape, plan.job.mould.flange
    stub = STUB * (shape.base - shape.tip)
    low = min(float(plan.stack.mould.x[0]), shape.tip)
    low -= stub if any(not at_base(place, shape) for place in shape.fits) else 0.0
    high = shape.stop + max(flange.thickness.value if flange else 0.0, stub)
    tallest = max(float(plan.stack.r.max()), flange.diameter.value / 2.0 if flange else 0.0)
    scale = min((WIDTH - LEFT - RIGHT) / (high - low), TALLEST / tallest)
    return Frame(low, high, scale, shape.tip, shape.base, shape.stop)


def at_base(place: FitPlace, shape: Shape) -> bool:
    """Whether a fit belongs to the baseward end of the part."""
    return place.start + place.stop > shape.tip + shape.base


def base_ticks(frame: Frame) -> list[tuple[float, str]]:
    """Round distances from the base as (units across, label)."""
    values = ticks(0.0, frame.base - frame.tip, LABELS)
    step = values[1] - values[0] if len(values) > 1 else 1.0
    step_mm = step * 1e3
    return [(float(frame.at(frame.base - v)), tick_label(v * 1e3, step_mm)) for v in values]


def rulers(drawing: Drawing, frame: Frame, top: float) -> float:
    """Distance from the base, and below it from the tip of the full profile; returns the foot."""
    left, right = float(frame.at(frame.tip)), float(frame.at(frame.base))
    _ruler(drawing, base_ticks(frame), left, right, top, "mm from base", INK)
    values = [v for v in ticks(0.0, frame.base, LABELS) if v >= frame.tip]
    step_mm = (values[1] - values[0]) * 1e3 if len(values) > 1 else 1.0
    marks = [(float(frame.at(v)), tick_label(v * 1e3, step_mm)) for v in values]
    _ruler(drawing, marks, left, right, top + 26.0, "mm from tip", SOFT)
    return top + 48.0


def _ruler(
    drawing: Drawing, marks: list[tuple[float, str]], left: float, right: float, y: float,
    unit: str, ink: str,
) -> None:  # fmt: skip
    drawing.line(left, y, right, y, ink, 0.8)
    for at, label in marks:
        drawing.line(at, y, at, y + 4.0, ink, 0.8)
        drawing.text(at, y + 15.0, label, SIZE, "middle", ink)
    drawing.text(right + 16.0, y + 15.0, unit, SIZE, "start", ink)


def trims(drawing: Drawing, frame: Frame, top: float, foot: float) -> None:
    """The two lines at which the part is cut."""
    for x in (frame.tip, frame.base):
        at = float(frame.at(x))
        drawing.line(at, top, at, foot, SOFT, 0.8, "9 3 2 3")


def gridlines(drawing: Drawing, frame: Frame, top: float, foot: float) -> None:
    """Hairlines under the curves at the ruler's distances from the base."""
    for at, _ in base_ticks(frame):
        drawing.line(at, top, at, foot, HAIR, 0.6)


@dataclass(frozen=True)
class Tone:
    """How a layer looks: fill (a colour or a hatch), its ground, an ink that reads on it."""

    fill: str | Hatch
    ground: str
    dark: str
    reads: str


def tones(layers: tuple[Layer, ...]) -> list[Tone]:
    """One tone per layer: a hue and hatch per sleeve, lighter outwards by repeat.

    The middle greys are left out: no ink reads on them.
    """
    names = list(dict.fromkeys(layer.textile.name for layer in layers))
    count = {name: sum(layer.textile.name == name for layer in layers) for name in names}
    seen = dict.fromkeys(names, 0)
    out = []
    for layer in layers:
        name = layer.textile.name
        dark, light, kind = SLEEVES[names.index(name) % len(SLEEVES)]
        share = (seen[name] + 0.5) / count[name]
        ground = mixed(dark, light, 0.7 * share if share < 0.5 else 0.65 + 0.7 * (share - 0.5))
        seen[name] += 1
        fill: str | Hatch = ground
        if kind != "none":
            line = mixed(ground, "#ffffff" if share < 0.5 else dark, 0.45)
            fill = Hatch(ground, line, kind, 5.0)
        out.append(Tone(fill, ground, dark, "#ffffff" if share < 0.5 else ON_LIGHT))
    return out


def mixed(one: str, other: str, share: float) -> str:
    """A colour so far from one to the other."""
    pairs = ((int(one[i : i + 2], 16), int(other[i : i + 2], 16)) for i in (1, 3, 5))
    return "#" + "".join(f"{round(a + share * (b - a)):02x}" for a, b in pairs)
