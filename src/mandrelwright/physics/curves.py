"""Meridian curves (x, r) of surfaces of revolution: slopes, offsets, signed distances.

Every surface of a part is written on the same fixed parameter u (the arc length of the drawn
surface at its nodes), piecewise smooth between joints. The derivative by u is one matrix for
all of them: a cubic spline per piece, so a layer costs a matrix product and no fitting.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

FOOT_STEPS = 3  # Newton steps to the foot of a normal; curves lie within a wall of each other


@dataclass(frozen=True)
class Curve:
    """A meridian: x from the tip and radius r, both (place,), in m."""

    x: Array
    r: Array

    def moved(self, tangent: Tangent, distance: Array | float) -> Curve:
        """The curve shifted along its outward normal by ``distance`` (m, positive outwards)."""
        return Curve(self.x - distance * tangent.sine, self.r + distance * tangent.cosine)


@dataclass(frozen=True)
class Tangent:
    """Unit tangent of a curve at its nodes: (cosine, sine) of the slope angle β, (place,)."""

    cosine: Array
    sine: Array


def spline_derivative(u: Array) -> Array:
    """Matrix D with D @ y the derivative at the nodes of the cubic spline through (u, y).

    h_i y'_{i−1} + 2(h_{i−1} + h_i) y'_i + h_{i−1} y'_{i+1} = 3(h_i s_{i−1} + h_{i−1} s_i), s the
    slopes of the chords, not-a-knot at both ends; fourth order inside. ``u`` (n,) increasing,
    n ≥ 4; returns (n, n).
    """
    n = len(u)
    h = np.diff(u)
    below, middle, above = np.zeros(n), np.zeros(n), np.zeros(n)
    right = np.zeros((n, n))
    i = np.arange(1, n - 1)
    below[i], middle[i], above[i] = h[1:], 2.0 * (h[:-1] + h[1:]), h[:-1]
    back, ahead = 3.0 * h[1:] / h[:-1], 3.0 * h[:-1] / h[1:]
    right[i, i - 1], right[i, i], right[i, i + 1] = -back, back - ahead, ahead
    for row, a, b, sign in ((0, h[0], h[1], 1), (n - 1, h[-1], h[-2], -1)):
        span = a + b
        one, two = row + sign, row + 2 * sign
        middle[row] = b
        (above if sign > 0 else below)[row] = span
        first = sign * ((a + 2.0 * span) * b / span) / a
        second = sign * (a * a / span) / b
        right[row, row], right[row, one], right[row, two] = -first, first - second, second
    return _solve_tridiagonal(below, middle, above, right)


def _solve_tridiagonal(below: Array, middle: Array, above: Array, right: Array) -> Array:
    """Solution of a tridiagonal system for all columns of ``right``, by elimination in rows.

    n row operations instead of the n³ of a dense solver, which also would wake every core.
    """
    pivots, rows = [float(middle[0])], list(right)  # views of its rows, changed in place
    uppers = above.tolist()
    for a, b, c, row, under in zip(
        below[1:].tolist(), middle[1:].tolist(), uppers, rows, rows[1:], strict=False
    ):
        factor = a / pivots[-1]
        pivots.append(b - factor * c)
        under -= factor * row
    right /= np.array(pivots)[:, None]
    for c, pivot, row, under in zip(
        uppers[-2::-1], pivots[-2::-1], rows[-2::-1], rows[:0:-1], strict=True
    ):
        row -= c / pivot * under
    return right


class Meridian:
    """Fixed parameter u and its derivative matrix for all surfaces of one part.

    ``joints`` are the node indices at which smooth pieces meet; there the two one-sided
    slopes are averaged (they agree when the surface is smooth).
    """

    def __init__(self, u: Array, joints: tuple[int, ...] = ()) -> None:
        self.u = u
        self.joints = joints
        n = len(u)
        self.derivative = np.zeros((n, n))
        edges = (0, *joints, n - 1)
        for a, b in pairwise(edges):
            self.derivative[a : b + 1, a : b + 1] += spline_derivative(u[a : b + 1])
        self.derivative[list(joints)] *= 0.5

    def slopes(self, curve: Curve) -> Array:
        """dx/du and dr/du at the nodes, (2, place)."""
        return np.stack((curve.x, curve.r)) @ self.derivative.T

    def tangent(self, curve: Curve) -> Tangent:
        """Unit tangent (cos β, sin β) of a curve on this parameter."""
        dx, dr = self.slopes(curve)
        length = np.hypot(dx, dr)
        return Tangent(dx / length, dr / length)

    def arc_length(self, curve: Curve) -> Array:
        """Length along the curve from its first node, (place,) in m, by the slope at the nodes.

        Corrected trapezium rule on |dP/du|: fourth order on each piece.
        """
        speed = np.hypot(*self.slopes(curve))
        h = np.diff(self.u)
        total = 0.5 * h * (speed[1:] + speed[:-1])
        total -= h**2 / 12.0 * np.diff(self.derivative @ speed)
        return np.concatenate(([0.0], np.cumsum(total)))

    def distance(self, points: Curve, to: Curve) -> Array:
        """Signed normal distance of points to a curve (positive outside), (place,) in m.

        Between curves, not between points: the foot is found on the cubic Hermite segments of
        ``to`` by Newton steps on the parameter, so nodes need not face each other.
        """
        dx, dr = self.slopes(to)
        v = self.u
        for step in range(FOOT_STEPS + 1):
            x, along_x = hermite(self.u, to.x, dx, v)
            r, along_r = hermite(self.u, to.r, dr, v)
            gap_x, gap_r = points.x - x, points.r - r
            speed2 = along_x * along_x + along_r * along_r
            if step < FOOT_STEPS:
                v = v + (gap_x * along_x + gap_r * along_r) / speed2
        return np.asarray((gap_r * along_x - gap_x * along_r) / np.sqrt(speed2))


def hermite(u: Array, y: Array, slope: Array, at: Array) -> tuple[Array, Array]:
    """Value and derivative at ``at`` of the piecewise cubic with nodes u, values y, slopes.

    u (n,) increasing; beyond the ends the first and last cubic go on.
    """
    i = np.clip(np.searchsorted(u, at, side="right") - 1, 0, len(u) - 2)
    h = u[i + 1] - u[i]
    z = (at - u[i]) / h
    rise, a, b = y[i + 1] - y[i], h * slope[i], h * slope[i + 1]
    bend, twist = 3.0 * rise - 2.0 * a - b, a + b - 2.0 * rise
    value = y[i] + z * (a + z * (bend + z * twist))
    return value, (a + z * (2.0 * bend + 3.0 * z * twist)) / h
