"""What rings and the gate teach: Bayes by brute force, odds by closed forms and by simulation."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.stats import norm

from mandrelwright.plan import Plan
from mandrelwright.stages import aim
from mandrelwright.stages.chain import Chain
from mandrelwright.stages.fit import outcome_at
from mandrelwright.stages.forecast import Forecast, forecast, ready_doubt
from tests import jobs

Array = NDArray[np.float64]

CALIPER, SCATTER = 0.02e-3, 0.08e-3
SHRINK, SHRINK_DOUBT, OFFSET_DOUBT = 0.0060, 0.0020, 0.10e-3
TRUE_SHRINK, TRUE_OFFSET = 0.0072, -0.11e-3
DRAWS = 400_000


def printer(*rings: dict[str, str], scatter: float = SCATTER) -> dict[str, Any]:
    """A printer about which little is known, and the rings it made."""
    return {
        "bed": ["220 mm", "220 mm"],
        "height": "600 mm",
        "shrink": {"across": "0.60 % +- 0.20 %", "up": "0.45 % +- 0.20 %"},
        "offset": "0.00 mm +- 0.10 mm",
        "diameter_scatter": f"{scatter * 1e3} mm",
        "ring": list(rings),
    }


def ring(file_mm: float, caliper_mm: float = CALIPER * 1e3) -> dict[str, str]:
    """A ring as the true printer makes it, read without error."""
    reads = file_mm * (1 - TRUE_SHRINK) + TRUE_OFFSET * 1e3
    return {"file": f"{file_mm} mm", "reads": f"{reads:.9f} mm +- {caliper_mm} mm"}


def chain_of(stated: dict[str, Any]) -> Chain:
    return jobs.plan_of(jobs.raw(printer=stated), 100).fit.chain


def known(chain: Chain) -> tuple[Array, Array]:
    """Mean and covariance of (shrink, offset)."""
    pick = [chain.index("shrink"), chain.index("offset")]
    return chain.mean[pick], chain.covariance[np.ix_(pick, pick)]


def spread_at(chain: Chain, size: float) -> float:
    """Standard uncertainty of a print of that size in the file, its scatter left out (m)."""
    row = np.array([-size, 1.0])
    return float(np.sqrt(row @ known(chain)[1] @ row))


def test_printer_with_an_offset_is_recovered_from_rings_at_two_diameters() -> None:
    """A steady printer, read to 5 µm: the line through both rings is 0.007 mm·√2/90 in slope.

    Prior and rings weigh as 0.10² to 0.010² in the offset, so the prior pulls a hundredth.
    """
    rings = (ring(30, 0.005), ring(120, 0.005))
    mean, covariance = known(chain_of(printer(*rings, scatter=0.005e-3)))
    spread = np.sqrt(np.diag(covariance))
    assert mean[1] == pytest.approx(TRUE_OFFSET, abs=2e-6)
    assert mean[0] == pytest.approx(TRUE_SHRINK, abs=3e-5)
    assert np.all(np.abs(mean - [TRUE_SHRINK, TRUE_OFFSET]) < spread)
    assert spread[1] < 0.012e-3
    assert spread[0] < 1.2e-4


def test_one_ring_cannot_tell_shrink_from_offset() -> None:
    """After one ring at 50 mm a print of 99 mm is known worse than one of 50 mm.

    And far worse than after a ring of its own size, which the same caliper read.
    """
    none, small, large = (chain_of(printer(*r)) for r in ((), (ring(50),), (ring(99),)))
    both = chain_of(printer(ring(50), ring(99)))
    at_99 = [spread_at(chain, 99e-3) for chain in (none, small, large, both)]
    assert at_99[0] > at_99[1] > 1.3 * at_99[2] > at_99[2] > at_99[3]
    assert at_99[1] > 1.4 * spread_at(small, 50e-3)
    (shrink, _), covariance = known(small)
    assert covariance[0, 1] > 0.0  # a larger shrink would need a larger offset
    assert shrink == pytest.approx(SHRINK, abs=SHRINK_DOUBT)


def brute_force(rings_mm: tuple[float, ...]) -> tuple[Array, Array]:
    """Posterior of (shrink, offset): prior times likelihood over a grid, nothing linear."""
    shrink = SHRINK + SHRINK_DOUBT * np.linspace(-8, 8, 801)
    offset = OFFSET_DOUBT * np.linspace(-8, 8, 801)
    s, o = np.meshgrid(shrink, offset, indexing="ij")
    log = norm.logpdf(s, SHRINK, SHRINK_DOUBT) + norm.logpdf(o, 0.0, OFFSET_DOUBT)
    for size in np.array(rings_mm) * 1e-3:
        reads = size * (1 - TRUE_SHRINK) + TRUE_OFFSET
        log += norm.logpdf(reads, size * (1 - s) + o, np.hypot(CALIPER, SCATTER))
    weight = np.exp(log - log.max())
    weight /= weight.sum()
    mean = np.array([(weight * s).sum(), (weight * o).sum()])
    off = np.stack([s - mean[0], o - mean[1]])
    return mean, np.einsum("iab,jab,ab->ij", off, off, weight)


@pytest.mark.parametrize("rings_mm", [(50.0,), (99.0,), (50.0, 99.0), (25.0, 25.0, 150.0)])
def test_rings_are_bayes_on_a_grid(rings_mm: tuple[float, ...]) -> None:
    """801 × 801 points over ±8 spreads; a normal density sums exactly to rounding there."""
    mean, covariance = known(chain_of(printer(*map(ring, rings_mm))))
    expected_mean, expected = brute_force(rings_mm)
    np.testing.assert_allclose(mean, expected_mean, rtol=1e-6)
    np.testing.assert_allclose(covariance, expected, rtol=1e-6)


@cache
def plan() -> Plan:
    return jobs.plan_of(jobs.raw(printer=printer()))


FEW = ("shrink", "offset", "scatter", "mate coupler")


@cache
def few() -> tuple[Chain, aim.Outcome, aim.Gate, Forecast]:
    """The chain with four uncertain inputs left, all of which enter in proportion."""
    chain, costs = plan().fit.chain, aim.read_costs(plan().library)
    variance = [
        v if i.name in FEW else 0.0
        for i, v in zip(chain.inputs, np.diag(chain.covariance), strict=True)
    ]
    chain = replace(chain, covariance=np.diag(variance))
    drawn = chain.parts(DRAWS, 7)
    out = outcome_at(chain, plan().fit.outcome.best, CALIPER, costs, drawn)
    gate = aim.aim_print(ready_doubt(chain), out, costs, CALIPER)
    return chain, out, gate, forecast(plan().job, chain, out, gate, plan().library)


MATE = 0.02e-3
SIZE = 99e-3  # file size that shrink is weighed at: the mate's diameter
UNREAD = np.sqrt((SIZE * SHRINK_DOUBT) ** 2 + OFFSET_DOUBT**2 + SCATTER**2)


def mean_play(chain: Chain, ready: float) -> float:
    values = chain.values(chain.mean[:, None])
    return float(chain.play(chain.lead, values, np.array([ready]))[0])


def odds(chain: Chain, ready: float, doubt: float) -> float:
    """P(0.05 mm < play < 0.30 mm) for a mould known to ± doubt, and the mate to ± 0.02 mm."""
    middle, spread = mean_play(chain, ready), np.hypot(doubt, MATE)
    return float(norm.cdf((0.30e-3 - middle) / spread) - norm.cdf((0.05e-3 - middle) / spread))


def test_odds_unread_and_after_a_ring_are_the_closed_form() -> None:
    """Normal in, normal out. The plan draws 400 000 parts: two thousandths are sampling.

    A ring of the fit's own size leaves of the printer's doubt p = √((D u_s)² + u_o²) the part
    p² q²/(p² + q²), q² = scatter² + caliper²; each print scatters anew.
    """
    chain, out, _, told = few()
    assert ready_doubt(chain) == pytest.approx(UNREAD, rel=1e-9)
    assert told.unread == pytest.approx(odds(chain, out.best, UNREAD), abs=0.002)
    p2, q2 = UNREAD**2 - SCATTER**2, SCATTER**2 + CALIPER**2
    after = np.sqrt(p2 * q2 / (p2 + q2) + SCATTER**2)
    assert told.ring == pytest.approx(odds(chain, out.best, after), abs=0.002)


def test_odds_rise_from_library_to_ring_to_gate() -> None:
    """With few inputs and with all of them."""
    for told in (few()[3], plan().fit.forecast):
        assert told.as_filed <= told.unread < told.ring < told.gated
        assert told.gated - told.unread > 0.4


def test_gate_is_what_happens_when_moulds_are_made_read_and_mended() -> None:
    """400 000 moulds: made about the aim, read with a caliper's error, mended, laid up.

    The rule is restated here: inside the good range lay up, else what costs least of sanding
    to the best diameter, one to three wraps, or another print. The plan takes what is read for
    what is there; a prior 15 times wider than the caliper pulls by 0.4 %, 0.001 in the odds.
    """
    chain, out, gate, told = few()
    costs = aim.read_costs(plan().library)
    draw = np.random.default_rng(3)
    true = gate.aim + UNREAD * draw.standard_normal(DRAWS)
    reading = true + CALIPER * draw.standard_normal(DRAWS)

    def later(diameter: Array) -> Array:
        return np.asarray(np.interp(diameter, out.ready, out.minutes))

    best = np.full(DRAWS, out.best)
    after = [best, *(reading + wraps * costs.wrap for wraps in (1, 2, 3)), best]
    depth = reading - out.best
    sanding = np.where(depth > 0, costs.sand + costs.sand_per_metre * depth, np.inf)
    price = [
        sanding,
        *(wraps * costs.film_wrap + 0 * depth for wraps in (1, 2, 3)),
        costs.reprint + 0 * depth,
    ]
    total = np.array([p + later(a) for p, a in zip(price, after, strict=True)])
    odds = np.interp(np.array(after), out.ready, out.probability)
    total[odds < 0.5 * np.interp(out.best, out.ready, out.probability)] = np.inf
    cheapest = np.argmin(total, axis=0)
    good = (reading >= out.least) & (reading <= out.most)
    mended = np.where(good, reading, np.array(after)[cheapest, np.arange(DRAWS)])
    play = mean_play(chain, out.best) + (true + mended - reading) - out.best
    play -= MATE * draw.standard_normal(DRAWS)
    fits = float(np.mean((play > 0.05e-3) & (play < 0.30e-3)))
    assert told.gated == pytest.approx(fits, abs=0.003)
    assert gate.lay_up == pytest.approx(float(good.mean()), abs=0.01)
    spent = np.where(good, later(reading), total[cheapest, np.arange(DRAWS)])
    # readings scatter by caliper²/doubt² = 0.7 % more than what they tell, on either side
    assert gate.minutes == pytest.approx(float(spent.mean()), rel=0.02)


def test_unread_odds_of_a_thousand_drawn_parts() -> None:
    """The forecast with every input uncertain, against parts drawn from the file itself."""
    fit = plan().fit
    play = fit.chain.sample(fit.chain.lead, fit.file_diameter, 100_000, 11)
    drawn = float(np.mean((play > 0.05e-3) & (play < 0.30e-3)))
    assert fit.forecast.as_filed == pytest.approx(drawn, abs=0.006)  # 4 · √(0.3 · 0.7/100 000)
