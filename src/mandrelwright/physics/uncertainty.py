"""Uncertainty: linear propagation, Monte Carlo, coverage, and learning from a reading.

A model is any function of rows of inputs, (rows, k) to (rows,): the same function serves
propagation and Monte Carlo. Spreads are one standard uncertainty.
Sources: JCGM 100:2008 (the GUM) and JCGM 101:2008, cited by clause.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
Model = Callable[[Array], Array]

STEP = 0.01  # of one standard uncertainty: curvature errs by its square, rounding stays at 1e-12
CHUNK = 16_384  # rows of inputs that stay in cache together


class Propagated(NamedTuple):
    """Value and spread of a result, ∂f/∂x of every input, and each input's variance share."""

    value: float
    spread: float
    sensitivities: Array
    shares: Array


def propagate(model: Model, mean: ArrayLike, covariance: ArrayLike) -> Propagated:
    """Value, spread and sensitivities of a model to first order: u² = cᵀ V c, c = ∂f/∂x.

    ``mean`` (k,), ``covariance`` V (k, k); the model is called once with 2k + 1 rows and c
    taken by central differences over a hundredth of each spread. The shares c_i (V c)_i/u²
    sum to one (zeros when nothing is uncertain). An input without spread gets c = 0.
    Validity: a model nearly straight over the spreads. Source: JCGM 100:2008, 5.1.2, 5.2.2.

    >>> total = propagate(lambda x: x[:, 0] + x[:, 1], [1.0, 2.0], [[0.09, 0.0], [0.0, 0.16]])
    >>> round(total.spread, 9)
    0.5
    """
    centre, V = np.asarray(mean, float), np.asarray(covariance, float)
    steps = STEP * np.sqrt(np.diag(V))
    rows = np.concatenate([centre[None], centre + np.diag(steps), centre - np.diag(steps)])
    out = model(rows)
    count = len(centre)
    change = out[1 : count + 1] - out[count + 1 :]
    widths = np.diag(rows[1 : count + 1]) - np.diag(rows[count + 1 :])  # as rounded
    c = np.divide(change, widths, out=np.zeros(count), where=widths > 0.0)
    parts = c * (V @ c)
    variance = float(parts.sum())
    shares = parts / variance if variance > 0.0 else np.zeros(count)
    return Propagated(float(out[0]), math.sqrt(max(variance, 0.0)), c, shares)


def monte_carlo(model: Model, draws: Array) -> Array:
    """Outcomes of the model for every row of draws, (n, k) to (n,), a cache-sized chunk at a time.

    Source: JCGM 101:2008, 7.4 (propagation of distributions).
    """
    chunks = range(0, len(draws), CHUNK)
    return np.concatenate([model(draws[start : start + CHUNK]) for start in chunks])


def coverage(outcomes: ArrayLike, probability: float) -> tuple[float, float]:
    """Probabilistically symmetric interval that holds a share ``probability`` of the outcomes.

    Source: JCGM 101:2008, 5.3.2 and 7.7.
    """
    tail = 0.5 * (1.0 - probability)
    low, high = np.quantile(np.asarray(outcomes, float), (tail, 1.0 - tail))
    return float(low), float(high)


def welch_satterthwaite(contributions: ArrayLike, degrees: ArrayLike) -> float:
    """Effective degrees of freedom of a sum: ν = u⁴/Σ(u_i⁴/ν_i), u² = Σ u_i².

    ``contributions`` u_i = |c_i| u(x_i), ``degrees`` ν_i, infinite where a spread is certain.
    Source: JCGM 100:2008, G.4.1, equation G.2b.
    """
    squares = np.square(np.asarray(contributions, float))
    weakness = float(np.sum(squares * squares / np.asarray(degrees, float)))
    return float(squares.sum()) ** 2 / weakness if weakness > 0.0 else math.inf


def condition(
    mean: ArrayLike,
    covariance: ArrayLike,
    observation: ArrayLike,
    reading: ArrayLike,
    reading_covariance: ArrayLike,
) -> tuple[Array, Array]:
    """Mean and covariance of Gaussian inputs after a reading y = H x + noise.

    K = V Hᵀ (H V Hᵀ + R)⁻¹, mean' = mean + K (y − H mean),
    V' = (1 − K H) V (1 − K H)ᵀ + K R Kᵀ (Joseph's form: symmetric, never negative).
    ``mean`` (k,), ``covariance`` V (k, k), ``observation`` H (m, k), ``reading`` y (m,),
    ``reading_covariance`` R (m, m). Exact for Gaussian inputs and a linear observation.
    Raises numpy.linalg.LinAlgError when two readings without noise say the same.
    Source: Bayes' rule for normal distributions; K is the gain of Kalman 1960.
    """
    x, V, H = np.asarray(mean, float), np.asarray(covariance, float), np.asarray(observation, float)
    y, R = np.asarray(reading, float), np.asarray(reading_covariance, float)
    K = np.linalg.solve(H @ V @ H.T + R, H @ V).T
    kept = np.eye(len(x)) - K @ H
    posterior = kept @ V @ kept.T + K @ R @ K.T
    return x + K @ (y - H @ x), 0.5 * (posterior + posterior.T)


def normal_cdf(z: ArrayLike) -> Array:
    """Probability that a standard normal lies below z: Φ(z) = ½ erfc(−z/√2).

    >>> round(float(normal_cdf(1.96)), 4)
    0.975
    """
    half = np.frompyfunc(math.erfc, 1, 1)(-np.asarray(z, float) / math.sqrt(2.0))
    return np.asarray(0.5 * np.asarray(half, float))
