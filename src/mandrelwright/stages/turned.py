"""Solids of revolution about vertical axes: what segments and bench aids are put together from."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Rows = NDArray[np.int64]

FLATNESS = 1.25e-6  # m; a quarter of the meshes' chord, facets at equal area use up to 2/3 of it


@dataclass(frozen=True, eq=False)
class Turned:
    """A solid turned about the vertical axis through (x, y).

    ``contour`` (k, 2) is its closed outline, radius and height, m, counter-clockwise with the
    radius to the right; its last point joins its first.
    """

    contour: Array
    x: float = 0.0
    y: float = 0.0

    @property
    def volume(self) -> float:
        """Volume by Pappus' rule over frusta: V = π/3 Σ (z' − z)(r² + r r' + r'²), m³."""
        r, z = self.contour.T
        after_r, after_z = np.roll(r, -1), np.roll(z, -1)
        return math.pi / 3 * float(np.sum((after_z - z) * (r * r + r * after_r + after_r**2)))

    def at(self, x: float, y: float, rise: float = 0.0) -> Turned:
        """The same solid elsewhere."""
        return replace(self, contour=self.contour + np.array([0.0, rise]), x=x, y=y)


def pillar(radius: float, low: float, high: float) -> Turned:
    """A round bar from one height to another, m."""
    return Turned(np.array([[0.0, low], [radius, low], [radius, high], [0.0, high]]))


def steepest_face(contour: Array, hollow: bool = False) -> float:
    """Greatest overhang of a contour's faces, rad from vertical: 0 a wall, π/2 a flat ceiling.

    tan = dr/|dz| of every edge whose solid lies above it; a flat lowest face stands on the bed.
    With ``hollow`` the contour bounds a cavity in a solid.
    """
    line = contour[::-1] if hollow else contour
    dr, dz = (np.roll(line, -1, axis=0) - line).T
    on_bed = (line[:, 1] == line[:, 1].min()) & (dz == 0.0) & (not hollow)
    hangs = (dr > 0.0) & ~on_bed
    return float(np.max(np.arctan2(dr, np.abs(dz)), where=hangs, initial=0.0))


@dataclass(frozen=True)
class Dowel:
    """A tapered pin and its socket, sizes as in the print file, m.

    The socket's side runs parallel to the pin's at ``gap``; its roof is a cone, so that it
    prints without support.  ``roof`` is its rise over its radius.
    """

    radius: float
    length: float
    taper: float
    gap: float
    roof: float

    SUNK = 1e-3  # m; the root reaches into the segment it stands on: solids never just touch
    LEAD = 0.3  # of the tip's radius, chamfered at 45 degrees
    SPARE = 0.5e-3  # m; the socket is deeper than the pin

    @property
    def mouth(self) -> float:
        """Radius of the socket where it opens, m: gap/cos(taper) more than the root."""
        return self.radius + self.gap / math.cos(self.taper)

    @property
    def chamfer(self) -> float:
        """Height of the pin's chamfer, m."""
        return self.LEAD * (self.radius - self.length * math.tan(self.taper))

    @property
    def height(self) -> float:
        """How far the pin stands out, m."""
        return self.length + self.chamfer

    @property
    def depth(self) -> float:
        """Depth of the socket to the point of its roof, m."""
        return float(self.socket().contour[:, 1].max())

    @property
    def added(self) -> float:
        """Volume that a pin adds over its face, m³."""
        return self.pin().volume - math.pi * self.radius**2 * self.SUNK

    @property
    def removed(self) -> float:
        """Volume that a socket takes over its face, m³."""
        return self.socket().volume - math.pi * self.mouth**2 * self.SUNK

    def pin(self) -> Turned:
        """The pin on a face at height 0, with its root sunk into it."""
        tip = self.radius - self.length * math.tan(self.taper)
        line = [
            (0.0, -self.SUNK),
            (self.radius, -self.SUNK),
            (self.radius, 0.0),
            (tip, self.length),
            (tip - self.chamfer, self.height),
            (0.0, self.height),
        ]
        return Turned(np.array(line))

    def socket(self) -> Turned:
        """What is taken out above a face at height 0; it sticks out below."""
        straight = self.height + self.SPARE
        end = self.mouth - straight * math.tan(self.taper)
        line = [
            (0.0, -self.SUNK),
            (self.mouth, -self.SUNK),
            (self.mouth, 0.0),
            (end, straight),
            (0.0, straight + self.roof * end),
        ]
        return Turned(np.array(line))


def decimate(points: Array, tolerance: float = FLATNESS) -> Array:
    """Drop points of a line (n, 2) that lie within `tolerance` of the line that remains."""
    return decimate_all([points], tolerance)[0]


def decimate_all(lines: Sequence[Array], tolerance: float = FLATNESS) -> list[Array]:
    """The same for many lines at once.

    Repeatedly splits at the farthest point, keeps both ends (Ramer 1972, Douglas & Peucker 1973;
    from memory).
    """
    if not lines:
        return []
    points, lengths = np.concatenate(lines), np.array([len(line) for line in lines])
    stops = np.cumsum(lengths)
    x, y = np.ascontiguousarray(points.T)
    first, last = _wide(stops - lengths, stops - 1)
    keep = np.zeros(len(points), dtype=bool)
    keep[(stops - lengths)[lengths > 0]] = keep[(stops - 1)[lengths > 0]] = True
    while len(first):  # all spans of one depth at once
        inside = last - first - 1
        starts = np.cumsum(inside) - inside
        span = np.repeat(np.arange(len(first)), inside)
        rows = np.arange(len(span)) - (starts - first - 1)[span]
        ends = [line[at][span] for at in (first, last) for line in (x, y)]
        distance = _distance(x[rows], y[rows], *ends)
        most = np.maximum.reduceat(distance, starts)
        farthest = np.flatnonzero(distance == most[span])
        middle = rows[farthest[np.searchsorted(span[farthest], np.arange(len(first)))]]
        split = most > tolerance
        middle, first, last = middle[split], first[split], last[split]
        keep[middle] = True
        first, last = _wide(np.concatenate((first, middle)), np.concatenate((middle, last)))
    own = [slice(stop - length, stop) for stop, length in zip(stops, lengths, strict=True)]
    return [points[line][keep[line]] for line in own]


def _wide(first: Rows, last: Rows) -> tuple[Rows, Rows]:
    """Spans that have points inside."""
    wide = last - first > 1
    return first[wide], last[wide]


def _distance(x: Array, y: Array, x0: Array, y0: Array, x1: Array, y1: Array) -> Array:
    """Distance of each point (x, y) from its own segment from (x0, y0) to (x1, y1)."""
    along_x, along_y = x1 - x0, y1 - y0
    off_x, off_y = x - x0, y - y0
    share = (off_x * along_x + off_y * along_y) / (along_x * along_x + along_y * along_y)
    share = np.minimum(np.maximum(share, 0.0), 1.0)
    beside_x, beside_y = off_x - share * along_x, off_y - share * along_y
    return np.sqrt(beside_x * beside_x + beside_y * beside_y)
