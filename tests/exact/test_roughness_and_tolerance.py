"""Roughness against profiles drawn point by point; tolerance grades against their formula."""

from __future__ import annotations

import numpy as np
import pytest

from mandrelwright.physics.roughness import (
    layer_line_roughness,
    levelled_share,
    levelling_loss,
    scallop_height,
)
from mandrelwright.physics.tolerance import TABLE, grade_of, standard_tolerance

U = (np.arange(200_000) + 0.5) / 200_000  # along one period, midpoints


def arithmetic_roughness(profile: np.ndarray) -> float:
    return float(np.mean(np.abs(profile - profile.mean())))


@pytest.mark.parametrize("slope_deg", [10.0, 45.0, 80.0])
def test_sharp_staircase(slope_deg: float) -> None:
    """k_s = 1 and no wall term is the Ra of a staircase with its cusps t sin β high."""
    t, slope = 0.2e-3, np.radians(slope_deg)
    staircase = t * np.sin(slope) * U
    found = layer_line_roughness(t, slope, 0.0, 1.0, 0.0)
    np.testing.assert_allclose(found, arithmetic_roughness(staircase), rtol=1e-8)


def test_parabolic_scallop() -> None:
    """Beads bulge outwards: h is 9√3/4 Ra and the mean line lies h/3 under the peaks."""
    h = 50e-6
    scallop = h * (1.0 - (2.0 * U - 1.0) ** 2)
    np.testing.assert_allclose(scallop_height(arithmetic_roughness(scallop)), h, rtol=1e-8)
    lost = 2.0 * (scallop.max() - scallop.mean())
    np.testing.assert_allclose(levelling_loss(h, 1.0), lost, rtol=1e-8)


def test_levelling_approaches_its_end() -> None:
    share = levelled_share([0.0, 1200.0 * np.log(2.0), 1e9], 1200.0)
    np.testing.assert_allclose(share, [0.0, 0.5, 1.0], rtol=1e-14)


@pytest.mark.parametrize(("layer_mm", "loss_mm"), [(0.1, 0.018), (0.2, 0.037), (0.3, 0.055)])
def test_loss_of_a_levelled_wall(layer_mm: float, loss_mm: float) -> None:
    """Full levelling of a wall of Ra 0.0708 t: an earlier calculation, two digits."""
    loss = levelling_loss(scallop_height(0.0708 * layer_mm * 1e-3), 1.0)
    assert loss == pytest.approx(loss_mm * 1e-3, rel=0.025)


def test_terms_add_as_squares_and_the_floor_on_top() -> None:
    found = layer_line_roughness([0.2e-3, 0.2e-3], [0.0, np.pi / 4], 0.065, 0.6, 1e-6)
    step = 0.6 * 0.2e-3 / np.sqrt(2.0) / 4.0
    np.testing.assert_allclose(found, [14e-6, np.hypot(13e-6, step) + 1e-6], rtol=1e-12)


def unit(lower_mm: float, upper_mm: float) -> float:
    """Standard tolerance unit i = 0.45 ∛D + 0.001 D µm, D in mm (ISO 286-1:1988, annex A)."""
    D = np.sqrt(lower_mm * upper_mm)
    return float(0.45 * np.cbrt(D) + 0.001 * D)


UNITS = {5: 7, 6: 10, 7: 16, 8: 25, 9: 40, 10: 64, 11: 100, 12: 160, 13: 250, 16: 1000, 18: 2500}


@pytest.mark.parametrize("grade", UNITS)
@pytest.mark.parametrize("step", range(1, len(TABLE)))
def test_table_is_the_rounded_formula(step: int, grade: int) -> None:
    """3 % from 30 to 180 mm, where the grades of fits are used; small steps round to 9 %."""
    lower, upper = TABLE[step - 1][0], TABLE[step][0]
    width_um = standard_tolerance(upper * 1e-3, grade) * 1e6
    allowed = 0.03 if 30.0 <= lower < 180.0 else 0.095
    assert width_um == pytest.approx(UNITS[grade] * unit(lower, upper), rel=allowed)


def test_grades_widen_and_sizes_widen() -> None:
    widths = np.array([[standard_tolerance(u * 1e-3, g) for g in range(5, 19)] for u, _ in TABLE])
    assert np.all(np.diff(widths, axis=1) > 0)
    assert np.all(np.diff(widths, axis=0) >= 0)


def test_limit_belongs_to_the_smaller_step() -> None:
    assert standard_tolerance(0.080, 7) == 30e-6
    assert standard_tolerance(0.0800001, 7) == 35e-6


@pytest.mark.parametrize(
    ("width_mm", "grade"), [(0.22, 11), (0.219, 10), (0.25, 11), (0.014, None), (9.0, 18)]
)
def test_grade_of_a_window(width_mm: float, grade: int | None) -> None:
    assert grade_of(0.099, width_mm * 1e-3 + 1e-12) == grade


@pytest.mark.parametrize(("diameter", "grade"), [(0.099, 4), (0.099, 19), (0.501, 7), (0.0, 7)])
def test_refuses_what_is_not_tabulated(diameter: float, grade: int) -> None:
    with pytest.raises(ValueError, match=r"IT5 to IT18|0 to 500 mm"):
        standard_tolerance(diameter, grade)
