"""Propagation and Monte Carlo against the guides' worked examples (cases/uncertainty.toml)."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest
from scipy import stats

from mandrelwright.physics.uncertainty import (
    coverage,
    monte_carlo,
    propagate,
    welch_satterthwaite,
)
from tests.published.case import read_cases

CASES = read_cases("uncertainty")
Inputs = Mapping[str, Any]
Answer = dict[str, Any]
SEED = 20_101
ROOT3 = np.sqrt(3.0)


def gauge(rows: np.ndarray) -> np.ndarray:
    """Length of the end gauge from (standard, difference, δα, δθ, α, θ): JCGM 100, H.1.2."""
    standard, difference, delta_alpha, delta_theta, alpha, theta = rows.T
    return np.asarray(
        standard + difference - standard * (delta_alpha * theta + alpha * delta_theta)
    )


def gauge_inputs(given: Inputs) -> tuple[np.ndarray, np.ndarray]:
    """Means and standard uncertainties in the order of ``gauge``."""
    u_difference = np.sqrt(sum(u * u for u, _ in given["difference_parts"]))
    widths = (given[name]["half_width"] / ROOT3 for name in ("delta_alpha", "delta_theta", "alpha"))
    mean = [given["standard"]["value"], given["difference"], 0.0, 0.0]
    mean += [given["alpha"]["value"], given["theta"]["value"]]
    spread = [given["standard"]["spread"], u_difference, *widths, given["theta"]["spread"]]
    return np.array(mean), np.array(spread)


def unc_1(given: Inputs) -> Answer:
    mean, spread = gauge_inputs(given)
    result = propagate(gauge, mean, np.diag(spread**2))
    contributions = np.abs(result.sensitivities) * spread
    parts, degrees = zip(*given["difference_parts"], strict=True)
    degrees_difference = welch_satterthwaite(parts, degrees)
    free = [given["standard"]["degrees"], degrees_difference]
    free += [given["delta_alpha"]["degrees"], given["delta_theta"]["degrees"], np.inf, np.inf]
    effective = welch_satterthwaite(contributions, free)
    return {
        "u_difference": spread[1],
        "degrees_difference": degrees_difference,
        "contributions": contributions,
        "value_minus_nominal": result.value - given["nominal"],
        "variance": result.spread**2,
        "spread": result.spread,
        "degrees": effective,
        "expanded": stats.t.ppf(0.995, int(effective)) * result.spread,
    }


def unc_1_second_order(given: Inputs) -> Answer:
    mean, spread = gauge_inputs(given)
    draws = mean + spread * np.random.default_rng(SEED).standard_normal((1_000_000, len(mean)))
    return {"spread": monte_carlo(gauge, draws).std()}


def total(rows: np.ndarray) -> np.ndarray:
    return np.asarray(rows.sum(-1))


def half_width(draws: np.ndarray, probability: float) -> float:
    low, high = coverage(monte_carlo(total, draws), probability)
    return 0.5 * (high - low)


def unc_2(given: Inputs) -> Answer:
    generator = np.random.default_rng(SEED)
    shape, probability = (given["draws"], 4), given["probability"]
    equal, dominant = np.array(given["spreads"]), np.array(given["dominant"])
    rectangular = generator.uniform(-ROOT3, ROOT3, shape)
    linear = propagate(total, np.zeros(4), np.diag(equal**2))
    linear_dominant = propagate(total, np.zeros(4), np.diag(dominant**2))
    factor = stats.norm.ppf(0.5 + 0.5 * probability)
    return {
        "normal_spread": linear.spread,
        "normal_half": half_width(generator.standard_normal(shape), probability),
        "rectangular_half": half_width(rectangular, probability),
        "rectangular_linear": factor * linear.spread,
        "dominant_spread": linear_dominant.spread,
        "dominant_half": half_width(rectangular * dominant, probability),
        "dominant_linear": factor * linear_dominant.spread,
    }


def curvilinear(
    generator: np.random.Generator, limits: tuple[float, float, float], count: int
) -> np.ndarray:
    """Rectangular draws with blurred limits: JCGM 101:2008, 6.4.3 (from memory)."""
    low, high, blur = limits
    start = (low - blur) + 2.0 * blur * generator.random(count)
    return start + (low + high - 2.0 * start) * generator.random(count)


def block_draws(given: Inputs) -> np.ndarray:
    """Draws in the order of ``gauge``; the difference carries its three parts."""
    generator, count = np.random.default_rng(SEED), given["draws"]

    def student(name: str) -> np.ndarray:
        value, scale, degrees = given[name]
        return np.asarray(value + scale * generator.standard_t(degrees, count))

    (mean, spread), (low, high) = given["theta_mean"], given["alpha"]
    cycle = given["theta_cycle"] * np.cos(np.pi * generator.random(count))
    return np.column_stack(
        [
            student("standard"),
            student("difference") + student("random") + student("systematic"),
            curvilinear(generator, given["delta_alpha"], count),
            curvilinear(generator, given["delta_theta"], count),
            generator.uniform(low, high, count),
            mean + spread * generator.standard_normal(count) + cycle,
        ]
    )


def curvilinear_variance(low: float, high: float, blur: float) -> float:
    return (high - low) ** 2 / 12.0 + blur**2 / 9.0


def block_variances(given: Inputs) -> list[float]:
    """Variances of the linear budget, in which a t variable counts by its scale alone."""
    parts = ("difference", "random", "systematic")
    low, high = given["alpha"]
    return [
        given["standard"][1] ** 2,
        sum(given[name][1] ** 2 for name in parts),
        curvilinear_variance(*given["delta_alpha"]),
        curvilinear_variance(*given["delta_theta"]),
        (high - low) ** 2 / 12.0,
        given["theta_mean"][1] ** 2 + 0.5 * given["theta_cycle"] ** 2,
    ]


def unc_3(given: Inputs) -> Answer:
    mean = [given["standard"][0], given["difference"][0], 0.0, 0.0]
    mean += [0.5 * sum(given["alpha"]), given["theta_mean"][0]]
    linear = propagate(gauge, mean, np.diag(block_variances(given)))
    outcomes = monte_carlo(gauge, block_draws(given)) - given["nominal"]
    return {
        "value": outcomes.mean(),
        "linear_spread": linear.spread,
        "spread": outcomes.std(),
        "interval": coverage(outcomes, given["probability"]),
    }


ANSWERS: dict[str, Callable[[Inputs], Answer]] = {
    "UNC-1": unc_1,
    "UNC-1 second order": unc_1_second_order,
    "UNC-2": unc_2,
    "UNC-3": unc_3,
}


@pytest.mark.parametrize("identity", CASES)
def test_case(identity: str) -> None:
    CASES[identity].check(ANSWERS[identity](CASES[identity].inputs))
