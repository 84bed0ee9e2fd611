"""Drawn parts against first order, and the tabulated wall against the wall laid anew."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from mandrelwright.job.read import library_of, read_job
from mandrelwright.physics import uncertainty
from mandrelwright.plan import Plan, make_plan
from mandrelwright.quantities import Quantity
from mandrelwright.stages.chain import Station, Values
from mandrelwright.stages.textiles import Sleeve
from mandrelwright.stages.wall import free_strains, read_constituents
from tests.meridians import Net

Array = NDArray[np.float64]

NOSE = Path(__file__).parents[2] / "examples" / "plover-nose.toml"
DRAWS = 200_000
TENTH = 1e-7  # m; a tenth of a micrometre, a two-hundredth of one caliper reading


@cache
def plan() -> Plan:
    job = read_job(NOSE)
    return make_plan(job, library_of(job))


def first_order(station: Station, file: float) -> uncertainty.Propagated:
    chain = plan().fit.chain
    return uncertainty.propagate(
        lambda rows: chain.from_file(station, chain.values(rows.T), file),
        chain.mean,
        chain.covariance,
    )


def test_drawn_parts_agree_with_first_order_where_print_and_surface_rule() -> None:
    """Coupler of the plover nose from the print file: three quarters of it is shrink, linear.

    200 000 draws of ±0.3 mm: the mean errs by 0.7 µm (one standard error), the spread by
    0.16 %. What is not linear moves the mean by 3 µm, a hundredth of the spread.
    """
    fit = plan().fit
    lead = fit.chain.lead
    play = fit.chain.sample(lead, fit.file_diameter, DRAWS, 5)
    linear = first_order(lead, fit.file_diameter)
    assert play.std() == pytest.approx(linear.spread, rel=4 * 0.0016)
    assert play.mean() == pytest.approx(linear.value, abs=0.02 * linear.spread)


def test_shares_of_blame_are_those_of_the_drawn_parts() -> None:
    """Share of an input: what is left of the variance when it alone is certain, seen in draws."""
    chain, fit = plan().fit.chain, plan().fit
    lead, file = chain.lead, fit.file_diameter
    rows = chain.draw(np.random.default_rng(2), DRAWS)
    whole = chain.from_file(lead, chain.values(rows), file).var()
    blame = dict(fit.blame)
    for name in ("shrink", "offset", "smoothing"):
        still = rows.copy()
        still[chain.index(name)] = chain.mean[chain.index(name)]
        left = chain.from_file(lead, chain.values(still), file).var()
        assert 1 - left / whole == pytest.approx(blame[name], abs=0.005)


def test_first_order_is_wrong_for_a_form_error_wider_than_its_mean() -> None:
    """Form is one-sided: at 0.05 ± 0.10 mm a third of a normal's draws would be negative.

    First order keeps the mean 0.05 mm and the spread 0.10 mm. Cut off at zero, a normal of
    mean m and spread s has the mean m Φ(z) + s φ(z), z = m/s: 0.0698 mm, and E[x²] =
    (m² + s²) Φ(z) + m s φ(z). So the play is 20 µm tighter and its spread smaller than linear
    says, and linear would overstate the fit.
    """
    chain = plan().fit.chain
    name = f"form {chain.lead.place.fit.name}"
    row = chain.index(name)
    mean, spread = 0.05e-3, 0.10e-3
    draws = np.random.default_rng(4).standard_normal(DRAWS)
    rows = np.repeat(chain.mean[:, None], DRAWS, axis=1)
    rows[row] = mean + spread * draws
    ready = np.full(DRAWS, plan().fit.outcome.best)
    play = chain.play(chain.lead, chain.values(rows), ready)
    z = mean / spread
    density, below = np.exp(-z * z / 2) / np.sqrt(2 * np.pi), 0.6914624612740131  # Φ(0.5)
    cut_mean = mean * below + spread * density
    cut_spread = np.sqrt((mean**2 + spread**2) * below + mean * spread * density - cut_mean**2)
    at_zero = chain.play(chain.lead, chain.values(rows * _without(row, len(rows))), ready)
    lost = at_zero - play
    assert lost.mean() == pytest.approx(cut_mean, abs=4 * cut_spread / np.sqrt(DRAWS))
    assert lost.std() == pytest.approx(cut_spread, rel=0.01)
    assert cut_mean - mean > 0.019e-3
    assert cut_spread < 0.8 * spread


def _without(row: int, count: int) -> Array:
    """A column of ones with a zero."""
    ones = np.ones((count, 1))
    ones[row] = 0.0
    return ones


def test_inputs_stay_within_their_physical_range() -> None:
    """A share between 0 and 1, a form error not below 0, whatever a normal draws."""
    job = read_job(NOSE)
    stated = job.stated.model_copy(update={"share_kept": Quantity(0.6, 0.2)})
    chain = make_plan(job.model_copy(update={"stated": stated}), library_of(job)).fit.chain
    spread = np.sqrt(np.diag(chain.covariance))[:, None]
    v = chain.values(chain.mean[:, None] + spread * np.linspace(-6, 6, 25))
    assert v["share kept"].min() == 0.0
    assert v["share kept"].max() == 1.0
    assert v[f"form {chain.lead.place.fit.name}"].min() == 0.0
    assert v["offset"].min() < 0.0


def test_angle_bends_the_bore_so_that_the_mean_moves() -> None:
    """Where first order does not hold: ±3° of angle move the cure strain on a curve.

    The mean of the drawn plays lies below first order by half its second derivative times the
    variance, 2 to 4 µm, fifteen standard errors, although the spread agrees.
    """
    fit = plan().fit
    chain, lead = fit.chain, fit.chain.lead
    row, doubt = chain.index("braid angle"), np.radians(3.0)
    mean = np.repeat(chain.mean[:, None], 3, axis=1)
    mean[row] = [-doubt, 0.0, doubt]
    ready = np.full(3, fit.outcome.best)
    low, middle, high = chain.play(lead, chain.values(mean), ready)
    second_order = (low - 2 * middle + high) / 2
    rows = np.repeat(chain.mean[:, None], DRAWS, axis=1)
    rows[row] = doubt * np.random.default_rng(6).standard_normal(DRAWS)
    play = chain.play(lead, chain.values(rows), np.full(DRAWS, fit.outcome.best))
    error = play.std() / np.sqrt(DRAWS)
    assert abs(play.mean() - middle) > 15 * error
    assert play.mean() - middle == pytest.approx(second_order, abs=0.15 * abs(second_order))


def nets() -> list[tuple[Net, float]]:
    """Every layer at the coupler by the test's own net, and its share there."""
    stack, node = plan().stack, plan().fit.chain.lead.node
    out = []
    for number, layer in enumerate(stack.layers):
        sleeve = layer.textile
        assert isinstance(sleeve, Sleeve)
        density = plan().library.fibres[sleeve.fibre]["density"].value
        net = Net(
            sleeve.tows,
            sleeve.tow,
            sleeve.radius_at_45,
            sleeve.narrowest_tow,
            density,
            stack.fibre_fraction,
        )
        out.append((net, float(stack.share[number, node])))
    return out


def laid_anew(rows: Values, station: Station) -> tuple[Array, Array, Array]:
    """Wall (draw,), expansion and cure strain per unit of resin strain (draw, 3), exactly.

    On the cylinder at the coupler each sleeve is laid with the drawn tow and fibre fraction,
    then turned by the drawn error of angle: t cos θ is kept.
    """
    fraction, turn, tow = rows["fibre fraction"], rows["braid angle"], rows["tow"]
    radius = np.full_like(turn, plan().stack.mould.r[station.node])
    angles, thickness = [], []
    for net, share in nets():
        more = share * tow * net.fraction / fraction
        t = net.thickness(radius, np.ones_like(radius), more)
        laid = net.angle(radius + t / 2)
        angles.append(laid + turn)
        thickness.append(t * np.cos(laid) / np.cos(laid + turn))
        radius = radius + t
    parts = read_constituents(plan().job, plan().stack.layers, plan().library)
    expansion, cure = free_strains(
        parts,
        fraction[:, None, None],
        np.array(angles).T[:, :, None],
        np.array(thickness).T[:, :, None],
    )
    return np.sum(thickness, axis=0), expansion[:, 0], cure[:, 0] / parts.resin.cure


def bore_anew(v: Values, station: Station) -> tuple[Array, Array]:
    """Bore and wall of drawn parts with everything about the wall computed anew (m)."""
    wall, expansion, cure = laid_anew(v, station)
    warm = v["set temperature"] - plan().fit.chain.reference
    films = sum(v[name] for name in plan().fit.chain.films)
    held = plan().fit.outcome.best * (1 + v["mould expansion"] * warm) + films
    strain = v["share kept"] * v["cure shrinkage"] * cure.T - warm * expansion.T
    strain[1] += v["springback"]
    return held * (1 + strain[1]) + wall * (strain[1] - strain[2]), wall


def test_tabulated_wall_is_the_wall_laid_anew() -> None:
    """The mean and the spread of the bore move by less than a tenth of a micrometre.

    Every part is within 2.5 µm and 0.4 µm rms, a hundredth of the spread: most of it is the
    strain through the thickness, which the chain keeps at the mean fibre fraction and angle.
    """
    chain, station = plan().fit.chain, plan().fit.chain.lead
    v = chain.values(chain.draw(np.random.default_rng(8), 4000))
    exact, wall = bore_anew(v, station)
    bore = chain.bore(station, v, np.full(4000, plan().fit.outcome.best))
    assert abs(bore.mean() - exact.mean()) < TENTH
    assert abs(bore.std() - exact.std()) < TENTH
    assert np.sqrt(np.mean((bore - exact) ** 2)) < 0.4e-6
    assert np.abs(bore - exact).max() < 2.5e-6
    assert np.abs(chain.wall(station, v) - wall).max() < 1e-6


def test_polynomials_are_exact_within_three_spreads() -> None:
    """Wall over the whole box of V_f, tow and angle to ±3 spreads: a tenth of a micrometre."""
    chain, station = plan().fit.chain, plan().fit.chain.lead
    spread = np.sqrt(np.diag(chain.covariance))
    draw = np.random.default_rng(9).uniform(-3.0, 3.0, (len(spread), 2000))
    v = chain.values(chain.mean[:, None] + spread[:, None] * draw)
    _, wall = bore_anew(v, station)
    assert np.abs(chain.wall(station, v) - wall).max() < TENTH
