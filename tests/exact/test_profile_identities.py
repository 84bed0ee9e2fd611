"""Profile identities: slopes, ends, volumes in closed form, tangent spheres."""

from __future__ import annotations

import numpy as np
import pytest

from mandrelwright.physics.profiles import PROFILES, Blunting, blunt, blunting, nose

L, R = 0.392, 0.049
SHAPES = [
    ("cone", None),
    ("tangent ogive", None),
    ("secant ogive", 3.0),
    ("secant ogive", 0.9),
    ("ellipsoid", None),
    ("parabola", 0.0),
    ("parabola", 0.6),
    ("parabola", 1.0),
    ("power", 0.5),
    ("power", 0.75),
    ("power", 1.0),
    ("Haack", 0.0),
    ("Haack", 1.0 / 3.0),
    ("Haack", 2.0 / 3.0),
    ("von Karman", None),
]
SQUARE_TIPS = {"ellipsoid", "Haack", "von Karman"}
SQUARE_POWERS = {("power", 0.5), ("power", 0.75)}
CLOSED = ("tangent ogive", "ellipsoid", "Haack", "von Karman")  # meet the cylinder without a corner
EIGHTH_ORDER = ((1, 4.0 / 5.0), (2, -1.0 / 5.0), (3, 4.0 / 105.0), (4, -1.0 / 280.0))


def test_every_profile_is_tested() -> None:
    assert {kind for kind, _ in SHAPES} == set(PROFILES)


@pytest.mark.parametrize(("kind", "parameter"), SHAPES)
def test_ends(kind: str, parameter: float | None) -> None:
    r, slope = nose(kind, [0.0, L], L, R, parameter)
    assert r[0] == 0.0
    assert r[1] == pytest.approx(R, rel=1e-14)
    assert np.isinf(slope[0]) == (kind in SQUARE_TIPS or (kind, parameter) in SQUARE_POWERS)
    assert np.isfinite(slope[1])
    if kind in CLOSED or (kind, parameter) == ("parabola", 1.0):
        assert abs(slope[1]) < 1e-14


@pytest.mark.parametrize(("kind", "parameter"), SHAPES)
def test_slope_is_the_derivative(kind: str, parameter: float | None) -> None:
    """Central differences of eighth order, steps shrinking towards both ends."""
    x = L * np.sin(0.5 * np.pi * np.linspace(0.05, 0.95, 31)) ** 2
    h = 0.02 * np.minimum(x, L - x)

    def radius(at: np.ndarray) -> np.ndarray:
        return nose(kind, at, L, R, parameter)[0]

    difference = sum(w * (radius(x + n * h) - radius(x - n * h)) for n, w in EIGHTH_ORDER) / h
    slope = nose(kind, x, L, R, parameter)[1]
    np.testing.assert_allclose(slope, difference, rtol=1e-9, atol=1e-12)


def volume(kind: str, parameter: float | None) -> float:
    """π ∫ r² dx over L πR², by Gauss points in v of x = L sin²(πv/2)."""
    nodes, weights = np.polynomial.legendre.leggauss(60)
    v = 0.5 * (nodes + 1.0)
    x = L * np.sin(0.5 * np.pi * v) ** 2
    dx = 0.25 * np.pi * weights * L * np.sin(np.pi * v)
    r, _ = nose(kind, x, L, R, parameter)
    return float(r * r @ dx) / (R * R * L)


@pytest.mark.parametrize("n", [0.5, 0.6, 0.75, 1.0])
def test_power_volume(n: float) -> None:
    assert volume("power", n) == pytest.approx(1.0 / (2.0 * n + 1.0), rel=1e-9)


@pytest.mark.parametrize("K", [0.0, 0.3, 0.75, 1.0])
def test_parabola_volume(K: float) -> None:
    assert volume("parabola", K) == pytest.approx((4 / 3 - K + K * K / 5) / (2 - K) ** 2, rel=1e-9)


@pytest.mark.parametrize("C", [0.0, 0.2, 1.0 / 3.0, 2.0 / 3.0])
def test_haack_volume(C: float) -> None:
    assert volume("Haack", C) == pytest.approx(0.5 + 3.0 * C / 16.0, rel=1e-9)


@pytest.mark.parametrize("rho", [0.9, 1.5925, 3.0])
def test_ogive_volume(rho: float) -> None:
    """π ∫ (√(ρ² − (a − x)²) − d)² dx in closed form, centre from its two distances."""
    chord = np.hypot(L, R)
    reach = np.arccos(chord / (2.0 * rho)) - np.arctan2(R, L)
    a, d = rho * np.cos(reach), rho * np.sin(reach)

    def half_segment(u: float) -> float:
        return float(0.5 * (u * np.sqrt(rho * rho - u * u) + rho * rho * np.arcsin(u / rho)))

    disc = (rho * rho + d * d) * L - (a**3 - (a - L) ** 3) / 3.0
    expected = (disc - 2.0 * d * (half_segment(a) - half_segment(a - L))) / (R * R * L)
    assert volume("secant ogive", rho) == pytest.approx(expected, rel=1e-9)


def test_secant_ogive_of_the_tangent_radius_is_the_tangent_ogive() -> None:
    x = np.linspace(0.0, L, 50)
    rho = (R * R + L * L) / (2.0 * R)
    np.testing.assert_allclose(
        nose("secant ogive", x, L, R, rho), nose("tangent ogive", x, L, R), rtol=1e-9, atol=1e-15
    )


@pytest.mark.parametrize(("kind", "parameter"), SHAPES)
def test_sphere_touches_and_stays_inside(kind: str, parameter: float | None) -> None:
    b = 0.012
    sphere = blunting(kind, L, R, b, parameter)
    r, slope = nose(kind, sphere.tangency, L, R, parameter)
    assert np.hypot(sphere.tangency - sphere.centre, r) == pytest.approx(b, rel=1e-12)
    assert slope == pytest.approx((sphere.centre - sphere.tangency) / r, rel=1e-9)
    x = np.linspace(sphere.apex, sphere.tangency, 200)
    capped, _ = blunt(kind, x, L, R, b, parameter)
    assert capped[0] == pytest.approx(0.0, abs=1e-9)
    assert np.all(capped <= nose(kind, x, L, R, parameter)[0] + 1e-12)
    behind = np.linspace(sphere.tangency + 1e-9, L, 50)
    np.testing.assert_array_equal(
        blunt(kind, behind, L, R, b, parameter), nose(kind, behind, L, R, parameter)
    )


@pytest.mark.parametrize(("kind", "parameter"), SHAPES)
def test_blunt_joins_smoothly(kind: str, parameter: float | None) -> None:
    sphere, step = blunting(kind, L, R, 0.012, parameter), 1e-10
    ends = np.array([sphere.tangency - step, sphere.tangency + step])
    r, slope = blunt(kind, ends, L, R, 0.012, parameter)
    assert abs(r[1] - r[0]) < 1e-9
    assert abs(slope[1] - slope[0]) < 1e-6
    apex = blunt(kind, [sphere.apex - 1e-6, sphere.apex + 1e-12], L, R, 0.012, parameter)
    assert np.isnan(apex[0][0])
    assert apex[1][1] > 1e3


def test_blunted_cone_in_closed_form() -> None:
    """Tangency at r = b cos β, centre at b/sin β from the virtual tip."""
    b, beta = 0.010, np.arctan2(R, L)
    expected = Blunting(b / np.sin(beta) - b, b / np.sin(beta), b * np.cos(beta) / np.tan(beta))
    np.testing.assert_allclose(blunting("cone", L, R, b), expected, rtol=1e-12)


def test_blunted_tangent_ogive_in_closed_form() -> None:
    """Crowell 1996 (from memory): x0 = L − √((ρ − b)² − (ρ − R)²), r_t = b (ρ − R)/(ρ − b)."""
    b, rho = 0.010, (R * R + L * L) / (2.0 * R)
    centre = L - np.sqrt((rho - b) ** 2 - (rho - R) ** 2)
    touch = b * (rho - R) / (rho - b)
    expected = Blunting(centre - b, centre, centre - np.sqrt(b * b - touch * touch))
    np.testing.assert_allclose(blunting("tangent ogive", L, R, b), expected, rtol=1e-9)


@pytest.mark.parametrize(
    ("kind", "parameter", "complaint"),
    [
        ("bullet", None, "no nose profile"),
        ("power", None, "needs its exponent"),
        ("power", 0.0, "flat-ended"),
        ("power", 1.5, "exponent is 1.5"),
        ("parabola", 1.01, "fullness"),
        ("Haack", 0.7, "parameter C"),
        ("secant ogive", 0.15, "radius is too small"),
    ],
)
def test_refuses(kind: str, parameter: float | None, complaint: str) -> None:
    with pytest.raises(ValueError, match=complaint):
        nose(kind, 0.1, L, R, parameter)


@pytest.mark.parametrize(("kind", "b"), [("cone", 0.0), ("cone", 0.06), ("ellipsoid", 0.004)])
def test_refuses_a_sphere_that_cannot_touch(kind: str, b: float) -> None:
    with pytest.raises(ValueError, match="no sphere"):
        blunting(kind, L, R, b)
