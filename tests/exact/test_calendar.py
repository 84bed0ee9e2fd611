"""The calendar of treatment, cure and release against the plan it is made from."""

from __future__ import annotations

from dataclasses import replace

import pytest

from mandrelwright import plan_job
from mandrelwright.out.calendar import calendar, pulled_from
from mandrelwright.plan import Plan

HOUR = 3600.0


def hours(plan: Plan, what: str) -> list[float]:
    """Hours of the lines that say this."""
    return [
        float(row[0].replace("−", "-")) for row in calendar(plan) if row[1] == what
    ]  # fmt: skip


@pytest.fixture(scope="module")
def nose() -> Plan:
    return plan_job("examples/plover-nose.toml")


def test_hours_are_those_of_the_plan(nose: Plan) -> None:
    cure, release = nose.cure, nose.release
    assert release is not None
    assert hours(nose, "gels") == [pytest.approx(cure.gel_first / HOUR, abs=0.05)]
    assert hours(nose, "hard enough to be pulled") == [
        pytest.approx(cure.release_after / HOUR, abs=0.05)
    ]
    ready = max(cure.release_after, 24.0 * HOUR)
    assert pulled_from(nose) == ready
    assert hours(nose, "release")[0] == pytest.approx(ready / HOUR, abs=0.05)
    assert hours(nose, "pull") == [pytest.approx((ready + release.band[0]) / HOUR, abs=0.05)]


def test_treatments_end_with_the_lay_up(nose: Plan) -> None:
    first = hours(nose, nose.surface.steps[0].label)
    assert first[0] == pytest.approx(-nose.surface.ready / HOUR, abs=0.05)
    labels = [row[1] for row in calendar(nose)]
    assert labels.index("wax and PVA film") < labels.index("all resin is on")
    assert hours(nose, "wax and PVA film") == [0.0]


def test_it_is_in_order(nose: Plan) -> None:
    told = [float(row[0].replace("−", "-")) for row in calendar(nose)]
    assert told == sorted(told)


def test_a_part_that_stays_soft_is_never_pulled(nose: Plan) -> None:
    soft = replace(nose, cure=replace(nose.cure, release_after=float("nan")))
    assert {row[1]: row[0] for row in calendar(soft)}["pull"] == "later than two weeks"
