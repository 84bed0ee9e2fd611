"""Whether a part conforms, how capable a shop is, when a row of parts has left its ways.

Sources: NIST/SEMATECH e-Handbook of Statistical Methods 6.1.6, 6.3.2.2 and 7.2.6.3; JCGM
106:2012, 8.3, and ISO 14253-1:2017 for the guard band, both from memory.
"""

from __future__ import annotations

import math
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mandrelwright.physics.uncertainty import normal_cdf

Array = NDArray[np.float64]

GUARD = 1.6449  # standard uncertainties: the one-sided 95 % point of the normal
RANGE_OF_TWO = 1.128  # d2: mean range of two over the standard deviation, NIST 6.3.2.2
MOST_RANGE = 3.267  # D4 of ranges of two, NIST 6.3.2.2
HALVINGS = 80

Conformity = Literal["fits", "does not fit", "cannot be told"]


def conforms(
    play: float, doubt: float, window: tuple[float, float], guard: float = GUARD
) -> Conformity:
    """Pass, fail or neither, with a guard band of ``guard`` standard uncertainties inside.

    fits: least + g u ≤ play ≤ most − g u; does not fit: play ≤ least − g u or ≥ most + g u;
    between them the reading cannot tell. play, doubt u and window in m. A part that passes
    conforms with 95 % or more where the window is wide against u.
    Source: JCGM 106:2012, 8.3.2 (guarded acceptance) and ISO 14253-1:2017, from memory.

    >>> conforms(0.15e-3, 0.03e-3, (0.05e-3, 0.30e-3)), conforms(0.07e-3, 0.03e-3, (0.05e-3, 3e-4))
    ('fits', 'cannot be told')
    """
    least, most = window
    band = guard * doubt
    if least + band <= play <= most - band:
        return "fits"
    return "does not fit" if play <= least - band or play >= most + band else "cannot be told"


class Capability(NamedTuple):
    """C_p and C_pk of a row of parts, and the 95 % interval of C_pk."""

    potential: float
    achieved: float
    least: float
    most: float


def capability(
    mean: float, deviation: float, window: tuple[float, float], count: int
) -> Capability:
    """C_p = (U − L)/6s, C_pk = min(U − x̄, x̄ − L)/3s ± 1.96 √(1/(9n) + C_pk²/(2(n − 1))).

    ``window`` (L, U). Validity: independent normal parts in statistical control; the interval is
    an approximation that widens too little below some 25 parts.
    Source: NIST/SEMATECH e-Handbook 6.1.6.
    """
    least, most = window
    achieved = min(most - mean, mean - least) / (3.0 * deviation)
    half = 1.96 * math.sqrt(1.0 / (9.0 * count) + achieved**2 / (2.0 * (count - 1)))
    return Capability(
        (most - least) / (6.0 * deviation), achieved, achieved - half, achieved + half
    )


class Row(NamedTuple):
    """Mean, standard deviation and lag-1 autocorrelation of readings in the order of time."""

    mean: float
    deviation: float
    neighbours: float


def describe(values: ArrayLike) -> Row:
    """x̄, s = √[Σ(x − x̄)²/(n − 1)], r₁ = Σ(x_i − x̄)(x_(i+1) − x̄)/Σ(x − x̄)².

    Source: NIST/SEMATECH e-Handbook 1.3.5.1, 1.3.5.6 and 1.3.5.12.
    """
    x = np.asarray(values, float)
    about = x - x.mean()
    square = float(about @ about)
    neighbours = float(about[1:] @ about[:-1]) / square if square > 0.0 else 0.0
    return Row(float(x.mean()), math.sqrt(square / (len(x) - 1)), neighbours)


class Individuals(NamedTuple):
    """Centre and limits of a chart of single values, the mean moving range and its limit."""

    centre: float
    lower: float
    upper: float
    moving_range: float
    range_limit: float


def individuals(values: ArrayLike) -> Individuals:
    """Limits of an individuals chart: x̄ ± 3 MR̄/1.128, ranges up to 3.267 MR̄.

    MR̄: mean of |x_i − x_(i−1)|. Source: NIST/SEMATECH e-Handbook 6.3.2.2.

    >>> round(individuals([1.0, 2.0, 1.0, 2.0]).upper, 3)
    4.16
    """
    x = np.asarray(values, float)
    moving = float(np.abs(np.diff(x)).mean())
    centre, reach = float(x.mean()), 3.0 * moving / RANGE_OF_TWO
    return Individuals(centre, centre - reach, centre + reach, moving, MOST_RANGE * moving)


def tolerance_factor(count: int, coverage: float, confidence: float) -> float:
    """k: x̄ ± k s holds a share ``coverage`` of a normal population with ``confidence``.

    k = √[ν (1 + 1/n) z²_((1+p)/2)/χ²_(1−γ, ν)], ν = n − 1 (Howe 1969).
    Validity: n of 2 and more, within 1 % above some 10.
    Source: NIST/SEMATECH e-Handbook 7.2.6.3.

    >>> round(tolerance_factor(43, 0.90, 0.99), 3)
    2.217
    """
    degrees = count - 1
    z = normal_quantile(0.5 + 0.5 * coverage)
    return z * math.sqrt(
        degrees * (1.0 + 1.0 / count) / chi_square_quantile(1.0 - confidence, degrees)
    )


def normal_quantile(probability: float) -> float:
    """The z below which a standard normal lies with that probability, by halving ±40.

    >>> round(normal_quantile(0.975), 4)
    1.96
    """
    low, high = -40.0, 40.0
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if float(normal_cdf(middle)) < probability else (low, middle)
    return 0.5 * (low + high)


def chi_square_quantile(probability: float, degrees: int) -> float:
    """The value below which χ² of ν degrees lies with that probability, by halving.

    P = γ(ν/2, χ²/2)/Γ(ν/2) by its power series. Source: Abramowitz & Stegun 26.4.6, from memory.

    >>> round(chi_square_quantile(0.95, 10), 3)
    18.307
    """
    low, high = 0.0, 10.0 * degrees + 200.0
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        below = _gamma_share(0.5 * degrees, 0.5 * middle) < probability
        low, high = (middle, high) if below else (low, middle)
    return 0.5 * (low + high)


def _gamma_share(a: float, x: float) -> float:
    """Regularised lower incomplete gamma function: x^a e^−x Σ x^i/[a (a+1) … (a+i)]/Γ(a)."""
    if x <= 0.0:
        return 0.0
    term = total = 1.0 / a
    i = 0
    while term > 1e-17 * total:
        i += 1
        term *= x / (a + i)
        total += term
    return total * math.exp(a * math.log(x) - x - math.lgamma(a))
