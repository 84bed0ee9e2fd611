"""A slip at entry is questioned, with what may have been meant; what is as expected is not."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from mandrelwright import plan_job
from mandrelwright.job.values import InputError
from mandrelwright.plan import Plan
from mandrelwright.shop.expect import Expected, expected_readings, outliers
from mandrelwright.shop.fields import measure
from mandrelwright.shop.log import Log, open_log
from mandrelwright.shop.measuring import Measuring, QuestionedError, known_tool
from mandrelwright.shop.slips import question_reading, question_weight

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
A, C = Expected(0.0982, 0.25e-3, "expected"), Expected(0.0876, 0.25e-3, "expected")
REPEATED = Expected(0.09831, 0.063e-3, "read there before")


@pytest.fixture(scope="module")
def plan() -> Plan:
    return plan_job(EXAMPLES / "plover-transition.toml")


@pytest.fixture
def measuring(plan: Plan, tmp_path: Path) -> Iterator[Measuring]:
    with open_log(tmp_path / "log.sqlite") as log:
        yield Measuring(log, plan)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("92.8", "98.2"),  # the digits of the example everybody knows
        ("89.2", "98.2"),
        ("3.866", "3.866 in"),
        ("98.2 in", "98.2 mm"),
        ("49.1", "98.2"),
        ("9.82", "98.2"),
        ("982", "98.2"),
    ],
)
def test_a_slip_is_questioned_with_what_was_meant(typed: str, meant: str) -> None:
    asked = question_reading("A", measure(typed, "length"), {"A": A, "C": C})
    assert asked is not None
    assert asked.meant == meant


@pytest.mark.parametrize("typed", ["98.2", "98.31", "97.75", "98.82", "3.866 in"])
def test_an_ordinary_reading_is_not(typed: str) -> None:
    assert question_reading("A", measure(typed, "length"), {"A": A, "C": C}) is None


def test_small_exchanges_are_seen_once_there_is_something_to_compare() -> None:
    typed = measure("98.13", "length")
    assert question_reading("A", typed, {"A": A}) is None
    asked = question_reading("A", typed, {"A": REPEATED})
    assert asked is not None
    assert asked.meant == "98.31"


def test_the_wrong_mark_is_named() -> None:
    asked = question_reading("A", measure("87.55", "length"), {"A": A, "C": C})
    assert asked is not None
    assert "mark C" in asked.text


def test_a_surprise_without_a_slip_is_still_questioned() -> None:
    asked = question_reading("A", measure("99.9", "length"), {"A": A})
    assert asked is not None
    assert asked.meant == ""
    assert "7 standard uncertainties" in asked.text


def test_a_weight_in_ounces_is_questioned() -> None:
    part = Expected(0.145, 0.0145, "expected by the plan")
    assert question_weight("part", measure("150 g", "mass"), part) is None
    asked = question_weight("part", measure("5.1", "mass"), part)
    assert asked is not None
    assert asked.meant == "5.1 oz"


def test_nothing_known_asks_nothing(plan: Plan, measuring: Measuring) -> None:
    assert question_reading("Q", measure("1", "length"), {}) is None
    assert expected_readings(plan, measuring.mould(), "ring", []) == {}


def test_every_stage_of_every_example_is_expected_where_the_chain_says() -> None:
    """The prepared mould and the part as the plan predicts them; the chain is tested elsewhere."""
    for path in sorted(EXAMPLES.glob("*.toml")):
        plan = plan_job(path)
        with open_log(":memory:") as log:
            mould = log.add_mould(plan, "1")
            rows = log.standing()
            printed, ready, part = (
                expected_readings(plan, mould, stage, rows)["A"].value
                for stage in ("printed", "ready", "part")
            )
        treated = sum(mould.facts["treatments"].values())  # type: ignore[attr-defined]  # a mould
        assert ready - printed == pytest.approx(treated, rel=1e-9)
        aim = plan.fit.gate.aim
        assert ready == pytest.approx(aim, abs=2e-6), path.stem
        assert abs(part - ready) < 0.5e-3 or plan.fit.lead.kind != "bore"


def test_insisted_on_it_is_kept_with_the_question(measuring: Measuring) -> None:
    mould = measuring.mould()
    with pytest.raises(QuestionedError, match="--yes"):
        measuring.reading(mould, "ready", "a", "92.01")
    kept = measuring.reading(mould, "ready", "a", "92.01", insist=True)
    assert "92.01 mm" in kept.questioned
    assert kept.reads.text == "92.01"
    assert kept.mark == "A"
    measuring.keep([kept])
    with pytest.raises(InputError, match=r"its marks are A \("):
        measuring.reading(mould, "ready", "Q", "92.01")


def test_repeats_are_counted_until_the_mould_is_mended(measuring: Measuring) -> None:
    mould, log = measuring.mould(), measuring.log
    for count in (1, 2):
        read = measuring.reading(mould, "ready", "A", "99.20")
        assert read.repeat == count
        measuring.keep([read])
    log.add_event(mould, "mended")
    assert measuring.reading(mould, "ready", "A", "99.10").repeat == 1


def test_moulds_and_parts_begin_only_when_told(measuring: Measuring) -> None:
    first = measuring.mould()
    assert measuring.mould() == first
    with pytest.raises(InputError, match="--new"):
        measuring.mould("7")
    second = measuring.mould(new=True)
    assert [mould.name for mould in measuring.moulds()] == ["1", "2"]
    assert measuring.mould() == second
    part = measuring.part(second)
    assert measuring.part(second, "1") == part
    assert measuring.marks(part) == measuring.marks(second)
    assert measuring.ring("ring 99", "99 mm") == measuring.ring("ring 99")
    caliper, new = known_tool(measuring.log, "caliper = 0.02 mm")
    assert new == [caliper]
    measuring.keep(new)
    assert known_tool(measuring.log, "caliper") == (caliper, [])


def test_an_outlier_is_shown_and_the_rest_is_not(log_of_five: Log) -> None:
    numbers = set(outliers(log_of_five.standing()))
    assert numbers == {6}


@pytest.fixture
def log_of_five(plan: Plan, tmp_path: Path) -> Iterator[Log]:
    """A mould and five readings, the last of them far from the others."""
    with open_log(tmp_path / "log.sqlite") as log:
        mould = log.add_mould(plan, "1")
        for reads in ("98.31", "98.29", "98.30", "98.32", "98.13"):
            log.add_reading(mould, "ready", "A", reads)
        yield log
