"""Uncertainty identities: Bayes on a grid, sequence against batch, exact linear cases."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from mandrelwright.physics.uncertainty import (
    CHUNK,
    condition,
    coverage,
    monte_carlo,
    normal_cdf,
    propagate,
    welch_satterthwaite,
)

MEAN = np.array([98.4, 0.6, -0.1])
COVARIANCE = np.array([[0.04, 0.01, 0.0], [0.01, 0.09, -0.02], [0.0, -0.02, 0.16]])


def test_condition_is_bayes_on_a_grid() -> None:
    """Prior times likelihood, summed over a fine grid of two inputs and two readings."""
    mean, V = np.array([0.3, -0.2]), np.array([[0.5, 0.2], [0.2, 0.3]])
    H, reading, R = np.array([[1.0, 2.0], [0.5, -1.0]]), np.array([0.8, 0.1]), np.diag([0.2, 0.4])
    axis = np.linspace(-5.0, 5.0, 501)
    points = np.stack(np.meshgrid(mean[0] + axis, mean[1] + axis, indexing="ij"), axis=-1)
    density = stats.multivariate_normal(mean, V).pdf(points)
    density = density * stats.multivariate_normal(reading, R).pdf(points @ H.T)
    density /= density.sum()
    expected = np.einsum("ij,ijk->k", density, points)
    off = points - expected
    found_mean, found = condition(mean, V, H, reading, R)
    np.testing.assert_allclose(found_mean, expected, rtol=1e-9)
    np.testing.assert_allclose(found, np.einsum("ij,ijk,ijl->kl", density, off, off), rtol=1e-9)


def test_readings_one_by_one_are_the_readings_together() -> None:
    H = np.array([[1.0, -98.0, 1.0], [0.0, 1.0, 0.5], [1.0, 0.0, 0.0]])
    reading, R = np.array([98.31, 0.4, 98.2]), np.diag([1e-4, 0.02, 0.01])
    together = condition(MEAN, COVARIANCE, H, reading, R)
    state = (MEAN, COVARIANCE)
    for row in (2, 0, 1):
        state = condition(*state, H[[row]], reading[[row]], R[row : row + 1, row : row + 1])
    np.testing.assert_allclose(state[0], together[0], rtol=1e-9)
    np.testing.assert_allclose(state[1], together[1], rtol=1e-8, atol=1e-12)


def test_exact_reading_settles_its_combination() -> None:
    H = np.array([[1.0, 2.0, -1.0]])
    mean, V = condition(MEAN, COVARIANCE, H, np.array([99.0]), np.zeros((1, 1)))
    np.testing.assert_allclose(H @ mean, 99.0, rtol=1e-14)
    assert (H @ V @ H.T).item() == pytest.approx(0.0, abs=1e-15)
    np.testing.assert_array_equal(V, V.T)


def test_reading_of_nothing_changes_nothing() -> None:
    mean, V = condition(MEAN, COVARIANCE, np.zeros((1, 3)), np.array([5.0]), np.eye(1))
    np.testing.assert_array_equal(mean, MEAN)
    np.testing.assert_allclose(V, COVARIANCE, rtol=1e-15)


def test_two_exact_readings_of_one_thing_are_refused() -> None:
    H = np.array([[1.0, 0.0, 0.0], [1.0, 0.0, 0.0]])
    with pytest.raises(np.linalg.LinAlgError):
        condition(MEAN, COVARIANCE, H, np.array([98.0, 98.1]), np.zeros((2, 2)))


def test_propagate_is_exact_for_a_linear_model() -> None:
    c = np.array([2.0, -3.0, 0.5])
    result = propagate(lambda x: x @ c + 7.0, MEAN, COVARIANCE)
    assert result.value == pytest.approx(MEAN @ c + 7.0, rel=1e-14)
    np.testing.assert_allclose(result.sensitivities, c, rtol=1e-9)
    assert result.spread == pytest.approx(np.sqrt(c @ COVARIANCE @ c), rel=1e-9)
    np.testing.assert_allclose(
        result.shares, c * (COVARIANCE @ c) / (c @ COVARIANCE @ c), rtol=1e-8
    )
    assert result.shares.sum() == pytest.approx(1.0, rel=1e-12)


def test_propagate_calls_the_model_once() -> None:
    calls = []

    def model(rows: np.ndarray) -> np.ndarray:
        calls.append(rows.shape)
        return np.asarray(np.exp(rows[:, 0]) * rows[:, 1])

    result = propagate(model, [1.0, 2.0], np.diag([1e-4, 4e-4]))
    assert calls == [(5, 2)]
    np.testing.assert_allclose(result.sensitivities, [2.0 * np.e, np.e], rtol=1e-7)


def test_certain_inputs_give_a_certain_result() -> None:
    result = propagate(lambda x: x[:, 0] * x[:, 1], [3.0, 4.0], np.zeros((2, 2)))
    assert (result.value, result.spread) == (12.0, 0.0)
    np.testing.assert_array_equal(result.shares, 0.0)


@pytest.mark.parametrize("count", [1, CHUNK - 1, CHUNK, 2 * CHUNK + 3])
def test_chunks_leave_no_draw_out(count: int) -> None:
    draws = np.arange(2.0 * count).reshape(count, 2)
    outcomes = monte_carlo(lambda rows: rows[:, 0] - 3.0 * rows[:, 1], draws)
    np.testing.assert_array_equal(outcomes, draws[:, 0] - 3.0 * draws[:, 1])


def test_coverage_of_a_ramp() -> None:
    np.testing.assert_allclose(coverage(np.linspace(-1.0, 1.0, 2001), 0.9), [-0.9, 0.9], rtol=1e-12)


def test_equal_contributions_pool_their_degrees() -> None:
    assert welch_satterthwaite([0.2] * 5, [7.0] * 5) == pytest.approx(35.0, rel=1e-13)
    assert welch_satterthwaite([0.2, 0.3], [np.inf, np.inf]) == np.inf


def test_normal_cdf_against_scipy() -> None:
    z = np.linspace(-30.0, 8.0, 77).reshape(7, 11)
    np.testing.assert_allclose(normal_cdf(z), stats.norm.cdf(z), rtol=1e-12)
