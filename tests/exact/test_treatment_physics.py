"""Identities of the treatment physics: cut scallops, films, drying, regression."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from mandrelwright.physics.regression import (
    prediction_deviation,
    regress,
    student_probability,
    student_quantile,
)
from mandrelwright.physics.roughness import (
    SCALLOP_RA,
    levelled_share,
    remaining_roughness,
    sanded_roughness,
)
from mandrelwright.physics.solvent import diffusion_time, liquid_for_share, loss_rate
from mandrelwright.physics.wraps import stretched_wall, strip_strain


@pytest.mark.parametrize("off_um", [0.0, 5.0, 20.0, 39.0])
def test_cut_scallops_by_quadrature(off_um: float) -> None:
    """Ra is the mean distance from the mean line of y = min(h(1 − u²), h − off)."""
    h, off = 40e-6, off_um * 1e-6
    u = (np.arange(400_000) + 0.5) / 400_000
    y = np.minimum(h * (1.0 - u * u), h - off)
    expected = np.abs(y - y.mean()).mean()
    assert float(sanded_roughness(h, off)) == pytest.approx(expected, rel=1e-6)


def test_cut_scallops_at_the_ends() -> None:
    assert float(sanded_roughness(40e-6, 0.0)) == pytest.approx(SCALLOP_RA * 40e-6, rel=1e-12)
    np.testing.assert_allclose(sanded_roughness([40e-6, 0.0], [41e-6, 1e-6]), 0.0, atol=1e-20)


def test_roughness_left_by_levelling() -> None:
    """R(t) = R_inf + (R0 − R_inf) e^(−t/τ); a face smoother than R_inf stays as it is."""
    share = levelled_share(1500.0, 1200.0)
    left = remaining_roughness([14e-6, 0.5e-6], 0.8e-6, share)
    expected = 0.8e-6 + 13.2e-6 * math.exp(-1500.0 / 1200.0)
    np.testing.assert_allclose(left, [expected, 0.5e-6], rtol=1e-12)


@pytest.mark.parametrize("degrees", [1, 2, 3, 4, 7, 12, 33, 200])
def test_students_t(degrees: int) -> None:
    for t in (0.1, 1.0, 3.0, 20.0):
        inside = 1.0 - 2.0 * stats.t.sf(t, degrees)
        assert student_probability(t, degrees) == pytest.approx(inside, rel=1e-11)
    expected = stats.t.ppf(0.975, degrees)
    assert student_quantile(0.95, degrees) == pytest.approx(expected, rel=1e-10)


def test_prediction_of_a_mean_is_that_of_a_sample() -> None:
    """One column of ones: the mean, n − 1 degrees, s√(1 + 1/n)."""
    y = np.array([3.0, 4.0, 8.0, 9.0])
    fit = regress(np.ones((4, 1)), y)
    assert fit.coefficients[0] == pytest.approx(y.mean())
    assert fit.residual == pytest.approx(y.std(ddof=1))
    assert fit.degrees == 3
    expected = y.std(ddof=1) * math.sqrt(1.25)
    assert prediction_deviation(fit, [1.0]) == pytest.approx(expected, rel=1e-12)


def test_prediction_about_a_line() -> None:
    """s√(1 + 1/n + (x − x̄)²/Σ(x_i − x̄)²), the textbook form."""
    x = np.array([0.0, 1.0, 2.0, 5.0, 7.0])
    y = np.array([1.0, 0.5, 2.5, 4.0, 8.0])
    fit, judge = regress(np.column_stack([np.ones(5), x]), y), stats.linregress(x, y)
    assert fit.coefficients == pytest.approx([judge.intercept, judge.slope], rel=1e-12)
    deviations = [judge.intercept_stderr, judge.stderr]
    assert fit.deviations == pytest.approx(deviations, rel=1e-12)
    lever = 1.0 + 0.2 + (9.0 - x.mean()) ** 2 / np.sum((x - x.mean()) ** 2)
    expected = fit.residual * math.sqrt(lever)
    assert prediction_deviation(fit, [1.0, 9.0]) == pytest.approx(expected, rel=1e-12)


def test_a_sleeve_keeps_its_volume() -> None:
    """Wall·circumference·length stays: free in length, wall and length thin alike."""
    thin, thick = stretched_wall(60e-6, 1.44)
    assert float(thin) * 1.44 == pytest.approx(60e-6)
    assert float(thick) * 1.44 * (1.0 / 1.2) == pytest.approx(60e-6)


def test_a_strip_lies_on_a_cone_and_not_on_a_sphere() -> None:
    x = np.linspace(0.0, 0.3, 601)
    assert strip_strain(x, 0.02 + 0.1 * x, 0.1).max() < 1e-12
    angle = np.linspace(-0.4, 0.4, 4001)
    sphere = strip_strain(0.5 * np.sin(angle), 0.5 * np.cos(angle), 0.05)
    curved = 0.05**2 / (8.0 * 0.5) / 0.5  # b²κ/(8r) at the equator
    assert sphere[2000] == pytest.approx(curved, rel=1e-3)


def test_solvent_by_hand() -> None:
    """A mole fills 24.0 L at 20 °C: a share of 1 % of 24 L is 0.01 mol, 0.58 g, 0.73 mL."""
    molar = 8.314462618 * 293.15 / 101325.0
    liquid = liquid_for_share(0.01, molar, 293.15, 0.05808, 791.0)
    assert float(liquid) == pytest.approx(0.01 * 0.05808 / 791.0, rel=1e-12)
    assert float(diffusion_time(0.3e-3, 1e-13)) == pytest.approx(9e5)


def test_loss_of_weight_by_hand() -> None:
    """0.2 g of 200 g in two days, each read to 0.03 g: 0.05 %/d ± √2·0.03/200/2."""
    day = 86400.0
    rate, spread = loss_rate([0.0, day, 3 * day], [0.3, 0.2002, 0.2], [1.0, 3e-5, 3e-5])
    assert rate * day == pytest.approx(0.0005, rel=1e-9)
    assert spread * day == pytest.approx(math.sqrt(2) * 0.03 / 200 / 2, rel=1e-9)
