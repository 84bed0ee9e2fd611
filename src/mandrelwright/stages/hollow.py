"""Cavities of a hollow mould: bays of the wall between conical diaphragms that carry themselves."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.stages.turned import Turned, decimate

Array = NDArray[np.float64]

AIR = 2e-3  # m; diameter of the air hole from cavity to cavity: the least that prints open
AIR_WALL = 0.5e-3  # m; from the column to the edge of the air hole: a line of plastic
LEAST = 6e-3  # m; lower or narrower cavities save nothing
NOTHING = 1e-9  # m; no gap between floor and roof
FINE = 0.5e-3  # m; spacing of the points of a cavity's wall


@dataclass(frozen=True)
class Hollow:
    """How a mould is hollow: its wall, diaphragms, their spacing, the column round its holes.

    ``spread`` is the tangent of the steepest overhang: radius lost per height in a roof.
    """

    wall: float
    diaphragm: float
    bay: float
    column: float
    spread: float


def air_distance(column: float) -> float:
    """Distance of the air hole's middle from the axis, m; on it where there is no column."""
    return column + AIR_WALL + AIR / 2.0 if column else 0.0


@dataclass(frozen=True, eq=False)
class Cavity:
    """One sealed room in a mould: its shape, where the air hole may end in it, its bare wall."""

    body: Turned
    air: float
    bay: float
    radius: float


def find_cavities(z: Array, r: Array, low: float, high: float, hollow: Hollow) -> list[Cavity]:
    """Cavities between two heights of a profile (k,), upwards.

    Every roof is a cone of the steepest overhang, closed at the column; the next floor is
    parallel to it, a diaphragm above: f = apex + d/sin s.  The wall's inside is at
    r − t√(1 + r'²), less where that leans more than the printer allows.
    """
    if high - low < LEAST:
        return []
    heights = np.linspace(low, high, math.ceil((high - low) / FINE) + 1)
    slope = np.interp(heights, z, np.gradient(r, z))
    inside = np.interp(heights, z, r) - hollow.wall * np.hypot(1.0, slope)
    wall = _carried(heights, inside, hollow.spread)
    rise = hollow.diaphragm / math.sin(math.atan(hollow.spread))
    found = []
    floor = np.full_like(heights, hollow.column)
    for apex in _apexes(low, high, hollow.bay):
        roof = np.minimum(wall, hollow.column + (apex - heights) * hollow.spread)
        cavity = _cavity(heights, floor, roof, inside, hollow)
        found += [] if cavity is None else [cavity]
        floor = hollow.column + np.maximum(0.0, (apex + rise - heights) * hollow.spread)
    return found


def _carried(heights: Array, wall: Array, spread: float) -> Array:
    """The widest wall within ``wall`` that never leans inwards by more than ``spread``."""
    reach = wall + heights * spread
    reached: Array = np.minimum.accumulate(reach[::-1])[::-1] - heights * spread
    return reached


def _apexes(low: float, high: float, bay: float) -> list[float]:
    """Heights at which roofs close, upwards; the lowest leaves room for a cavity."""
    count = max(1, math.ceil((high - low - LEAST) / bay))
    return [high - bay * left for left in reversed(range(count))]


def _cavity(z: Array, floor: Array, roof: Array, inside: Array, hollow: Hollow) -> Cavity | None:
    """The room between floor and roof, both radii over height; None where it is not worth it."""
    open_ = np.flatnonzero(roof - floor > NOTHING)
    if len(open_) < 2 or np.any(np.diff(open_) > 1):
        return None
    first, last = open_[0], open_[-1]
    ends = [_meet(z, floor, roof, k, k + 1) for k in (first - 1, last) if 0 <= k < len(z) - 1]
    outer = np.column_stack([roof, z])[first : last + 1]
    inner = np.column_stack([floor, z])[first : last + 1]
    below = [point for point in ends if point[1] < z[first]]
    above = [point for point in ends if point[1] > z[last]]
    line = np.array([*below, *outer, *above, *inner[::-1]])
    passes = z[(roof >= air_distance(hollow.column) + AIR / 2.0 + 1e-4) & (floor <= hollow.column)]
    wide = np.max(roof - floor) >= AIR + 2.0 * AIR_WALL
    if len(passes) < 2 or not wide or z[last] - z[first] < LEAST:
        return None
    bare = np.flatnonzero((roof > floor) & (np.abs(roof - inside) < 1e-9))
    length, radius = 0.0, float(np.max(roof))
    if len(bare) > 1:
        length = float(np.hypot(z[bare[-1]] - z[bare[0]], inside[bare[-1]] - inside[bare[0]]))
        radius = float(np.max(inside[bare])) + hollow.wall / 2.0
    return Cavity(Turned(decimate(line)), float(passes.mean()), length, radius)


def _meet(z: Array, floor: Array, roof: Array, low: int, high: int) -> tuple[float, float]:
    """Radius and height at which floor and roof meet between two neighbouring heights."""
    before, after = roof[low] - floor[low], roof[high] - floor[high]
    share = before / (before - after)
    radius = floor[low] + share * (floor[high] - floor[low])
    return float(radius), float(z[low] + share * (z[high] - z[low]))
