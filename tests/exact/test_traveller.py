"""Shop mode's steps are the build sheet's own: nothing to tick or to write is left out."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from mandrelwright import plan_job
from mandrelwright.bench.alarm import Alarm, running
from mandrelwright.bench.folder import JobFolder
from mandrelwright.bench.shop import ShopLogs
from mandrelwright.bench.traveller import GATES, ON_PAPER_ONLY, listed, travel
from mandrelwright.out import sheet_mould
from mandrelwright.out.build_sheet import sheet_data
from mandrelwright.out.sheet import TICK
from mandrelwright.plan import Plan
from mandrelwright.shop.fields import new_id

EXAMPLES = sorted((Path(__file__).resolve().parents[2] / "examples").glob("*.toml"))


@pytest.fixture(scope="module", params=EXAMPLES, ids=lambda path: path.stem)
def plan(request: pytest.FixtureRequest) -> Plan:
    return plan_job(request.param)


def test_every_box_of_the_paper_is_ticked_at_the_table(plan: Plan) -> None:
    steps = travel(plan)
    ticked = {line for step in steps for line in step.ticks} | {step.title for step in steps}
    said = " ".join(ticked).lower()
    for section in sheet_data(plan)["sections"]:
        for block in section["blocks"] if section["title"] not in ON_PAPER_ONLY else ():
            for item in block["items"] if block["kind"] == "ticks" else ():
                assert item in ticked
            if block["kind"] == "table" and block["heads"][:3] != [h for h, _ in sheet_mould.DO]:
                for row in block["rows"]:
                    if row[0] == TICK and len(row[1]) > 2 and not row[1].isdecimal():
                        assert row[1].lower() in said


def test_every_blank_of_the_paper_is_a_field(plan: Plan) -> None:
    steps = travel(plan)
    labels = {field.label for step in steps for field in step.fields}
    for section in sheet_data(plan)["sections"]:
        for block in section["blocks"] if section["title"] not in ON_PAPER_ONLY else ():
            if block["kind"] == "blanks" and "mean at A" not in block["labels"]:
                assert labels >= set(block["labels"])


def test_steps_have_names_of_their_own_and_every_gate_is_there(plan: Plan) -> None:
    steps = travel(plan)
    assert len({step.id for step in steps}) == len(steps)
    assert [step.gate for step in steps if step.gate] == list(GATES.values())
    for stage in GATES.values():
        chapter = next(step.chapter for step in steps if step.gate == stage)
        needed = [f for s in steps if s.chapter == chapter for f in s.fields if f.need]
        assert [field.what for field in needed] == ["A"]
    assert json.dumps(list(listed(steps)), allow_nan=False)


def test_every_cup_starts_its_clock_and_its_last_wetting_stops_it(plan: Plan) -> None:
    steps = travel(plan)
    started = [step.starts[0] for step in steps if step.cup and step.starts]
    assert started == [cup.label for cup in plan.layup.cups]
    stopped = [step.stops for step in steps if step.stops.startswith("cup")]
    assert stopped == started
    for step, cup in zip((s for s in steps if s.cup), plan.layup.cups, strict=True):
        assert step.cup is not None
        half = 0.5 * step.cup.scale  # g: told to the step of the scale
        assert step.cup.resin == pytest.approx(1e3 * cup.resin, abs=half)
        assert step.cup.ratio * step.cup.resin == pytest.approx(1e3 * cup.hardener, abs=half)


def test_a_cup_of_unknown_pot_life_says_that_no_clock_runs(tmp_path: Path) -> None:
    text = EXAMPLES[1].read_text("utf-8")
    bare = re.sub(r"^pot_life.*\n", "", text, flags=re.MULTILINE)
    (tmp_path / "nose.toml").write_text(bare, "utf-8")
    for path, told in ((EXAMPLES[1], False), (tmp_path / "nose.toml", True)):
        cups = [step for step in travel(plan_job(path)) if step.cup]
        assert cups
        for step in cups:
            assert any("No clock runs" in line for line in step.text) is told
            assert (step.starts is None) is told


@pytest.fixture
def logs(tmp_path: Path) -> ShopLogs:
    (tmp_path / "nose.toml").write_text(EXAMPLES[1].read_text("utf-8"), "utf-8")
    return ShopLogs(JobFolder(tmp_path))


def test_a_clock_rings_once_when_its_time_is_over(logs: ShopLogs) -> None:
    about = logs.begin("nose.toml", "1", "1", {"job": "nose", "plastic": "ASA"})

    def event(what: str, text: str, at: str) -> None:
        given = {"id": new_id(), "at": at, "what": what, "text": text, **about}
        logs.keep("nose.toml", logs.entry("nose.toml", "event", given, {}))

    event("clock", "cup 1, 40 min", "2026-11-25T10:00:00Z")
    event("clock", "cup 2, 40 min", "2026-11-25T10:00:00Z")
    event("clock stopped", "cup 2", "2026-11-25T10:30:00Z")
    log = logs.find("nose.toml")
    assert log is not None
    (clock,) = running("nose.toml", log.standing())
    alarm = Alarm(logs)
    assert alarm.due(clock.ends - 1.0) == []
    assert [each.name for each in alarm.due(clock.ends + 1.0)] == ["cup 1"]
    assert alarm.due(clock.ends + 2.0) == []
    event("clock", "cup 3, 40 min", "2026-11-25T10:30:00Z")
    assert alarm.due(clock.ends + 3.0) == []
    event("clock stopped", "cup 3", "2026-11-25T11:00:00Z")  # after the log has been looked at
    assert alarm.due(clock.ends + 1900.0) == []
    logs.close()


def test_beginning_and_sending_twice_adds_nothing(logs: ShopLogs) -> None:
    about = {"job": "nose", "plastic": "ASA"}
    first = logs.begin("nose.toml", "1", "2", about)
    assert logs.begin("nose.toml", "1", "2", about) == first
    given = {"id": new_id(), "at": "2026-11-25T10:00:00Z", "stage": "ring", "mark": "A",
             "reads": "99.38"}  # fmt: skip
    ring = {"name": "ring at the fit, mould 1", "file": "100.00 mm", "plastic": "ASA"}
    numbers = {
        logs.keep("nose.toml", logs.entry("nose.toml", "reading", given, ring)) for _ in range(3)
    }
    assert len(numbers) == 1
    log = logs.find("nose.toml")
    assert log is not None
    assert [row.entry.kind for row in log.entries()] == ["mould", "part", "coupon", "reading"]
    logs.close()
