"""What a layer encloses between its two surfaces is the fibre of the sleeve that was laid.

Left side: volume of revolution between two surfaces of the plan (Green), times ρ_f V_f.
Right side: N T ∫ ds/cos θ on the mid-surface of a layer that the test lays itself, at Gauss
points between the plan's nodes. The two share no array, only the mould curve the test starts
from.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from mandrelwright.plan import Plan
from tests import jobs
from tests.exact.test_build_up import NOSES, lines_of, planned, plies_of
from tests.meridians import Line, Ply

Array = NDArray[np.float64]

POINT, WEIGHT = np.polynomial.legendre.leggauss(6)


def under(x: Array, r: Array) -> float:
    """π ∫ r² dx along a meridian given by nodes of one smooth piece, by its own spline."""
    u = np.concatenate(([0.0], np.cumsum(np.hypot(np.diff(x), np.diff(r)))))
    curve = CubicSpline(u, np.column_stack((x, r)))
    at = (u[1:] + u[:-1])[:, None] / 2 + np.diff(u)[:, None] / 2 * POINT
    value, along = curve(at), curve(at, 1)
    inside = value[..., 1] ** 2 * along[..., 0]
    return float(np.pi * np.sum(inside @ WEIGHT * np.diff(u) / 2))


def frustum(x: Array, r: Array) -> float:
    """π ∫ r² dx along the straight line between two points."""
    return float(np.pi * (x[1] - x[0]) * (r[0] ** 2 + r[0] * r[1] + r[1] ** 2) / 3)


def enclosed(plan: Plan, layer: int, first: int, last: int) -> float:
    """Volume between two surfaces of the plan, nodes ``first`` to ``last``: Green's theorem."""
    here = slice(first, last + 1)
    (x0, x1), (r0, r1) = plan.stack.x[layer : layer + 2], plan.stack.r[layer : layer + 2]
    front = frustum(np.array([x0[first], x1[first]]), np.array([r0[first], r1[first]]))
    back = frustum(np.array([x1[last], x0[last]]), np.array([r1[last], r0[last]]))
    return under(x1[here], r1[here]) - under(x0[here], r0[here]) + front + back


@dataclass(frozen=True)
class Laid:
    """One ply on one smooth piece: N T ∫ ds/cos θ, and the third order of the wall (kg)."""

    tows: float
    third_order: float


def laid_on(line: Line, ply: Ply) -> Laid:
    """Mid-surface of the ply over the piece, ds along the carrier so that a ramp is not longer.

    A point t/2 off a meridian of curvature κ moves (1 + κ t/2) ds. The volume of an offset is
    2π ∫ [t m (1 + κ t/2) + κ cos β t³/12] ds with m = r + t cos β/2 (integrate (r + n cos β)
    (1 + κ n) from 0 to t): its last term is what t m cos θ = c leaves out.
    """
    s = line.s
    at = (s[1:] + s[:-1])[:, None] / 2 + np.diff(s)[:, None] / 2 * POINT
    x, r, cosine, sine = line.at(at.ravel())
    bend_x, bend_r = line.curve(at.ravel(), 2).T
    bending = sine * bend_x - cosine * bend_r  # κ, positive where the mould bulges
    t = ply.net.thickness(r, cosine, ply.share(x))
    along = (1 + bending * t / 2) * tows_per_length(ply, x, r + t * cosine / 2)
    rest = np.pi / 6 * bending * cosine * t**3 * ply.net.density * ply.net.fraction

    def total(integrand: Array) -> float:
        return float(np.sum(integrand.reshape(at.shape) @ WEIGHT * np.diff(s) / 2))

    return Laid(total(along), total(rest))


def tows_per_length(ply: Ply, x: Array, middle: Array) -> Array:
    """N T/cos θ, times the share that lies there (kg/m)."""
    return np.asarray(ply.net.tows * ply.net.tow * ply.share(x) / np.cos(ply.net.angle(middle)))


def turned_at_joint(before: Line, after: Line, ply: Ply) -> float:
    """Tows of the wedge between the normals of two pieces, whose slopes differ at the joint (kg).

    A von Karman nose ends with infinite curvature, which no spline follows to the last node;
    laid apart, the two pieces part by the turn of the normal times the height.
    """
    x, r, cosine, sine = (float(v[0]) for v in before.at(before.s[-1:]))
    next_x, next_r, next_cosine, next_sine = (float(v[0]) for v in after.at(after.s[:1]))
    apart = (next_x - x) * cosine + (next_r - r) * sine
    turn = np.arctan2(sine, cosine) - np.arctan2(next_sine, next_cosine)
    here = np.array([x])
    t = ply.net.thickness(np.array([r]), np.array([cosine]), ply.share(here))
    length = apart + turn * t / 2
    return float((length * tows_per_length(ply, here, r + t * cosine / 2))[0])


def masses(plan: Plan) -> list[tuple[float, float, float]]:
    """Fibre of every layer (kg): from its surfaces, from its tows, and the third order."""
    stack, lines = plan.stack, lines_of(plan)
    pieces = list(pairwise([0, *stack.meridian.joints, len(stack.mould.x) - 1]))
    out = []
    for number, ply in enumerate(plies_of(plan)):
        volume = sum(enclosed(plan, number, first, last) for first, last in pieces)
        laid = [laid_on(line, ply) for line in lines]
        tows = sum(piece.tows for piece in laid)
        tows += sum(turned_at_joint(*pair, ply) for pair in pairwise(lines))
        third = sum(piece.third_order for piece in laid)
        out.append((volume * ply.net.density * ply.net.fraction, tows, third))
        lines = [line.over(ply) for line in lines]
    return out


@pytest.mark.parametrize("name", NOSES)
def test_volume_between_surfaces_is_the_fibre_of_the_tows(name: str) -> None:
    """At 1600 places splines through the last millimetres of a tip err by 1.5e-7 at most."""
    for volume, tows, third_order in masses(planned(name, 1600)):
        assert volume == pytest.approx(tows + third_order, rel=2e-7)


@pytest.mark.parametrize("name", ["von Karman", "LV-Haack", "power"])
def test_third_order_is_nothing_on_a_slender_nose(name: str) -> None:
    """κ t²/12 r is 2e-7 where κ is 1/0.8 m; on tips of a few millimetres it grows to 1e-5."""
    for places in (400, 1600):
        for volume, tows, _ in masses(planned(name, places)):
            assert volume == pytest.approx(tows, rel=1e-6)


def test_on_a_tube_it_is_arithmetic() -> None:
    """π (r_out² − r_in²) ρ_f V_f = N T/cos θ per length, by the numbers of the sleeve alone."""
    stack = planned("von Karman", 400).stack
    node = len(stack.mould.x) - 2
    inner, outer = stack.r[2, node], stack.r[3, node]  # the first of the big sleeves
    density = jobs.library().fibres["E-glass"]["density"].value
    sine = (inner + outer) / 2 / (0.084 / np.sqrt(2))
    fibre = np.pi * (outer**2 - inner**2) * density * 0.40
    assert fibre == pytest.approx(144 * 600e-6 / np.sqrt(1 - sine**2), rel=1e-12)
