"""Flat cloth rolled up again in space by the test's own geometry."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from mandrelwright.physics import cloth

Array = NDArray[np.float64]


def rolled(points: Array, front: float, sine: float) -> Array:
    """Flat points rolled onto a cone of front radius ``front``: polar about the flat apex.

    Independent of the map under test: the apex lies front/sin β before X = 0; a flat polar
    angle is sin β times the azimuth, a flat polar radius is the slant length.
    """
    apex = -front / sine
    slant = np.hypot(points[..., 0] - apex, points[..., 1])
    azimuth = np.arctan2(points[..., 1], points[..., 0] - apex) / sine
    radius = slant * sine
    height = slant * math.cos(math.asin(sine))
    return np.stack((height, radius * np.cos(azimuth), radius * np.sin(azimuth)), axis=-1)


CONES = ((0.020, 0.050, 0.15), (0.038, 0.0495, 0.15), (0.030, 0.060, 0.04))


@pytest.mark.parametrize(("front", "back", "length"), CONES)
def test_a_sector_meets_itself_when_rolled_up(front: float, back: float, length: float) -> None:
    slant = math.hypot(length, back - front)
    sine = (back - front) / slant
    s = np.linspace(0.0, slant, 40)
    r = front + sine * s
    left, right = (cloth.unroll(s, r, sine, side * math.pi) for side in (-1.0, 1.0))
    one, other = rolled(left, front, sine), rolled(right, front, sine)
    assert np.abs(one - other).max() < 1e-12
    assert np.ptp(one[:, 0]) == pytest.approx(length, rel=1e-12)
    # textbook sector: radii r/sin β, central angle 2π sin β; area π (r1 + r2)·slant
    assert np.hypot(left[:, 0] + front / sine, left[:, 1]) == pytest.approx(r / sine, rel=1e-12)
    arc = np.linspace(-math.pi, math.pi, 4001)
    outline = np.concatenate(
        (
            cloth.unroll(0.0, front, sine, arc),
            right,
            cloth.unroll(slant, back, sine, arc[::-1]),
            left[::-1],
        )
    )
    assert cloth.outline_area(outline) == pytest.approx(math.pi * (front + back) * slant, rel=1e-6)


@pytest.mark.parametrize(("front", "back", "length"), CONES)
def test_lengths_are_kept_by_rolling(front: float, back: float, length: float) -> None:
    """A wavy line drawn on the flat cloth is as long on the cone."""
    slant = math.hypot(length, back - front)
    sine = (back - front) / slant
    s = slant * (0.5 + 0.4 * np.sin(np.linspace(0.0, 9.0, 40001)))
    psi = np.linspace(-3.0, 3.0, len(s))
    flat = cloth.unroll(s, front + sine * s, sine, psi)
    solid = rolled(flat, front, sine)
    lengths = [np.hypot.reduce(np.diff(line, axis=0), axis=1).sum() for line in (flat, solid)]
    assert lengths[0] == pytest.approx(lengths[1], rel=1e-7)
    assert np.hypot(solid[:, 1], solid[:, 2]) == pytest.approx(front + sine * s, rel=1e-12)


@pytest.mark.parametrize("warp", [0.0, 30.0, 45.0, 80.0])
@pytest.mark.parametrize(("front", "back", "length"), CONES)
def test_the_ply_angle_is_the_one_measured_on_the_rolled_cone(
    front: float, back: float, length: float, warp: float
) -> None:
    """A short straight thread of the flat cloth, rolled up, against the local meridian."""
    slant = math.hypot(length, back - front)
    sine = (back - front) / slant
    step = 1e-7
    for psi in np.linspace(-math.pi, math.pi, 9) * 0.999:
        middle = cloth.unroll(0.5 * slant, 0.5 * (front + back), sine, psi)
        thread = np.array([math.cos(math.radians(warp)), math.sin(math.radians(warp))])
        one, two = (rolled(middle + side * step * thread, front, sine) for side in (-1.0, 1.0))
        here = rolled(middle, front, sine)
        along = (two - one) / np.linalg.norm(two - one)
        azimuth = math.atan2(here[2], here[1])
        cosine = math.sqrt(1.0 - sine * sine)
        meridian = np.array([cosine, sine * math.cos(azimuth), sine * math.sin(azimuth)])
        round_it = np.array([0.0, -math.sin(azimuth), math.cos(azimuth)])
        measured = math.atan2(along @ round_it, along @ meridian)
        expected = float(cloth.ply_angle(math.radians(warp), sine, psi))
        assert math.sin(measured - expected) == pytest.approx(0.0, abs=1e-7)


def test_a_cylinder_unrolls_to_a_rectangle() -> None:
    s, psi = np.meshgrid(np.linspace(0.0, 0.2, 5), np.linspace(-np.pi, np.pi, 5), indexing="ij")
    flat = cloth.unroll(s, 0.027, 0.0, psi)
    assert flat[..., 0] == pytest.approx(s)
    assert flat[..., 1] == pytest.approx(0.027 * psi)


def sphere(radius: float, n: int) -> tuple[Array, Array, Array, Array]:
    """Meridian of a zone of a sphere from 20 to 70 degrees off its pole: s, r, sin β, its rate."""
    polar = np.radians(np.linspace(20.0, 70.0, n))
    s = radius * (polar - polar[0])
    return s, radius * np.sin(polar), np.cos(polar), -np.sin(polar) / radius


@pytest.mark.parametrize("gores", [4, 6, 8, 12, 16])
def test_what_is_left_over_is_the_strain_of_the_flat_edge(gores: int) -> None:
    """By lengths: of the flat edge over that of the sphere's meridian, place by place."""
    s, r, sine, turning = sphere(0.05, 20001)
    psi = math.pi / gores
    edge = cloth.unroll(s, r, sine, psi)
    speed = np.hypot.reduce(np.diff(edge, axis=0), axis=1) / np.diff(s)
    radius, slope, rate = (0.5 * (each[1:] + each[:-1]) for each in (r, sine, turning))
    predicted = cloth.leftover(radius, slope, rate, psi)
    shear = np.abs(psi * slope).max() / 3.0 * np.abs(predicted).max()
    assert speed - 1.0 == pytest.approx(predicted, abs=1.1 * shear**2 + 1e-8)


@pytest.mark.parametrize("gores", [6, 12, 24])
def test_gores_cover_the_surface_to_the_order_of_their_strain(gores: int) -> None:
    """Area of all gores against the zone of a sphere, 2πR·height (Archimedes)."""
    radius = 0.05
    s, r, sine, turning = sphere(radius, 4001)
    left, right = (cloth.unroll(s, r, sine, side * math.pi / gores) for side in (-1.0, 1.0))
    arc = np.linspace(-1.0, 1.0, 401) * math.pi / gores
    tip = cloth.unroll(s[0], r[0], sine[0], arc)
    base = cloth.unroll(s[-1], r[-1], sine[-1], arc)
    outline = np.concatenate((tip, right, base[::-1], left[::-1]))
    flat = gores * cloth.outline_area(outline)
    true = (
        2.0 * math.pi * radius * radius * (math.cos(math.radians(20)) - math.cos(math.radians(70)))
    )
    excess = flat / true - 1.0
    mean = np.trapezoid(
        [np.trapezoid(cloth.leftover(r, sine, turning, psi) * r, s) for psi in arc], arc
    ) / (np.trapezoid(r, s) * (arc[-1] - arc[0]))
    assert excess == pytest.approx(mean, rel=2e-3)
    assert 0.0 < excess < float(cloth.leftover(r, sine, turning, math.pi / gores).max())


def test_area_and_extent_of_a_plain_outline() -> None:
    box = np.array([[0.0, 0.0], [0.3, 0.0], [0.3, 0.1], [0.0, 0.1]])
    assert cloth.outline_area(box) == pytest.approx(0.03)
    assert cloth.extent(box, 0.0) == pytest.approx((0.3, 0.1))
    assert cloth.extent(box, math.pi / 4) == pytest.approx((0.4 / math.sqrt(2),) * 2)
