"""What the gate says of a reading: why the estimate is not the reading, and no vain choices."""

from __future__ import annotations

from functools import cache

import pytest

from mandrelwright.job.records import read_mark
from mandrelwright.plan import Plan
from mandrelwright.shop.gate import HOPELESS, GateAnswer, ask_gate
from tests import jobs


@cache
def plan() -> Plan:
    return jobs.plan_of(jobs.raw(), 120)


def answer(mark: str, off: float, stage: str = "ready") -> GateAnswer:
    """The gate's answer to a reading some mm off what is expected at a mark."""
    (at,) = (m for m in plan().mould.marks if m.name == mark)
    size = 1e3 * at.diameter + off
    return ask_gate(plan(), [read_mark(f"{mark}={size:.3f}", stage, None)])


@pytest.mark.parametrize("off", [-0.9, -0.3, 0.0, 0.3])
def test_choices_without_hope_are_not_offered(off: float) -> None:
    found = answer("A", off)
    for choice in found.choices[1:]:
        assert choice.probability >= HOPELESS or choice.action in ("lay up", "reprint")
    assert {"lay up", "reprint"} <= {choice.action for choice in found.choices}


def test_a_mould_read_at_another_mark_says_how_it_was_weighed() -> None:
    """On the slope of mark C the jaws' place counts, so the reading does not stand alone."""
    slope = max(plan().mould.marks, key=lambda mark: abs(mark.slope)).name
    found = answer(slope, 0.2)
    assert f"read at mark {slope}" in found.pulled
    assert "expected" in found.pulled
    assert f"{found.estimate * 1e3:.2f} mm at mark A" in found.pulled


def test_a_print_that_was_read_says_what_preparation_makes_of_it() -> None:
    found = answer("A", 0.2, "printed")
    assert "was read as printed at mark A" in found.pulled
    assert f"{found.estimate * 1e3:.2f} mm" in found.pulled


def test_a_reading_that_stands_for_itself_needs_no_words() -> None:
    assert answer("A", 0.0).pulled == ""
