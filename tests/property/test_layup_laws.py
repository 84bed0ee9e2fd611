"""More layers, less time, more hands, warmer air: cups and minutes move the right way."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mandrelwright.findings.finding import Level
from mandrelwright.stages.cups import Work, fill_cups
from mandrelwright.stages.layup import LayUp
from tests import jobs

few = settings(max_examples=60, deadline=None)
works = st.lists(
    st.builds(
        Work,
        st.floats(0.001, 0.3),
        st.floats(0.0, 600.0),
        st.floats(10.0, 3000.0),
        st.floats(0.0, 600.0),
    ),
    min_size=1,
    max_size=12,
)


def layup(
    repeat: int = 2, minutes: float = 40.0, people: int = 1, room: str = "22 degC", **shop: Any
) -> LayUp:
    data = jobs.raw(
        section=[jobs.tube(300.0, 102.0)],
        layer=[{"sleeve": "big", "from": "tip", "to": "end", "repeat": repeat, "stagger": "0 mm"}],
        resin={
            "name": "medium",
            "pot_life": {"time": f"{minutes} min", "mass": "150 g", "at": "25 degC"},
            "hardener": "30 g per 100 g",
        },
        shop={"temperature": room, "people": people, **shop},
    )
    return jobs.plan_of(data, places=60).layup


@pytest.mark.parametrize("repeat", [1, 2, 3])
def test_twice_the_layers_take_twice_the_pieces_and_no_fewer_cups(repeat: int) -> None:
    once, twice = layup(repeat), layup(2 * repeat)
    assert len(twice.pieces) == 2 * len(once.pieces)
    assert len(twice.cups) >= len(once.cups)
    assert twice.takes > once.takes
    assert twice.mixed > once.mixed
    # a layer further out is a little wider, one further in a little narrower: 1 % a layer
    assert twice.laid_mass == pytest.approx(2.0 * once.laid_mass, rel=0.02 * repeat)


def test_half_the_pot_life_takes_more_cups_and_more_minutes() -> None:
    long, short = layup(6), layup(6, minutes=20.0)
    assert len(short.cups) > len(long.cups)
    assert short.takes > long.takes
    assert short.mixed > long.mixed
    assert short.laid_mass == long.laid_mass


def test_a_helper_saves_minutes_and_never_costs_a_cup() -> None:
    alone, two = layup(6, minutes=25.0), layup(6, minutes=25.0, people=2)
    assert two.takes < alone.takes
    assert len(two.cups) < len(alone.cups)


def test_a_warmer_shop_shortens_the_pot_and_thins_the_resin() -> None:
    cool, warm = layup(6, room="20 degC"), layup(6, room="30 degC")
    assert warm.pot_life < cool.pot_life
    assert len(warm.cups) >= len(cool.cups)
    assert warm.film_gels < cool.film_gels
    assert warm.sag_speed > cool.sag_speed
    assert warm.turn_every < cool.turn_every


def test_a_finer_scale_allows_a_smaller_cup() -> None:
    coarse, fine = layup(1, scale="5 g"), layup(1, scale="0.1 g")
    assert coarse.least_cup == pytest.approx(50.0 * fine.least_cup, rel=1e-12)
    assert coarse.cups[0].mixed >= coarse.most_cup
    assert coarse.cups[0].hardener_error > fine.cups[0].hardener_error
    assert not fine.cups[0].raised


@few
@given(works, st.floats(0.02, 0.5), st.floats(60.0, 5000.0))
def test_cups_hold_every_layer_once_in_order_and_within_their_limits(
    work: list[Work], most: float, lasts: float
) -> None:
    cups = fill_cups(work, most, lasts)
    shares = [share for cup in cups for share in cup]
    assert [share.layer for share in shares] == sorted(share.layer for share in shares)
    for number in range(len(work)):
        own = [share for share in shares if share.layer == number]
        assert [share.part for share in own] == list(range(own[0].parts))
    for cup in cups:
        assert sum(work[s.layer].resin / s.parts for s in cup) <= most * (1.0 + 1e-9)
        time = sum(work[s.layer].wet / s.parts for s in cup)
        time += sum(work[s.layer].before + work[s.layer - 1].squeeze for s in cup[1:])
        assert time <= lasts * (1.0 + 1e-9)


@few
@given(works, st.floats(0.02, 0.5), st.floats(60.0, 5000.0))
def test_smaller_or_shorter_cups_are_never_fewer(
    work: list[Work], most: float, lasts: float
) -> None:
    cups = len(fill_cups(work, most, lasts))
    assert len(fill_cups(work, 0.5 * most, lasts)) >= cups
    assert len(fill_cups(work, most, 0.5 * lasts)) >= cups
    assert len(fill_cups([*work, *work], most, lasts)) >= cups


@pytest.mark.parametrize(
    ("resin", "shop", "wanted"),
    [
        ({}, {}, {"layup.no-pot-life", "layup.no-hardener", "layup.epoxy", "layup.runs"}),
        ({"hardener": "30 g per 100 g"}, {"scale": "5 g"}, {"layup.scale-too-coarse"}),
        ({"hardener": "30 g per 100 g"}, {"scale": "3.4 g"}, {"layup.more-than-needed"}),
        ({}, {"batch_most": "20 g"}, {"layup.cup-too-small"}),
        ({}, {"batch_most": "32 g"}, {"layup.layer-split"}),
        ({}, {"temperature": "12 degC"}, {"layup.cold"}),
        ({"time": "4 min", "mass": "150 g"}, {}, {"layup.pot-life-too-short"}),
        ({"time": "10 min", "mass": "100 g"}, {}, {"layup.kept-to-the-can", "layup.sets-early"}),
    ],
)
def test_what_is_told(resin: dict[str, str], shop: dict[str, str], wanted: set[str]) -> None:
    stated: dict[str, Any] = {"name": "medium", **resin}
    if "time" in resin:
        stated = {"name": "medium", "pot_life": {**resin, "at": "25 degC"}}
    data = jobs.raw(resin=stated, shop={"temperature": "22 degC", **shop})
    plan = jobs.plan_of(data, places=60)
    told = {finding.id: finding for finding in plan.findings if finding.step == "layup"}
    assert wanted <= set(told)
    for name in ("layup.cup-too-small", "layup.pot-life-too-short"):
        if name in wanted:
            assert told[name].level is Level.STOP
            assert told[name].hurts
            assert plan.layup.cups == ()
            assert plan.layup.part_mass > 0.0
