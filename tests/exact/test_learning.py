"""Learning by closed forms and by brute force: conjugate posterior, grid, odd reading."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from mandrelwright.physics.hierarchy import (
    FLAGGED,
    NormalGamma,
    factor_grid,
    learn,
    temper,
    update_normal,
)
from mandrelwright.physics.uncertainty import condition

PRIOR = NormalGamma(*map(np.asarray, (98.40, 2.0, 5.0, 0.08**2)))
BORES = [98.36, 98.43, 98.31, 98.37]


def test_conjugate_update_in_one_go_and_one_by_one() -> None:
    whole = update_normal(PRIOR, BORES)
    told = PRIOR
    for bore in BORES:
        told = update_normal(told, [bore])
    assert np.allclose(whole, told, rtol=1e-12)


def test_conjugate_predictive_against_numerical_integration() -> None:
    """∫∫ N(y; μ, σ²) p(μ, σ² | readings) by brute force over a dense grid of (μ, σ²)."""
    sigma = np.exp(np.linspace(np.log(0.005), np.log(1.5), 1500))
    mu = np.linspace(97.6, 99.2, 1501)
    m, s = np.meshgrid(mu, sigma, indexing="ij")
    nu, scale = float(PRIOR.degrees), float(PRIOR.variance)
    prior = stats.norm.pdf(m, PRIOR.mean, s / np.sqrt(PRIOR.weight))
    prior *= (
        stats.invgamma.pdf(s**2, nu / 2.0, scale=nu * scale / 2.0) * 2.0 * s * s
    )  # dσ² = 2σ² d ln σ
    density = prior * np.prod([stats.norm.pdf(bore, m, s) for bore in BORES], axis=0)
    density /= density.sum()
    centre, spread, degrees = update_normal(PRIOR, BORES).predictive()
    for limit in (98.2, 98.35, 98.5):
        brute = float(np.sum(density * stats.norm.cdf(limit, m, s)))
        assert stats.t.cdf(limit, degrees, centre, spread) == pytest.approx(brute, rel=1e-3)


def shop(moulds: int, parts: int, seed: int):
    """Readings of moulds and of parts on them: design, noise, kernels of both variances."""
    generator = np.random.default_rng(seed)
    count = moulds * (1 + parts)
    mould = np.repeat(np.arange(moulds), 1 + parts)
    is_part = np.tile(np.arange(1 + parts) > 0, moulds)
    design = np.column_stack([np.full(count, -99.0), np.ones(count), is_part.astype(float)])
    same = (mould[:, None] == mould).astype(float)
    kernels = np.array([0.10**2 * same, 0.04**2 * np.diag(is_part.astype(float))])
    noise = np.diag(np.full(count, 0.02**2))
    lasting = np.diag([0.0028, 0.10, 0.05]) ** 2
    S = design @ lasting @ design.T + noise + 1.7 * kernels[0] + 0.6 * kernels[1]
    return design, np.linalg.cholesky(S) @ generator.standard_normal(count), noise, lasting, kernels


def test_known_variances_are_plain_conditioning() -> None:
    design, y, noise, lasting, kernels = shop(3, 2, 1)
    one = factor_grid(2, 6.0, [0.0])
    told = learn(design, y, noise, np.zeros(3), lasting, kernels, one)
    mean, covariance = condition(np.zeros(3), lasting, design, y, noise + kernels.sum(0))
    assert np.allclose(told.mean, mean, rtol=1e-9)
    assert np.allclose(told.covariance, covariance, rtol=1e-6, atol=1e-12)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_unknown_variances_against_brute_force(seed: int) -> None:
    """A grid forty times as dense, written out plainly node by node, agrees within 1 %."""
    design, y, noise, lasting, kernels = shop(4, 2, seed)
    told = learn(design, y, noise, np.zeros(3), lasting, kernels, factor_grid(2, 6.0))
    nodes = np.linspace(-3.5, 5.0, 181)
    total, mean, square, factor = 0.0, np.zeros(3), np.zeros((3, 3)), np.zeros(2)
    for u in np.exp(nodes):
        for v in np.exp(nodes):
            prior = [stats.invgamma.pdf(w, 3.0, scale=2.0) * w for w in (u, v)]  # mean one
            R = noise + u * kernels[0] + v * kernels[1]
            likely = stats.multivariate_normal.pdf(
                y, np.zeros(len(y)), design @ lasting @ design.T + R
            )
            weight = prior[0] * prior[1] * likely
            m, V = condition(np.zeros(3), lasting, design, y, R)
            total += weight
            mean += weight * m
            square += weight * (V + np.outer(m, m))
            factor += weight * np.array([u, v])
    mean, factor = mean / total, factor / total
    covariance = square / total - np.outer(mean, mean)
    spread = np.sqrt(np.diag(covariance))
    assert np.all(np.abs(told.mean - mean) < 0.01 * spread)
    assert np.sqrt(np.diag(told.covariance)) == pytest.approx(spread, rel=0.01)
    assert told.factors == pytest.approx(factor, rel=0.01)


def test_shops_on_an_axis_learn_alone() -> None:
    design, _, noise, lasting, kernels = shop(2, 1, 1)
    y = np.random.default_rng(2).normal(0.0, 0.3, (5, len(design)))
    grid, odd = factor_grid(2, 6.0), np.eye(len(design))
    together = learn(design, y, noise, np.zeros(3), lasting, kernels, grid, odd)
    for row, alone in zip(y, together.mean, strict=True):
        single = learn(design, row, noise, np.zeros(3), lasting, kernels, grid, odd)
        assert np.allclose(single.mean, alone, rtol=1e-9, atol=1e-15)


def test_an_odd_reading_pulls_no_more_than_one_three_spreads_off() -> None:
    design, y, noise, lasting, kernels = shop(4, 1, 3)
    S = design @ lasting @ design.T + noise + kernels.sum(0)
    y[2] += 5.0
    z, told, extra = temper(y, S, np.eye(len(y)))
    deleted = np.delete(np.arange(len(y)), 2)
    given = S[2, deleted] @ np.linalg.inv(S[np.ix_(deleted, deleted)])
    expected = (y[2] - given @ y[deleted]) / np.sqrt(S[2, 2] - given @ S[deleted, 2])
    assert z[2] == pytest.approx(expected, rel=1e-9)
    assert told[2] == pytest.approx((FLAGGED / z[2]) ** 2, rel=1e-9)
    A = np.linalg.inv(S + extra)
    assert (A @ y)[2] / np.sqrt(A[2, 2]) == pytest.approx(FLAGGED, rel=1e-9)
