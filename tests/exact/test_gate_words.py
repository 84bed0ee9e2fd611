"""What the gate says of a reading: why the estimate is not the reading, and no vain choices."""

from __future__ import annotations

from functools import cache

import pytest

from mandrelwright.job.records import read_mark
from mandrelwright.plan import Plan
from mandrelwright.shop.answers import GateAnswer
from mandrelwright.shop.gate import ask_gate
from tests import jobs


@cache
def plan() -> Plan:
    return jobs.plan_of(jobs.raw(), 120)


def answer(mark: str, off: float, stage: str = "ready") -> GateAnswer:
    """The gate's answer to a reading some mm off what is expected at a mark."""
    (at,) = (m for m in plan().mould.marks if m.name == mark)
    size = 1e3 * at.diameter + off
    return ask_gate(plan(), [read_mark(f"{mark}={size:.3f}", stage, None)])


OFFS = [-0.9, -0.6, -0.45, -0.3, -0.15, 0.0, 0.05, 0.3]


@pytest.mark.parametrize("off", OFFS)
@pytest.mark.parametrize("stage", ["ready", "printed"])
def test_only_choices_worth_doing_are_named(off: float, stage: str) -> None:
    """Half of the best mould's odds at least, and no other choice both surer and quicker."""
    found = answer("A", off, stage)
    named = found.choices
    assert {"lay up", "reprint"} <= {choice.action for choice in named}
    sure = answer("A", 0.0).as_is
    for choice in named:
        if choice.action in ("lay up", "reprint"):
            continue
        assert choice.probability >= 0.5 * sure - 0.01
        if choice is not found.best:
            assert not any(
                other.minutes < choice.minutes
                and round(100 * other.probability) >= round(100 * choice.probability)
                for other in named
            )


def test_a_mould_out_of_reach_of_film_is_printed_again() -> None:
    """Three wraps would leave its part to be honed, nearly always."""
    found = answer("A", -0.45)
    assert found.best.action == "reprint"
    assert "film" not in {choice.action for choice in found.choices}


@pytest.mark.parametrize(("off", "stage"), [(-0.3, "ready"), (0.3, "ready"), (0.3, "part")])
def test_the_amount_brings_the_reading_to_what_it_should_be(off: float, stage: str) -> None:
    """Sanding and shims end at the target, a wrap adds 0.1 mm, laying up as it is nothing."""
    found = answer("A", off, stage)
    for choice in found.choices:
        if choice.action in ("sand", "hone", "shim"):
            assert found.estimate + choice.amount == pytest.approx(found.target, abs=1e-9)
            told = abs(choice.amount) * (0.5 if choice.action == "shim" else 1.0)
            assert f"{told * 1e3:.2f} mm" in choice.text
        elif choice.action == "film":
            wraps = choice.amount / 0.1e-3
            assert wraps == pytest.approx(round(wraps), abs=1e-6)
            assert f"{round(wraps)} wraps" in choice.text
        else:
            assert choice.amount == 0.0


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


def test_a_warm_mould_is_told_at_the_temperature_of_the_job() -> None:
    """D·α·ΔT, by hand: some 95 ppm/K over 12 K are 0.11 mm of 99.2 mm."""
    (at,) = (m for m in plan().mould.marks if m.name == "A")
    size = 1e3 * at.diameter
    found = ask_gate(plan(), [read_mark(f"A={size:.3f}", "ready", "32 degC")])
    chain = plan().fit.chain
    expansion = float(chain.mean[chain.index("mould expansion")])
    cold = size / (1.0 + 12.0 * expansion)
    assert found.pulled.startswith(
        f"{size:.2f} mm at 32 °C is {cold:.2f} mm at 20 °C, as in the job."
    )


def test_a_scrapped_part_is_followed_by_another_mould() -> None:
    """Its odds are those of any mould that is read and mended, not none."""
    found = answer("A", 1.5, "part")
    odds = {choice.action: choice.probability for choice in found.choices}
    assert odds["scrap"] == plan().fit.forecast.gated
