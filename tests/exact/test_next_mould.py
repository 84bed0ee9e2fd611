"""From a log to the next mould: links, odd readings, corrections that come back, the gate."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from mandrelwright import plan_job
from mandrelwright.cli import app
from mandrelwright.job.corrections import (
    corrections_path,
    corrections_text,
    read_corrections,
)
from mandrelwright.job.records import Reading
from mandrelwright.job.values import InputError
from mandrelwright.physics.uncertainty import condition
from mandrelwright.plan import Plan, make_plan
from mandrelwright.shop.chart import draw_parts
from mandrelwright.shop.finishing import learn_finishing
from mandrelwright.shop.gate import ask_gate
from mandrelwright.shop.history import History, MarkRecord, MouldRecord, PartRecord, RingRecord
from mandrelwright.shop.learning import corrections_of, learn_from
from mandrelwright.shop.log import log_beside, open_log
from mandrelwright.shop.next import propose_next
from mandrelwright.shop.observations import observe
from mandrelwright.shop.tell import next_lines

NOSE = Path(__file__).resolve().parents[2] / "examples" / "plover-nose.toml"


@pytest.fixture(scope="module")
def plan() -> Plan:
    return plan_job(NOSE)


def reading(stage: str, size_mm: float, mark: str = "A", **more: object) -> Reading:
    return Reading(stage, mark, size_mm * 1e-3, 0.0, **more)  # type: ignore[arg-type]


def mould(plan: Plan, name: str, *readings: Reading, parts: tuple[PartRecord, ...] = ()):
    """A mould printed from the plan's file; its marks' slopes are the plan's."""
    marks = tuple(
        MarkRecord(
            mark.name,
            2.0 * float(np.interp(mark.x, plan.fit.ready.x, plan.fit.file.r)),
            mark.slope,
        )
        for mark in plan.mould.marks
    )
    plastic = plan.job.mould.plastic
    return MouldRecord(name, plastic, "", "", marks, readings=readings, parts=parts)


def two_moulds(plan: Plan) -> History:
    part = PartRecord("P1", readings=(reading("part", 98.98),))
    return History(
        (
            mould(plan, "M1", reading("printed", 99.02), reading("ready", 98.88), parts=(part,)),
            mould(plan, "M2", reading("printed", 99.10), reading("ready", 98.93)),
        ),
        (RingRecord("R1", "ASA", "", 0.099, (reading("ring", 98.55, "ring"),)),),
    )


def test_an_empty_log_changes_nothing(plan: Plan) -> None:
    lesson = learn_from(plan, History())
    assert np.allclose(lesson.covariance, plan.fit.chain.covariance, rtol=1e-12)
    assert corrections_of(lesson, plan, History()).inputs == ()


def test_one_ring_is_plain_conditioning_when_spreads_are_sure(plan: Plan) -> None:
    """With a spread known for certain the lesson of a ring is Bayes' rule for normals."""
    ring = RingRecord("R1", "ASA", "", 0.099, (reading("ring", 98.30, "ring"),))
    library = plan.library
    sure = learn_from(plan, History((), (ring,)))
    (seen,) = observe(plan, History((), (ring,))).observations
    chain = plan.fit.chain
    noise = seen.noise + seen.zero
    mean, _ = condition(
        chain.mean, chain.covariance, seen.slopes[None],
        [seen.gap + seen.slopes @ chain.mean], [[noise]],
    )  # fmt: skip
    row = chain.index("shrink")
    assert library is plan.library
    assert sure.mean[row] == pytest.approx(mean[row], rel=0.02)  # the grid's factor moves it a bit


def test_two_moulds_move_the_shrink_and_narrow_it(plan: Plan) -> None:
    proposal = propose_next(plan, two_moulds(plan))
    told = {item.name: item for item in proposal.corrections.inputs}
    assert told["shrink"].mean > told["shrink"].prior  # every mould came out small
    assert told["shrink"].spread < 0.6 * told["shrink"].prior_spread
    assert proposal.sizes[0].after > proposal.sizes[0].before
    assert proposal.after.fit.forecast.unread > plan.fit.forecast.unread
    words = "\n".join(next_lines(proposal))
    assert "6 readings of 2 moulds" in words
    assert "does not fit" in words or "cannot be told" in words


def test_learning_twice_changes_nothing(plan: Plan) -> None:
    once = learn_from(plan, two_moulds(plan))
    again = learn_from(plan, two_moulds(plan))
    assert np.array_equal(once.mean, again.mean)
    assert np.array_equal(once.covariance, again.covariance)


def test_corrections_come_back_to_the_last_digit(plan: Plan, tmp_path: Path) -> None:
    history = two_moulds(plan)
    corrections = corrections_of(learn_from(plan, history), plan, history)
    job = tmp_path / "nose.toml"
    job.write_bytes(NOSE.read_bytes())
    corrections_path(job).write_text(corrections_text(corrections), "utf-8")
    assert read_corrections(job) == corrections
    corrected = plan_job(job)
    assert corrected.fit.file_diameter == pytest.approx(
        make_plan(plan.job, plan.library, corrections=corrections).fit.file_diameter, rel=1e-12
    )
    assert "fit.rests-on-readings" in {finding.id for finding in corrected.findings}
    job.write_text(job.read_text("utf-8").replace('off = "0.05 mm', 'off = "0.06 mm'), "utf-8")
    stale = next(f for f in plan_job(job).findings if f.id == "fit.corrections-stale")
    assert "sanding" in stale.what
    assert "shrink" not in stale.what


@pytest.mark.parametrize("text", ["", "covariance = 3", "job = [", "\x00"])
def test_a_broken_corrections_file_is_named(text: str, tmp_path: Path) -> None:
    job = tmp_path / "nose.toml"
    job.write_bytes(NOSE.read_bytes())
    corrections_path(job).write_text(text, "utf-8")
    with pytest.raises(InputError, match="mw next"):
        plan_job(job)


def test_a_slip_is_questioned_and_waits(plan: Plan) -> None:
    slipped = mould(plan, "M1", reading("ready", 89.88), reading("ready", 98.89, angle=1.57))
    observed = observe(plan, History((slipped,)))
    assert "98.88 mm meant" in observed.questioned[0].question
    assert not observed.questioned[0].counted
    assert observed.observations[0].readings == 1


def test_an_odd_mould_is_shown_and_bounded(plan: Plan) -> None:
    moulds = [mould(plan, f"M{i}", reading("printed", 99.30 + 0.02 * i)) for i in range(6)]
    odd = replace(moulds[5], readings=(reading("printed", 101.5),))
    lesson = learn_from(plan, History((*moulds[:5], odd)))
    assert any("M5" in item.what and item.kept < 0.5 for item in lesson.odd)
    without = learn_from(plan, History(tuple(moulds[:5])))
    row = plan.fit.chain.index("shrink")
    spread = np.sqrt(without.covariance[row, row])
    assert abs(lesson.mean[row] - without.mean[row]) < 1.5 * spread


def test_a_reading_on_a_taper_carries_its_position_error(plan: Plan) -> None:
    """u² = … + (2·slope·0.5 mm)²: mark C lies on the nose, A on the cylinder."""
    marked = mould(plan, "M1", reading("ready", 98.9), reading("ready", 87.1, "C"))
    on_cylinder, on_taper = observe(plan, History((marked,))).observations
    slope = plan.mould.marks[2].slope
    size = (98.9e-3**2 - 87.1e-3**2) * (2.0 * 95e-6) ** 2  # warmth goes with the size
    gap = on_taper.noise - on_cylinder.noise
    assert gap == pytest.approx((2.0 * slope * 0.5e-3) ** 2 - size, rel=0.02)


def test_another_plastic_teaches_nothing_and_is_named(plan: Plan) -> None:
    other = replace(mould(plan, "M1", reading("printed", 99.0)), plastic="PLA")
    lesson = learn_from(plan, History((other,)))
    assert lesson.readings == 0
    assert "PLA" in lesson.observed.unused[0]


def test_a_mended_mould_tells_its_parts_not_the_print(plan: Plan) -> None:
    plain = mould(plan, "M1", reading("ready", 98.90))
    mended = replace(plain, readings=(*plain.readings, reading("ready", 99.10, mended=1)))
    row = plan.fit.chain.index("shrink")
    one, two = (learn_from(plan, History((m,))).mean[row] for m in (plain, mended))
    assert two == pytest.approx(one, abs=0.1 * abs(one - plan.fit.chain.mean[row]))


def test_a_logged_reading_joins_at_the_gate_as_bayes_says(plan: Plan) -> None:
    """Of two readings of one state jaws err apart and the room errs alike: u² = u_j²/2 + u_T²."""
    logged = mould(plan, "M1", reading("ready", 99.20))
    alone = ask_gate(plan, [reading("ready", 99.24)])
    joined = ask_gate(plan, [reading("ready", 99.24)], logged)
    assert joined.logged == 1
    assert joined.estimate == pytest.approx(99.22e-3, abs=2e-6)
    room = 99.2e-3 * 95e-6 * 2.0  # 2 K in ASA where nobody read them
    assert alone.spread == pytest.approx(np.hypot(20e-6, room), rel=0.02)
    assert joined.spread == pytest.approx(np.hypot(20e-6 / np.sqrt(2.0), room), rel=0.02)
    warm = replace(reading("ready", 99.24), at=plan.fit.chain.reference)
    assert ask_gate(plan, [warm]).spread == pytest.approx(np.hypot(20e-6, room / 2.0), rel=0.02)
    assert joined.as_is != alone.as_is


def test_a_part_passes_with_a_guard_band(plan: Plan) -> None:
    answers = [ask_gate(plan, [reading("part", size)]) for size in (99.25, 99.14, 98.95)]
    assert [a.verdict for a in answers] == ["fits", "cannot be told", "does not fit"]


def test_mw_next_from_the_log_to_the_chart(plan: Plan, tmp_path: Path) -> None:
    job, chart = tmp_path / "nose.toml", tmp_path / "parts.svg"
    job.write_bytes(NOSE.read_bytes())
    run = CliRunner().invoke
    nothing = run(app, ["next", str(job)])
    assert nothing.exit_code == 2
    assert "mw measure" in nothing.output
    with open_log(log_beside(job)) as log:
        first = log.add_mould(plan_job(job), "M1", "2026-10-01")
        for stage, size in (("printed", "99.02 mm"), ("ready", "98.88 mm")):
            log.add("reading", stage=stage, mark="A", reads=size, mould=first.id)
    said = run(app, ["next", str(job), "--dry-run"])
    assert said.exit_code == 0, said.output
    assert "2 readings of 1 mould" in said.output
    assert not corrections_path(job).exists()
    assert run(app, ["next", str(job), "--chart", str(chart)]).exit_code == 0
    assert corrections_path(job).exists()
    assert chart.read_text("utf-8").startswith("<svg")
    gate = ["gate", str(job), "--mould", "M1", "--mark", "A=98.89"]
    answered = run(app, gate)
    assert "2 readings of the log joined in" in answered.output


def test_what_paint_adds_is_learned_from_parts_read_twice(plan: Plan) -> None:
    """Posterior mean (κ m + n ȳ)/(κ + n) with κ = 1, by hand."""
    part = PartRecord("P1", readings=(reading("part", 102.0, "B"), reading("finished", 102.6, "B")))
    history = History((mould(plan, "M1", parts=(part,)),))
    assert learn_finishing(plan, history) is None  # its coats are inputs of the chain
    bare = plan.job.model_copy(update={"assembly": None})
    told = learn_finishing(make_plan(bare, plan.library), history)
    assert told is not None
    assert told.centre == pytest.approx(0.5 * (0.2e-3 + 0.3e-3), rel=1e-9)
    assert learn_finishing(make_plan(bare, plan.library), two_moulds(plan)) is None


def test_what_bores_cannot_tell_apart_is_said_with_what_would(plan: Plan) -> None:
    """The sum of slopes times shift; a way that was read is not asked for again."""
    bore = reading("part", 99.05)
    alone = mould(plan, "M1", reading("ready", 99.17), parts=(PartRecord("P1", readings=(bore,)),))
    proposal = propose_next(plan, History((alone,)))
    mixed, chain = proposal.mixed, plan.fit.chain
    assert mixed is not None
    assert mixed.names[0] == "springback"  # it moves the bore most
    assert {"release film", "set temperature"} <= set(mixed.names)
    assert len(mixed.ways) == 3
    lead, means = chain.lead, np.array([chain.mean, proposal.lesson.mean]).T
    plain, told = chain.bore(lead, chain.values(means), np.full(2, 99.03e-3))
    assert mixed.shift == pytest.approx(told - plain, abs=0.2e-6)
    assert mixed.spread < mixed.before
    words = "\n".join(next_lines(proposal))
    assert "Bores cannot tell these apart" in words
    assert "tells the film" in words
    filmed = replace(alone, readings=(*alone.readings, reading("filmed", 99.22)))
    ways = propose_next(plan, History((filmed,))).mixed
    assert ways is not None
    assert not any("filmed" in way for way in ways.ways)
    bare = mould(plan, "M1", reading("ready", 99.17))
    assert propose_next(plan, History((bare,))).mixed is None


def test_readings_of_a_laminate_are_proposed_while_they_gain(plan: Plan) -> None:
    gains = {gain.what for gain in propose_next(plan, two_moulds(plan)).gains}
    assert "the bore of a part against its ready mould" in gains
    assert "a part's outside on the mould and again off it" in gains


def test_the_chart_tells_pass_and_fail_by_shape_and_word(plan: Plan) -> None:
    parts = tuple(
        PartRecord(name, readings=(reading("part", size),))
        for name, size in (("P1", 99.25), ("P2", 99.13), ("P3", 98.95))
    )
    row = propose_next(plan, History((mould(plan, "M1", parts=parts),))).row
    assert [part.verdict for part in row.parts] == ["fits", "cannot be told", "does not fit"]
    drawn = draw_parts(row, "Plover nose")
    assert [drawn.count(f">{word}</text>") for word in ("fits", "?", "no fit")] == [2, 1, 1]
    assert drawn.count("<circle") == 4  # dot and ring of the legend, one part each
    assert drawn.count('stroke-width="2.4"') == 4  # two crosses
