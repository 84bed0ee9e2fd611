"""What can go wrong in the stack, and where each sleeve has to end."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.findings import stack as say
from mandrelwright.findings.finding import Finding
from mandrelwright.stages.layers import Layer
from mandrelwright.stages.shape import Shape
from mandrelwright.stages.stack import Stack

Array = NDArray[np.float64]

BEST_ANGLE = np.radians(55.0)  # outermost layer over the largest thing it passes; 50 to 60 is good
MISSING = 1e-3  # m of the part's tip: three of the stations at which the mould may begin
MOVES_CAUTION = 1e-3  # m on diameter
MOVES_STOP = 0.05  # of the drawn diameter


@dataclass(frozen=True)
class Reach:
    """Where one layer can lie as a laminate: x from the tip (m), drawn diameter at its start."""

    layer: Layer
    start: float
    stop: float
    start_diameter: float


def reach(shape: Shape, stack: Stack) -> list[Reach]:
    """For every layer the stretch on which its angle stays between its locks.

    Start: where the angle reaches the lower lock or the least of good practice, whichever is
    larger; stop: where it reaches the upper lock. The layer is judged on its own surface.
    """
    out = []
    x = stack.mould.x
    for layer, free in zip(stack.layers, stack.free_angle, strict=True):
        least = max(layer.textile.lower, layer.textile.practical[0])
        good = (free >= least) & (free <= layer.textile.upper)
        if not good.any():
            out.append(Reach(layer, np.nan, np.nan, np.nan))
            continue
        first, last = np.flatnonzero(good)[[0, -1]]
        start, stop = float(x[first]), float(x[last])
        if first > 0 and free[first - 1] < least:
            start = float(np.interp(least, free[first - 1 : first + 1], x[first - 1 : first + 1]))
        diameter = 2.0 * stack.scale * float(shape.radius(start))
        out.append(Reach(layer, start, stop, diameter))
    return out


def check_stack(shape: Shape, stack: Stack) -> list[Finding]:
    """Sleeves beyond their locks, vanished mould, bare places, a drawing that moves."""
    found = _mould_left(shape, stack) + _bare(shape, stack) + _moves(shape, stack)
    for number, limits in enumerate(reach(shape, stack)):
        found += _layer(shape, stack, number, limits)
    return found


def _mould_left(shape: Shape, stack: Stack) -> list[Finding]:
    """Stop where the layers leave no mould inside the part, or a core too thin to print."""
    begins = float(stack.mould.x[0])
    if begins <= max(shape.tip, shape.start) + MISSING:
        return []
    x = begins if stack.vanishes is None else stack.vanishes
    say_so = say.thin_core if stack.vanishes is None else say.vanishes
    return [say_so(shape.base - x, 2.0 * stack.scale * shape.radius(x), (shape.tip, x))]


def _bare(shape: Shape, stack: Stack) -> list[Finding]:
    """Stretches of the part without a layer."""
    x = stack.mould.x
    empty = (stack.share.max(axis=0) < 0.5) & (x >= shape.tip) & (x <= shape.base)
    found = []
    for first, last in _runs(empty):
        place = (float(x[first]), float(x[last]))
        if not np.any((x >= shape.tip) & (x < x[first])):
            diameter = 2.0 * stack.scale * shape.radius(place[1])
            found.append(say.bare_tip(shape.base - place[1], diameter, (shape.tip, place[1])))
        else:
            found.append(say.bare(place, shape.base))
    return found


def _moves(shape: Shape, stack: Stack) -> list[Finding]:
    """The drawn diameter at the leading fit, before and after the fit is closed."""
    drawn = 2.0 * shape.radius(shape.lead.stop)
    change = abs(stack.scale - 1.0) * drawn
    if change < MOVES_CAUTION:
        return []
    return [say.outside_moves(drawn, stack.scale * drawn, change > MOVES_STOP * drawn)]


def _layer(shape: Shape, stack: Stack, number: int, limits: Reach) -> list[Finding]:
    """One layer against its locks and good practice."""
    layer, free = stack.layers[number], stack.free_angle[number]
    sleeve, x = layer.textile, stack.mould.x
    there = stack.share[number] > 0.5
    inside = there & (x >= shape.tip) & (x <= shape.base)
    found = []
    if layer.stop - layer.start < layer.ramp:
        place = (float(layer.start), float(layer.stop))
        found.append(say.shorter_than_ramps(layer.label, place, layer.ramp))
    if (there & (free > sleeve.upper)).any():
        place = _stretch(x, there & (free > sleeve.upper))
        worst = int(np.argmax(np.where(there, free, -1.0)))
        largest = 2.0 * float(stack.r[number + 1][worst])
        found.append(
            say.cannot_open(
                layer.label,
                float(np.degrees(free[worst])),
                float(np.degrees(sleeve.upper)),
                place,
                shape.base - x[worst],
                largest / (np.sqrt(2.0) * np.sin(BEST_ANGLE)),
            )
        )
    elif (there & (free > sleeve.practical[1])).any():
        place = _stretch(x, there & (free > sleeve.practical[1]))
        most = float(np.degrees(free[there].max()))
        found.append(say.steep(layer.label, most, float(np.degrees(sleeve.practical[1])), place))
    if (inside & (free < sleeve.lower)).any():
        place = _stretch(x, inside & (free < sleeve.lower))
        found.append(
            say.bunches(
                layer.label,
                float(np.degrees(sleeve.lower)),
                place,
                shape.base - place[1],
                limits.start_diameter,
            )
        )
    elif (inside & (free < sleeve.practical[0])).any():
        place = _stretch(x, inside & (free < sleeve.practical[0]))
        least = float(np.degrees(free[inside].min()))
        found.append(say.shallow(layer.label, least, float(np.degrees(sleeve.practical[0])), place))
    return found


def _stretch(x: Array, where: NDArray[np.bool_]) -> tuple[float, float]:
    """First and last x of the places marked."""
    marked = x[where]
    return float(marked[0]), float(marked[-1])


def _runs(where: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First and last index of every unbroken run of marked places."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], where, [False])).astype(int)))
    return [(int(a), int(b) - 1) for a, b in zip(edges[::2], edges[1::2], strict=True)]
