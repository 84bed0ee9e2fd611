"""Cloth off the roll: wider never takes more, all of it is there, layers and shelf add up."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from functools import cache
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mandrelwright.plan import Plan
from mandrelwright.stages.patterns import ClothPiece
from mandrelwright.stages.supplies import strips_across
from tests import jobs

few = settings(max_examples=200, deadline=None)
sizes = st.lists(
    st.tuples(st.floats(0.05, 1.5), st.floats(0.02, 1.4), st.integers(1, 12)),
    min_size=1,
    max_size=9,
)


def tube(repeat: int, **roll: Any) -> Plan:
    """A tube of 400 mm in cloth; one piece is 185 mm wide across its warp."""
    cloth = {"name": "twill", "fibre": "E-glass", "areal_weight": "163 g/m^2", **roll}
    data = jobs.raw(
        part={"name": "Test", "describes": "inside"},
        section=[jobs.tube(400, 54)],
        fit=[jobs.bore("53.8 mm +- 0.02 mm", 0, 30)],
        cloth=[cloth],
        sleeve=None,
        layer=[{"cloth": "twill", "from": "tip", "to": "end", "angle": "0 deg", "repeat": repeat}],
    )
    return jobs.plan_of(data, 60)


@cache
def a_piece() -> ClothPiece:
    return tube(1).patterns.pieces[0]


def pieces(drawn: list[tuple[float, float, int]]) -> list[ClothPiece]:
    return [
        replace(a_piece(), label=f"{number}", length=length, width=width, count=count)
        for number, (length, width, count) in enumerate(drawn)
    ]


def taken(drawn: list[tuple[float, float, int]], width: float) -> float:
    return sum(strip.length for strip in strips_across(pieces(drawn), width))


@few
@given(sizes, st.floats(0.3, 2.0), st.floats(1.0, 2.0))
def test_a_wider_roll_never_takes_more(
    drawn: list[tuple[float, float, int]], width: float, wider: float
) -> None:
    assert taken(drawn, width * wider) <= taken(drawn, width) * (1.0 + 1e-12)


@few
@given(sizes, st.floats(0.3, 2.0))
def test_every_pattern_lies_on_the_roll_once(
    drawn: list[tuple[float, float, int]], width: float
) -> None:
    strips = strips_across(pieces(drawn), width)
    found = Counter(label for strip in strips for label in strip.labels)
    assert found == {str(number): count for number, (_, _, count) in enumerate(drawn)}
    for strip in strips:
        own = [drawn[int(label)] for label in strip.labels]
        assert strip.length == max(length for length, _, _ in own)
        assert len(own) == 1 or sum(wide for _, wide, _ in own) <= width * (1.0 + 1e-9)
    one_by_one = sum(length * count for length, _, count in drawn)
    area = sum(length * min(wide, width) * count for length, wide, count in drawn)
    assert area / width * (1.0 - 1e-9) <= taken(drawn, width) <= one_by_one * (1.0 + 1e-9)


@pytest.mark.parametrize("repeat", [1, 2, 3])
def test_twice_the_layers_take_twice_the_cloth(repeat: int) -> None:
    """On a roll that holds one piece beside none, exactly: all are as long as the mandrel."""
    once, twice = (tube(count, width="250 mm").supplies.items[0] for count in (repeat, 2 * repeat))
    assert twice.needed == pytest.approx(2.0 * once.needed, rel=1e-12)
    assert [len(strip.labels) for strip in twice.strips] == [1] * (2 * repeat)


def test_the_shelf_gives_as_many_layers_as_lie_side_by_side() -> None:
    """A metre of width holds five pieces of some 185 mm; 0.45 m of roll one strip of 0.425 m."""
    plan = tube(7, width="1 m", on_shelf="0.45 m", price="20 EUR/m")
    (roll,) = plan.supplies.items
    assert [len(strip.labels) for strip in roll.strips] == [5, 2]
    assert roll.needed == pytest.approx(0.85)
    assert roll.cost == pytest.approx(17.0)
    assert plan.supplies.laid_from_shelf == 5
    assert "supplies.short" in {finding.id for finding in plan.findings}


def test_cloth_on_the_shelf_counts_among_sleeves() -> None:
    """The first layer is cloth that is lacking: the shelf gives none."""
    assert tube(2, on_shelf="0.1 m").supplies.laid_from_shelf == 0
    assert tube(2, on_shelf="2 m").supplies.laid_from_shelf == 2
