"""The cure of a whole part: what sets where, what a post-cure does, when to pull."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from mandrelwright.plan import Plan
from mandrelwright.stages.resin import cup, read_resin
from tests import jobs

ABS_EXPANSION = 88e-6  # 1/K, of the library
DAY = {"stay": "24 h", "at": "shop"}
MOULD = {"plastic": "ABS", "beyond_trim": {"tip": "10 mm", "base": "15 mm"}}
THIN = {**MOULD, "core": {"hollow": "5 mm"}}  # warms up before the wall sets again
FAST = {"name": "medium", "gel": {"time": "6 h +- 0.3 h", "at": "22 degC"}}


def tube(schedule: list[dict[str, Any]], **changes: Any) -> Plan:
    """A glass tube at 45 degrees with a bore of 98 mm on a mould of ABS, solid unless told."""
    mould = {**MOULD, "core": "solid"}
    data = jobs.raw(
        section=[jobs.tube(300.0, 102.0)],
        fit=[jobs.bore("97.9 mm +- 0.02 mm", 0.0, 90.0)],
        sleeve=[jobs.sleeve("one", 99.0, 600.0, 1.5)],
        layer=[{"sleeve": "one", "from": "tip", "to": "end", "repeat": 3}],
        mould=mould,
        resin=FAST,
        schedule=schedule,
        shop={"temperature": "22 degC +- 1 degC"},
    )
    return jobs.plan_of({**data, **changes}, 120)


@pytest.fixture(scope="module")
def plain() -> Plan:
    return tube([DAY], mould=THIN)


@pytest.fixture(scope="module")
def warmed() -> Plan:
    return tube([DAY, {"stay": "16 h", "at": "60 degC"}], mould=THIN)


def bore(plan: Plan, ready: float) -> float:
    """Bore of the leading fit over a mould that reads ``ready`` (m), at the mean inputs."""
    chain = plan.fit.chain
    mean = chain.values(chain.mean[:, None])
    return float(chain.bore(chain.lead, mean, np.array([ready]))[0])


def test_a_thin_wall_gels_when_the_can_says(plain: Plan) -> None:
    assert plain.cure.rate_told_by == "gel"
    # the wall warms itself by about a kelvin, so it is a little ahead of a thin film
    assert 0.85 * 6.0 < plain.cure.gel_first / 3600.0 < 6.0
    assert plain.cure.gel_last < plain.cure.recoat_until < plain.cure.release_after


def test_at_room_temperature_the_room_is_the_reference(plain: Plan) -> None:
    assert plain.cure.set_temperature == pytest.approx(295.15, abs=1.5)
    assert 0.9 < plain.cure.set_spread < 2.0
    item = next(item for item in plain.fit.chain.inputs if item.name == "set temperature")
    assert item.mean == plain.cure.set_temperature
    assert plain.cure.regrown == 0.0


def test_what_is_stated_goes_before_the_cure() -> None:
    stated = {"set_temperature": "30 degC +- 3 degC", "share_kept": "70 % +- 10 %"}
    chain = tube([DAY], stated=stated).fit.chain
    by = {item.name: item for item in chain.inputs}
    assert (by["set temperature"].mean, by["set temperature"].spread) == (303.15, 3.0)
    assert (by["share kept"].mean, by["share kept"].spread) == (0.7, 0.1)


def test_post_cure_on_the_mould_sets_the_size_again(plain: Plan, warmed: Plan) -> None:
    """+38 K on ABS leaves a 45 degree glass bore of 98 mm about 0.26 mm larger.

    98 mm · (α_m − α_θ) · 38 K by hand, α_θ of the wall from laminate theory; the fit follows.
    """
    assert warmed.cure.set_temperature == pytest.approx(333.15, abs=1.5)
    node = warmed.fit.chain.lead.node
    assert np.degrees(warmed.stack.angle[0, node]) == pytest.approx(45.0, abs=1.5)
    rise = warmed.cure.set_temperature - plain.cure.set_temperature
    hoop = float(warmed.wall.expansion[node, 1])
    by_hand = 98.0e-3 * (ABS_EXPANSION - hoop) * rise
    assert warmed.cure.regrown == pytest.approx(by_hand, rel=0.02)
    assert warmed.cure.regrown == pytest.approx(0.26e-3, abs=0.02e-3)
    at_equal_kept = replace(warmed.fit.chain, mean=warmed.fit.chain.mean.copy())
    for name in ("share kept",):
        number = at_equal_kept.index(name)
        at_equal_kept.mean[number] = plain.fit.chain.mean[number]
    moved = replace(warmed, fit=replace(warmed.fit, chain=at_equal_kept))
    assert bore(moved, 98e-3) - bore(plain, 98e-3) == pytest.approx(by_hand, rel=0.03)
    assert any(finding.id == "cure.size-set-again" for finding in warmed.findings)


def test_post_cure_off_the_mould_leaves_the_size(plain: Plan) -> None:
    gentle = [
        {"stay": f"{soak.time} s", "at": f"{soak.temperature} K", "part": "off the mould"}
        for soak in plain.cure.post_cure
    ]
    off = tube([DAY, *gentle], mould=THIN)
    assert off.cure.set_temperature == plain.cure.set_temperature
    assert off.cure.regrown == 0.0
    assert off.cure.glass > plain.cure.glass + 20.0


def test_the_proposed_post_cure_never_overtakes_the_glass_transition(plain: Plan) -> None:
    soaks = plain.cure.post_cure
    assert len(soaks) >= 5
    steps = [
        {"stay": f"{soak.time} s", "at": f"{soak.temperature} K", "part": "off the mould"}
        for soak in soaks
    ]
    cure = tube([DAY, *steps], mould=THIN).cure
    assert cure.free_margin > 0.0
    rude = tube([DAY, {"stay": "8 h", "at": "80 degC", "part": "off the mould"}])
    assert rude.cure.free_margin < -10.0
    assert "cure.soft-off-the-mould" in [stop.id for stop in rude.stops]


def test_a_mould_that_softens_stops() -> None:
    pla = {**MOULD, "plastic": "PLA"}
    hot = tube([DAY, {"stay": "8 h", "at": "60 degC"}], mould=pla)
    assert "cure.mould-softens" in [stop.id for stop in hot.stops]
    near = tube([DAY, {"stay": "8 h", "at": "50 degC"}], mould=pla)
    assert "cure.mould-near-softening" in [finding.id for finding in near.findings]
    assert near.stops == []


def test_cold_and_short_schedules_are_too_soft_to_pull() -> None:
    ids = [finding.id for finding in tube([{"stay": "5 h", "at": "shop"}]).findings]
    assert "cure.too-soft-to-release" in ids
    cold = tube([DAY], shop={"temperature": "12 degC"})
    warm = tube([DAY], shop={"temperature": "30 degC"})
    assert cold.cure.gel_first > 2.5 * warm.cure.gel_first


def test_never_set_on_the_mould() -> None:
    plan = tube([{"stay": "2 h", "at": "shop"}])
    assert "cure.never-sets" in [finding.id for finding in plan.findings]
    assert np.isfinite(plan.cure.set_temperature)


def test_a_cup_tells_the_rate_with_its_loss_and_its_end() -> None:
    can = {"time": "40 min", "mass": "150 g", "at": "25 degC"}
    told = {**can, "ends": "50 degC", "loss": "0.16 W/K"}
    library = jobs.library()
    plain = jobs.job_of(jobs.raw(resin={"name": "medium", "pot_life": can}))
    assert read_resin(plain, library).told_by == "library"
    job = jobs.job_of(jobs.raw(resin={"name": "medium", "pot_life": told}))
    resin = read_resin(job, library)
    assert resin.told_by == "pot life"
    history = cup(resin, 0.15, 0.16, 298.15)
    T = history.temperature[:, 0, 0]
    ends = np.interp(323.15, T[: T.argmax()], history.times[: T.argmax()])
    assert ends == pytest.approx(40 * 60.0, rel=0.02)


def test_demould_is_where_the_glass_transition_reaches_the_room() -> None:
    demould = {"name": "slow", "demould": {"time": "24 h", "at": "23 degC"}}
    resin = read_resin(jobs.job_of(jobs.raw(resin=demould)), jobs.library())
    hard = float(resin.kinetics.glass.conversion(296.15))
    assert resin.kinetics.time_to(hard, 296.15) == pytest.approx(86400.0, rel=1e-9)


def test_a_fast_thick_wall_heats_itself() -> None:
    resin = {"name": "fast", "gel": {"time": "15 min", "at": "22 degC"}}
    thick = [{"sleeve": "one", "from": "tip", "to": "end", "repeat": 12}]
    plan = tube([DAY], resin=resin, layer=thick)
    assert "cure.heats-itself" in [finding.id for finding in plan.findings]
    assert plan.cure.peak > 315.0
    spread = [place.gel for place in plan.cure.places]
    assert max(spread) >= min(spread)


def test_damp_air_is_told() -> None:
    shop = {"temperature": "18 degC", "humidity": "85 %"}
    cold = [DAY, {"stay": "4 h", "at": "-18 degC", "in": "freezer"}]
    plan = tube(cold, shop=shop)
    assert plan.cure.dew_point == pytest.approx(288.6, abs=0.2)
    ids = [finding.id for finding in plan.findings]
    assert "cure.blush" in ids
    assert "cure.condensation" in ids
