"""The sleeve against its own geometry: tow length, area of a layer, locks, growth."""

from __future__ import annotations

import numpy as np
import pytest

from mandrelwright.physics import braid

R45, TOWS, TOW = 0.042, 144, 600e-6
DENSITY, FRACTION = 2550.0, 0.40
C = float(braid.layer_constant(TOWS, TOW, DENSITY, FRACTION))
RADII = np.linspace(0.028, 0.054, 27)
NO_LOCK = 0.0


def test_tows_keep_their_length() -> None:
    """(2πr)² + (axial)² of one turn is the same tow at every radius."""
    theta = braid.angle(RADII, R45)
    axial = 2.0 * np.pi * RADII / np.tan(theta)
    turn = np.hypot(2.0 * np.pi * RADII, axial)
    np.testing.assert_allclose(turn, TOWS * braid.crossing_length(R45, TOWS), rtol=1e-12)


def test_weight_is_lowest_at_45_degrees() -> None:
    theta = np.radians([44.0, 45.0, 46.0])
    weight = braid.areal_weight(braid.radius_at(theta, R45), theta, TOWS, TOW)
    assert weight.argmin() == 1
    np.testing.assert_allclose(weight * np.sin(2.0 * theta), weight[1], rtol=1e-12)


@pytest.mark.parametrize("slope_deg", [0.0, 8.0, -15.0])
def test_layer_keeps_its_cross_section(slope_deg: float) -> None:
    """r_out² − r_in² = 2 cos β c/cos θ, and fibre mass is area times length of tow."""
    cosine = np.full_like(RADII, np.cos(np.radians(slope_deg)))
    t = braid.thickness_over(RADII, cosine, C, R45, NO_LOCK)
    outer = RADII + t * cosine
    theta = braid.angle(0.5 * (RADII + outer), R45)
    np.testing.assert_allclose(outer**2 - RADII**2, 2.0 * cosine * C / np.cos(theta), rtol=1e-12)
    weight = braid.areal_weight(0.5 * (RADII + outer), theta, TOWS, TOW)
    np.testing.assert_allclose(t, weight / (DENSITY * FRACTION), rtol=1e-12)
    np.testing.assert_allclose(braid.thickness_under(outer, cosine, C, R45, NO_LOCK), t, rtol=1e-10)


def test_nothing_fits_below_the_vanishing_radius() -> None:
    """Below the lock the mould vanishes where r_out² < 2 cos β c/cos θ_lock."""
    lock = np.radians(20.0)
    vanishing = np.sqrt(2.0 * C / np.cos(lock))
    radii = vanishing * np.array([0.999, 1.001])
    t = braid.thickness_under(radii, np.ones(2), C, 0.2, float(lock))
    assert np.isnan(t[0])
    assert 0.0 < t[1] < radii[1]


def test_locks_are_complements_where_the_tows_touch() -> None:
    lower, upper = braid.lock_angles(R45, TOWS, 2.0e-3, (0.0, np.pi / 2))
    assert lower + upper == pytest.approx(np.pi / 2, rel=1e-14)
    for lock in (lower, upper):
        spacing = braid.tow_spacing(braid.radius_at(lock, R45), lock, TOWS)
        assert float(spacing) == pytest.approx(2.0e-3, rel=1e-12)


def test_growth_is_the_derivative_of_the_stretch() -> None:
    """dL/L of cos θ when the radius shrinks by dr, by a central difference."""
    r, dr = 0.049, 1e-6
    longer, shorter = np.cos(braid.angle([r - dr, r + dr], R45))
    middle = np.cos(braid.angle(r, R45))
    expected = (longer - shorter) / (2.0 * middle)
    found = braid.growth_by_compaction(braid.angle(r, R45), dr, r)
    assert float(found) == pytest.approx(float(expected), rel=1e-6)
