"""Meridian curves (x, r) of surfaces of revolution: slopes, offsets, signed distances.

Every surface of a part is written on the same fixed parameter u (the arc length of the drawn
surface at its nodes), piecewise smooth between joints. The derivative by u is one matrix for
all of them: a cubic spline per piece, so a layer costs a matrix product and no fitting.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


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

    Not-a-knot ends; fourth order inside. ``u`` (n,) increasing, n ≥ 4; returns (n, n).
    """
    n = len(u)
    h = np.diff(u)
    left, right = np.zeros((n, n)), np.zeros((n, n))
    i = np.arange(1, n - 1)
    left[i, i - 1], left[i, i], left[i, i + 1] = h[1:], 2.0 * (h[:-1] + h[1:]), h[:-1]
    back, ahead = 3.0 * h[1:] / h[:-1], 3.0 * h[:-1] / h[1:]
    right[i, i - 1], right[i, i], right[i, i + 1] = -back, back - ahead, ahead
    for row, a, b, sign in ((0, h[0], h[1], 1), (n - 1, h[-1], h[-2], -1)):
        span = a + b
        one, two = row + sign, row + 2 * sign
        left[row, row], left[row, one] = b, span
        first = sign * ((a + 2.0 * span) * b / span) / a
        second = sign * (a * a / span) / b
        right[row, row], right[row, one], right[row, two] = -first, first - second, second
    return np.linalg.solve(left, right)


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
        for a, b in zip(edges[:-1], edges[1:], strict=True):
            self.derivative[a : b + 1, a : b + 1] += spline_derivative(u[a : b + 1])
        self.derivative[list(joints)] *= 0.5

    def tangent(self, curve: Curve) -> Tangent:
        """Unit tangent (cos β, sin β) of a curve on this parameter."""
        dx, dr = self.derivative @ curve.x, self.derivative @ curve.r
        length = np.hypot(dx, dr)
        return Tangent(dx / length, dr / length)

    def arc_length(self, curve: Curve) -> Array:
        """Length along the curve from its first node, (place,) in m, by the slope at the nodes.

        Hermite (corrected trapezium) rule on |dP/du|: fourth order on each piece.
        """
        speed = np.hypot(self.derivative @ curve.x, self.derivative @ curve.r)
        h = np.diff(self.u)
        total = 0.5 * h * (speed[1:] + speed[:-1])
        edges = (0, *self.joints, len(self.u) - 1)
        for a, b in zip(edges[:-1], edges[1:], strict=True):
            piece = slice(a, b)
            growth = spline_derivative(self.u[a : b + 1]) @ speed[a : b + 1]
            total[piece] -= h[piece] ** 2 / 12.0 * np.diff(growth)
        return np.concatenate(([0.0], np.cumsum(total)))

    def distance(self, points: Curve, to: Curve) -> Array:
        """Signed normal distance of points to a curve (positive outside), (place,) in m.

        Between curves, not between points: the foot is found on the cubic Hermite segments of
        ``to`` by Newton steps on the parameter, so nodes need not face each other.
        """
        dx, dr = self.derivative @ to.x, self.derivative @ to.r
        v = self.u.copy()
        for _ in range(3):
            x, r, tx, tr = _hermite(self.u, to.x, to.r, dx, dr, v)
            along = ((points.x - x) * tx + (points.r - r) * tr) / (tx * tx + tr * tr)
            v = v + along
        x, r, tx, tr = _hermite(self.u, to.x, to.r, dx, dr, v)
        length = np.hypot(tx, tr)
        return np.asarray((-(points.x - x) * tr + (points.r - r) * tx) / length)


def _hermite(
    u: Array, x: Array, r: Array, dx: Array, dr: Array, at: Array
) -> tuple[Array, Array, Array, Array]:
    """Position and derivative of the Hermite curve at parameter ``at`` (ends extrapolate)."""
    i = np.clip(np.searchsorted(u, at, side="right") - 1, 0, len(u) - 2)
    h = u[i + 1] - u[i]
    z = (at - u[i]) / h
    out = []
    for y, slope in ((x, dx), (r, dr)):
        rise, a, b = y[i + 1] - y[i], h * slope[i], h * slope[i + 1]
        curve, twist = 3.0 * rise - 2.0 * a - b, a + b - 2.0 * rise
        out.append(y[i] + z * (a + z * (curve + z * twist)))
        out.append((a + z * (2.0 * curve + 3.0 * z * twist)) / h)
    return out[0], out[2], out[1], out[3]
