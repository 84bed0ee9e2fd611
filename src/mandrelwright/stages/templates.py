"""Paper templates: a strip that measures sleeves, collars that mark trim lines, angle cards."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.physics import cloth
from mandrelwright.stages.flat import ARC_POINTS, Line
from mandrelwright.stages.layup import LayUp
from mandrelwright.stages.mould import Mark, Mould
from mandrelwright.stages.record import result
from mandrelwright.stages.shape import LEAST_RADIUS, Shape
from mandrelwright.stages.stack import Stack
from mandrelwright.stages.textiles import Sleeve

Array = NDArray[np.float64]

ROW = 7e-3  # m, height of one row of the cutting strip
END_WORDS = 42e-3  # m before its end a row is named again
COLLAR = 25e-3  # m, height of a trim collar
EDGE = 1.5e-3  # m, from the edge of a collar that counts to the line beside it
TAB = 15e-3  # m, what a collar has to be taped together
CARD = (70e-3, 56e-3)  # m, along and across the axis
SLIGHT = 1e-9
QUARTERS = ("0°", "90°", "180°", "270°")
OUTSIDE = (
    "stack.outside",
    "shape.pieces",
    "shape.tip",
    "shape.base",
    "layup.pieces",
    "job.cloth[*]",
)


@dataclass(frozen=True)
class Template:
    """Something of paper, in true size; lines in m."""

    label: str
    purpose: str
    lines: tuple[Line, ...]
    size: float = result("the length it carries over, if it does", "mm", (), OUTSIDE)


def draw_templates(shape: Shape, stack: Stack, mould: Mould, layup: LayUp) -> tuple[Template, ...]:
    """Cutting strip of the sleeves, a collar for each trim line, an angle card for each mark.

    A collar is the sector of the cone that touches the outside at its trim line, whose edge is
    L = 2π r long. A card shows the angles ±θ of the outermost sleeve.
    """
    ends = (("tip", shape.tip, 1.0), ("base", shape.base, -1.0))
    collars = [_collar(shape, stack, *end) for end in ends]
    drawn = [_cutting_strip(layup), *collars, *_cards(stack, mould.marks)]
    return tuple(each for each in drawn if each is not None)


def _box(width: float, height: float) -> Array:
    return np.array([[0.0, 0.0], [width, 0.0], [width, height], [0.0, height], [0.0, 0.0]])


def _cutting_strip(layup: LayUp) -> Template | None:
    """A row for every sleeve as long as it is cut."""
    rows = [(piece.label, piece.cut) for piece in layup.pieces if math.isfinite(piece.cut)]
    if not rows:
        return None
    longest = max(cut for _, cut in rows)
    height = ROW * len(rows)
    lines = [Line("cut", _box(longest, height))]
    for row, (label, cut) in enumerate(rows):
        low = height - ROW * (row + 0.65)
        lines.append(Line("mark", np.array([[0.0, low], [cut, low]])))
        lines.append(Line("trim", np.array([[cut, low - 0.3 * ROW], [cut, low + 0.6 * ROW]])))
        name = f"{label}: {cut * 1e3:.0f} mm"
        lines += [Line("name", np.array([[x, low + 1e-3]]), name) for x in (3e-3, cut - END_WORDS)]
    purpose = "lay the sleeve along it, relaxed, and cut at the end of its row"
    return Template("cutting strip", purpose, tuple(lines), longest)


def _collar(shape: Shape, stack: Stack, name: str, x: float, side: float) -> Template | None:
    """A strip whose edge is the trim line when it is wrapped round the outside."""
    radius = float(np.interp(x, stack.outside.x, stack.outside.r))
    if radius < 2.0 * LEAST_RADIUS:
        return None
    slope = float(shape.profile(np.array([x]))[1][0])
    sine = slope / math.hypot(1.0, slope)
    s = np.array([0.0, side * COLLAR])
    r = radius + sine * s
    round_it = np.linspace(-math.pi, math.pi + TAB / radius, ARC_POINTS)
    trim = cloth.unroll(s[0], r[0], sine, round_it)
    far = cloth.unroll(s[1], r[1], sine, round_it)
    lines = [Line("cut", np.concatenate((trim, far[::-1], trim[:1])))]
    inside = side * EDGE  # tells the edge that counts from the other one
    told = cloth.unroll(s[0] + inside, r[0] + sine * inside, sine, round_it)
    lines.append(Line("mark", told, f"this edge: {name} trim line"))
    for quarter, text in enumerate((*QUARTERS, "0°, ends meet here")):
        azimuth = -math.pi + 0.5 * math.pi * quarter
        lines.append(Line("seam", cloth.unroll(s, r, sine, azimuth), text))
    purpose = (
        f"wrap it round the part, taped where its ends meet: the edge with the line beside it is "
        f"the {name} trim line"
    )
    return Template(f"{name} trim collar", purpose, tuple(lines), 2.0 * math.pi * radius)


def _cards(stack: Stack, marks: Sequence[Mark]) -> list[Template]:
    """The outermost sleeve's tows at each caliper mark; one card for marks that are alike."""
    alike: dict[tuple[str, str], list[tuple[Mark, float]]] = {}
    for mark in marks:
        for number in reversed(range(len(stack.layers))):
            layer = stack.layers[number]
            share, angle = (
                float(np.interp(mark.x, stack.x[number], each[number]))
                for each in (stack.share, stack.angle)
            )
            if isinstance(layer.textile, Sleeve) and share > 0.5:
                key = layer.label, f"{math.degrees(angle):.1f}°"
                alike.setdefault(key, []).append((mark, angle))
                break
    return [_card(label, found) for (label, _), found in alike.items()]


def _card(text: str, found: Sequence[tuple[Mark, float]]) -> Template:
    """A card with the axis and the tows either way across it."""
    angle = found[0][1]
    letters = ", ".join(mark.name for mark, _ in found)
    length, height = CARD
    middle = np.array([0.5 * length, 0.5 * height])
    lines = [
        Line("cut", _box(length, height)),
        Line("centre", np.array([[0.0, middle[1]], [length, middle[1]]])),
    ]
    for way in (1.0, -1.0):
        thread = np.array([math.cos(angle), way * math.sin(angle)])
        reach = float(np.min(middle / np.maximum(np.abs(thread), SLIGHT)))
        lines.append(Line("warp", np.array([middle - reach * thread, middle + reach * thread])))
    for below, words in ((-1e-3, f"{letters}: {math.degrees(angle):.1f}°"), (3.4e-3, text)):
        lines.append(Line("name", np.array([[2e-3, middle[1] - below]]), words))
    places = ", ".join(f"{mark.from_base * 1e3:.0f} mm" for mark, _ in found)
    purpose = (
        f"hold it on mark {letters} ({places} from the base) along the axis: the outermost "
        "sleeve's tows lie along its arrows"
    )
    return Template(f"angle card {letters}", purpose, tuple(lines), math.nan)
