"""Splines, arc lengths and normal distances against scipy and closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.interpolate import CubicHermiteSpline, CubicSpline
from scipy.optimize import brentq
from scipy.special import ellipeinc

from mandrelwright.physics import braid
from mandrelwright.physics.curves import Curve, Meridian, Tangent, hermite, spline_derivative

Array = NDArray[np.float64]

RANDOM = np.random.default_rng(20)


@pytest.mark.parametrize("count", [4, 5, 6, 11, 60])
def test_derivative_matrix_is_that_of_the_not_a_knot_spline(count: int) -> None:
    """scipy's spline with the same ends, on nodes whose gaps differ twentyfold."""
    u = np.cumsum(RANDOM.uniform(0.05, 1.0, count))
    y = RANDOM.standard_normal((count, 3))
    found = spline_derivative(u) @ y
    np.testing.assert_allclose(found, CubicSpline(u, y)(u, 1), rtol=1e-9, atol=1e-10)


def test_derivative_matrix_knows_cubics() -> None:
    u = np.cumsum(RANDOM.uniform(0.1, 1.0, 9))
    np.testing.assert_allclose(spline_derivative(u) @ u**3, 3 * u**2, rtol=1e-11)
    np.testing.assert_allclose(spline_derivative(u) @ np.ones(9), 0.0, atol=1e-12)


def test_hermite_is_scipys() -> None:
    u = np.cumsum(RANDOM.uniform(0.1, 1.0, 12))
    y, slope = RANDOM.standard_normal((2, 12))
    at = RANDOM.uniform(u[0] - 0.1, u[-1] + 0.1, 200)
    value, along = hermite(u, y, slope, at)
    same = CubicHermiteSpline(u, y, slope)
    np.testing.assert_allclose(value, same(at), rtol=1e-10, atol=1e-10)
    np.testing.assert_allclose(along, same(at, 1), rtol=1e-9, atol=1e-9)


def circle(radius: float, turn: Array) -> Curve:
    return Curve(radius * np.cos(turn), radius * np.sin(turn))


TURN = np.linspace(2.6, 0.4, 120)  # tip to base over the top of a circle


def test_arc_length_of_circle_and_ellipse() -> None:
    """R Δφ, and the incomplete elliptic integral of the second kind.

    The rule is of fourth order: 120 places on 2.2 radians leave (0.018)⁴ = 1e-7 and less.
    """
    meridian = Meridian(TURN[0] - TURN)
    length = meridian.arc_length(circle(0.3, TURN))
    np.testing.assert_allclose(length, 0.3 * (TURN[0] - TURN), rtol=1e-7, atol=1e-10)
    ellipse = Curve(0.3 * np.cos(TURN), 0.1 * np.sin(TURN))
    from_axis = ellipeinc(TURN - np.pi / 2, 1 - (0.1 / 0.3) ** 2)
    expected = 0.3 * (from_axis[0] - from_axis)
    np.testing.assert_allclose(meridian.arc_length(ellipse), expected, rtol=2e-6, atol=1e-9)


def test_tangent_of_a_circle_is_square_to_its_radius() -> None:
    meridian = Meridian(TURN[0] - TURN)
    tangent = meridian.tangent(circle(0.3, TURN))
    # third order at the two ends, (0.0185)³/6 = 1e-6, fourth inside
    np.testing.assert_allclose(tangent.cosine, np.sin(TURN), atol=2e-6)
    np.testing.assert_allclose(tangent.sine, -np.cos(TURN), atol=2e-6)
    np.testing.assert_allclose(tangent.cosine[4:-4], np.sin(TURN[4:-4]), atol=1e-8)


def test_moved_curve_lies_at_its_distance() -> None:
    moved = circle(0.3, TURN).moved(Tangent(np.sin(TURN), -np.cos(TURN)), 0.004)
    np.testing.assert_allclose(np.hypot(moved.x, moved.r), 0.304, rtol=1e-14)


def test_distance_between_circles_whose_nodes_do_not_face() -> None:
    """Concentric circles are R2 − R1 apart, wherever their nodes lie."""
    meridian = Meridian(TURN[0] - TURN)
    shifted = TURN + 0.004 * np.sin(5 * TURN)
    for outer in (0.302, 0.299):
        gap = meridian.distance(circle(outer, shifted), circle(0.3, TURN))
        # a cubic through nodes 5.5 mm apart leaves R (0.0185)⁴/384 = 1e-10 m of a circle; the
        # slope at an end errs by 1e-6, which bulges 4/27 of a gap: 8e-10 m
        np.testing.assert_allclose(gap, outer - 0.3, rtol=0.0, atol=1e-9)
        np.testing.assert_allclose(gap[4:-4], outer - 0.3, rtol=0.0, atol=1.2e-10)


def test_distance_to_a_cone_is_exact() -> None:
    """A straight meridian: |a x + b r + c|, signed outwards, also beyond its ends."""
    x = np.sort(RANDOM.uniform(0.0, 0.4, 50))
    cone = Curve(x, 0.02 + 0.1 * x)
    points = Curve(x + RANDOM.uniform(-2e-3, 2e-3, 50), cone.r + RANDOM.uniform(-1e-3, 3e-3, 50))
    expected = (points.r - 0.02 - 0.1 * points.x) / np.hypot(1.0, 0.1)
    gap = Meridian(x * np.hypot(1.0, 0.1)).distance(points, cone)
    np.testing.assert_allclose(gap, expected, atol=1e-15)


def test_pieces_do_not_smear_over_a_joint() -> None:
    """A cylinder after a cone: each keeps its own slope up to the joint, which takes the mean."""
    x = np.linspace(0.0, 1.0, 21)
    bent = Curve(x, np.where(x < 0.5, 0.1 + 0.2 * x, 0.2))
    slope = Meridian(x, (10,)).derivative @ bent.r
    np.testing.assert_allclose(slope[:10], 0.2, rtol=1e-12)
    np.testing.assert_allclose(slope[11:], 0.0, atol=1e-12)
    assert slope[10] == pytest.approx(0.1, rel=1e-12)


def test_thickness_over_and_under_are_inverse_at_every_angle() -> None:
    """From far below the lower lock to beyond the upper one, on cones and cylinders."""
    lower, upper = np.radians((20.0, 70.0))
    inner = RANDOM.uniform(0.004, 0.056, 2000)
    cosine = np.cos(np.radians(RANDOM.uniform(-30.0, 30.0, 2000)))
    constant = RANDOM.uniform(0.0, 1.3e-5, 2000)
    t = braid.thickness_over(inner, cosine, constant, 0.042, lower, upper)
    outer = inner + t * cosine
    back = braid.thickness_under(outer, cosine, constant, 0.042, lower, upper)
    np.testing.assert_allclose(back, t, rtol=1e-9, atol=1e-15)
    middle = inner + t * cosine / 2
    held = np.clip(np.arcsin(np.minimum(middle / (np.sqrt(2) * 0.042), 1.0)), lower, upper)
    np.testing.assert_allclose(t * middle * np.cos(held), constant, rtol=1e-11, atol=1e-20)


def test_jam_roots_by_bisection() -> None:
    """s(θ) = 4π r cos θ/N on the net equals the tow's width at both locks and nowhere else."""

    def excess(theta: float) -> float:
        r = np.sqrt(2) * 0.042 * np.sin(theta)
        return float(4 * np.pi * r * np.cos(theta) / 144 - 1.9e-3)

    low, high = brentq(excess, 0.01, np.pi / 4), brentq(excess, np.pi / 4, 1.56)
    free = braid.lock_angles(0.042, 144, 1.9e-3, (0.0, np.pi / 2))
    assert free == pytest.approx((low, high), abs=1e-11)
    held = braid.lock_angles(0.042, 144, 1.9e-3, (np.radians(25.0), np.radians(60.0)))
    assert held == pytest.approx(np.radians((25.0, 60.0)), rel=1e-14)
    with pytest.raises(ValueError, match="wider than"):
        braid.lock_angles(0.042, 144, 3.0e-3)
