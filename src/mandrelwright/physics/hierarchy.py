"""Learning from few readings: an unknown mean and an unknown variance, within and between groups.

Readings are straight in the unknowns: y = C x + noise. What stays the same from mould to mould
has covariance P; what differs has kernels K_g whose size nobody knows, a variance factor v_g
each. Given the factors the answer is exact; the factors are summed over on a fixed grid, so
equal readings give equal answers to the last digit. Leading axes broadcast: one call learns
for many shops. Sources: Gelman et al., Bayesian Data Analysis, 3rd ed., 3.3, 5.4 and 14.2, from
memory; the deletion test of an outlier, Cook & Weisberg 1982, 2.2.2, from memory.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

LOG_FACTORS = np.arange(-1.8, 3.01, 0.6)  # grid of ln v: spreads from 0.4 to 4.5 times the guess
FLAGGED = 3.0  # standard uncertainties at which an odd reading begins to count less
MOST_BELIEVED = 4.0  # variance factor: beyond twice the guessed spread a reading is odd instead
MOST_FLAGGED = 5  # odd readings looked for, the oddest first


class NormalGamma(NamedTuple):
    """Normal data of unknown mean and variance: μ | σ² ~ N(mean, σ²/weight), σ² ~ scaled inv-χ².

    ``weight`` counts readings that the mean rests on, ``degrees`` ν and ``variance`` s² say
    what is known of σ². Arrays broadcast.
    """

    mean: Array
    weight: Array
    degrees: Array
    variance: Array

    def predictive(self) -> tuple[Array, Array, Array]:
        """Centre, scale and degrees of Student's t of the next reading: s √(1 + 1/weight)."""
        return self.mean, np.sqrt(self.variance * (1.0 + 1.0 / self.weight)), self.degrees


def update_normal(prior: NormalGamma, readings: ArrayLike) -> NormalGamma:
    """The exact posterior after readings along the last axis, (..., n).

    κ' = κ + n, μ' = (κ μ + n ȳ)/κ', ν' = ν + n,
    ν' s'² = ν s² + Σ(y − ȳ)² + κ n (ȳ − μ)²/κ'.
    Source: Bayesian Data Analysis, 3rd ed., 3.3, from memory.

    >>> told = update_normal(NormalGamma(*map(np.float64, (0.0, 1.0, 2.0, 1.0))), [1.0, 3.0])
    >>> round(float(told.mean), 6), float(told.weight), round(float(told.variance), 6)
    (1.333333, 3.0, 1.666667)
    """
    y = np.asarray(readings, float)
    n, average = y.shape[-1], y.mean(-1)
    weight, degrees = prior.weight + n, prior.degrees + n
    about = np.sum((y - average[..., None]) ** 2, axis=-1)
    between = prior.weight * n / weight * (average - prior.mean) ** 2
    total = prior.degrees * prior.variance + about + between
    mean = (prior.weight * prior.mean + n * average) / weight
    return NormalGamma(mean, weight, degrees, total / degrees)


class Factors(NamedTuple):
    """Nodes of the variance factors, (node, group), and their prior weights, (node,)."""

    nodes: Array
    weights: Array


def factor_grid(groups: int, degrees: float, log_nodes: ArrayLike = LOG_FACTORS) -> Factors:
    """A grid over ``groups`` independent variance factors, each of mean one before any reading.

    v ~ scaled inverse χ²(ν, s² = (ν − 2)/ν); ν > 2 ``degrees`` says how firmly the guess of a
    spread is held: the trapezium rule in ln v, density ∝ v^(−ν/2) exp(−ν s²/(2 v)). The nodes
    are scaled so that the mean is one exactly.
    """
    step = np.asarray(log_nodes, float)
    density = np.exp(-0.5 * degrees * step - 0.5 * (degrees - 2.0) * np.exp(-step))
    density /= density.sum()
    one = np.exp(step)
    one /= one @ density
    grids = np.meshgrid(*[one] * groups, indexing="ij")
    shares = np.meshgrid(*[density] * groups, indexing="ij")
    nodes = np.stack([grid.ravel() for grid in grids], axis=-1)
    weights = np.prod([share.ravel() for share in shares], axis=0)
    return Factors(nodes.reshape(-1, groups), np.asarray(weights).reshape(-1))


class Learned(NamedTuple):
    """The lasting unknowns after readings: mean and covariance; the variance factors' means.

    ``weights`` (..., node): how likely each node of the factors is. ``deviations`` (..., d): how
    odd each direction asked about is, in standard uncertainties; ``told`` (..., d): the share of
    its weight that is kept, 1 where it is ordinary.
    """

    mean: Array
    covariance: Array
    factors: Array
    weights: Array
    deviations: Array
    told: Array


def learn(
    design: Array,
    readings: Array,
    noise: Array,
    mean: Array,
    lasting: Array,
    kernels: Array,
    factors: Factors,
    odd: Array | None = None,
) -> Learned:
    """Mean and covariance of the lasting unknowns x from readings y = C x + differing + noise.

    Given v: S = C P Cᵀ + R + Σ v_g K_g, x' = m + P Cᵀ S⁻¹ (y − C m), P' = P − P Cᵀ S⁻¹ C P;
    p(v | y) ∝ p(v) |S|^(−1/2) exp(−½ (y − C m)ᵀ S⁻¹ (y − C m)); then the mean over v, and the
    law of total variance.
    ``design`` C (..., n, k), ``readings`` (..., n), ``noise`` R (..., n, n), ``mean`` m (..., k),
    ``lasting`` P (..., k, k), ``kernels`` K (..., g, n, n); a reading that was not taken has
    noise 1 m² or more and tells nothing. ``odd`` (..., d, n): directions that may hold a slip or
    an odd mould, see ``temper``. Exact but for the grid over v.
    """
    gap = readings - np.einsum("...nk,...k->...n", design, mean)
    reach = design @ lasting  # (..., n, k)
    fixed = reach @ np.swapaxes(design, -1, -2) + noise
    weights = _weights(gap, fixed, kernels, factors)
    expected = weights @ factors.nodes
    deviations = np.zeros((*gap.shape[:-1], 0))
    told = deviations
    if odd is not None:
        believed = np.minimum(expected, MOST_BELIEVED)  # else an outlier hides in its own factor
        S = fixed + np.einsum("...g,...gij->...ij", believed, kernels)
        deviations, told, extra = temper(gap, S, odd)
        fixed = fixed + extra
        weights = _weights(gap, fixed, kernels, factors)
        expected = weights @ factors.nodes
    shift, covariance = _averaged(gap, reach, fixed, kernels, factors, weights, lasting)
    return Learned(mean + shift, covariance, expected, weights, deviations, told)


def _all(fixed: Array, kernels: Array, factors: Factors) -> Array:
    """S of every node, (..., node, n, n)."""
    grown = np.einsum("qg,...gij->...qij", factors.nodes, kernels)
    return np.asarray(fixed[..., None, :, :] + grown)


def _weights(gap: Array, fixed: Array, kernels: Array, factors: Factors) -> Array:
    """Posterior weight of every node of the factors, (..., node)."""
    L = np.linalg.cholesky(_all(fixed, kernels, factors))
    z = np.linalg.solve(L, gap[..., None, :, None])[..., 0]
    logs = -0.5 * np.sum(z * z, axis=-1)
    logs -= np.sum(np.log(np.diagonal(L, axis1=-2, axis2=-1)), axis=-1)
    logs += np.log(factors.weights)
    logs -= logs.max(axis=-1, keepdims=True)
    out = np.exp(logs)
    return np.asarray(out / out.sum(axis=-1, keepdims=True))


def _averaged(
    gap: Array,
    reach: Array,
    fixed: Array,
    kernels: Array,
    factors: Factors,
    weights: Array,
    lasting: Array,
) -> tuple[Array, Array]:
    """Mean shift and covariance over the factors, by the law of total variance."""
    S = _all(fixed, kernels, factors)
    gain = np.linalg.solve(S, reach[..., None, :, :])  # S⁻¹ C P of every node
    shifts = np.einsum("...qnk,...n->...qk", gain, gap)
    shift = np.einsum("...q,...qk->...k", weights, shifts)
    kept = np.einsum("...q,...qnk->...nk", weights, gain)
    inside = lasting - np.swapaxes(reach, -1, -2) @ kept
    apart = shifts - shift[..., None, :]
    between = np.swapaxes(apart, -1, -2) @ (weights[..., None] * apart)
    covariance = inside + between
    return shift, 0.5 * (covariance + np.swapaxes(covariance, -1, -2))


def temper(gap: Array, S: Array, odd: Array) -> tuple[Array, Array, Array]:
    """How odd each direction is, and the extra covariance that bounds what an odd one may pull.

    A shift along e is estimated as eᵀA r/(eᵀA e) ± (eᵀA e)^(−1/2), A = S⁻¹, r the gap: z is
    their ratio, which leaves the direction itself out of its own prediction. Where |z| > 3 the
    variance ((z/3)² − 1)/(eᵀA e) is added along e, the oddest first, again until none is left:
    its pull then stays that of a reading 3 standard uncertainties off (Huber's bound), and
    nothing is dropped. Returns z (..., d) as first found, the share of weight kept (..., d), the
    extra (..., n, n). Source: the mean-shift outlier model, Cook & Weisberg 1982, 2.2.2, and
    Huber 1964, from memory.
    """
    leading = np.broadcast_shapes(gap.shape[:-1], S.shape[:-2], odd.shape[:-2])
    odd = np.broadcast_to(odd, (*leading, *odd.shape[-2:]))
    first: Array | None = None
    told = np.ones(odd.shape[:-1])
    extra = np.zeros((*leading, *S.shape[-2:]))
    for _ in range(MOST_FLAGGED):
        A = np.linalg.inv(S + extra)
        strength = np.einsum("...dn,...nm,...dm->...d", odd, A, odd)
        pulled = np.einsum("...dn,...nm,...m->...d", odd, A, gap)
        safe = np.maximum(strength, np.finfo(float).tiny)
        z = np.where(strength > 0.0, pulled / np.sqrt(safe), 0.0)
        first = z if first is None else first
        worst = np.argmax(np.abs(z), axis=-1)[..., None]
        at = np.take_along_axis(z, worst, axis=-1)[..., 0]
        if not np.any(np.abs(at) > FLAGGED):
            break
        grow = np.maximum((at / FLAGGED) ** 2 - 1.0, 0.0)
        e = np.take_along_axis(odd, worst[..., None], axis=-2)[..., 0, :]
        own = np.take_along_axis(safe, worst, axis=-1)[..., 0]
        extra = extra + (grow / own)[..., None, None] * e[..., :, None] * e[..., None, :]
        kept = np.take_along_axis(told, worst, axis=-1) / (1.0 + grow[..., None])
        np.put_along_axis(told, worst, kept, axis=-1)
    assert first is not None
    return first, told, extra
