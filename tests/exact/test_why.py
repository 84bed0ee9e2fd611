"""Why: every name of the examples leads to the job or the library, and says so truly."""

from __future__ import annotations

import ast
import inspect
import json
import math
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from mandrelwright import findings
from mandrelwright.bench.face import used_of
from mandrelwright.job.read import library_of, read_job
from mandrelwright.physics import braid
from mandrelwright.plan import Plan, make_plan
from mandrelwright.stages.surface import treat_surface
from mandrelwright.why import UnknownNameError, explain, names, text_lines, to_dict
from mandrelwright.why.docstrings import equation_of
from mandrelwright.why.explanation import Explanation
from mandrelwright.why.follows import FOLLOWS
from mandrelwright.why.walk import Walk

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = ("plover-nose", "plover-transition")
ENDS = {"job", "material"}


@cache
def plan(example: str) -> Plan:
    job = read_job(ROOT / "examples" / f"{example}.toml")
    return make_plan(job, library_of(job), 120)


@cache
def walk(example: str) -> Walk:
    return Walk(plan(example))


def told(example: str, name: str) -> Explanation:
    return explain(plan(example), name)


def every(item: Explanation) -> Iterator[Explanation]:
    yield item
    for part in item.inputs:
        yield from every(part)


@pytest.mark.parametrize("example", EXAMPLES)
def test_every_branch_ends_in_the_job_or_the_library(example: str) -> None:
    nodes, inputs = walk(example).nodes, walk(example).inputs
    ends = {name for name, node in nodes.items() if not inputs(node)}
    loose = {name for name in ends if nodes[name].kind not in ENDS}
    said = {f"finding.{name}" for name, uses in FOLLOWS.items() if not uses}  # by nothing of ours
    assert loose <= said


@pytest.mark.parametrize("example", EXAMPLES)
def test_no_use_dangles(example: str) -> None:
    at = walk(example)
    dangling = {
        (name, use)
        for name, node in at.nodes.items()
        for use in node.uses or ()
        if not at.resolved(use, node.words) and not _may_be_nothing(use)
    }
    assert dangling == set()


def _may_be_nothing(use: str) -> bool:
    """Rows that a job need not have, and what only some jobs take from the library."""
    return use.endswith("[*]") or any(
        word in use for word in ("{shelf}", "{tow}", "{gap}", "{coat}")
    )


@pytest.mark.parametrize("example", EXAMPLES)
def test_nothing_follows_from_itself(example: str) -> None:
    at = walk(example)
    done: set[str] = set()

    def visit(name: str, above: tuple[str, ...]) -> None:
        assert name not in above, (*above, name)
        if name not in done:
            for below in at.inputs(at.nodes[name]):
                visit(below, (*above, name))
            done.add(name)

    for name in at.nodes:
        visit(name, ())


@pytest.mark.parametrize("example", EXAMPLES)
def test_every_name_can_be_told_in_text_and_json(example: str) -> None:
    at = walk(example)
    assert list(at.nodes) == names(plan(example))
    for name in at.nodes:
        lines = text_lines(at.told(name, set()))
        assert lines[0].startswith(name)
        assert all(line == line.rstrip() and "nan" not in line.split() for line in lines)
    for name in ("verdict", "fit.results", "wall.A"):
        json.dumps(to_dict(told(example, name)), allow_nan=False)


@pytest.mark.parametrize("example", EXAMPLES)
def test_every_function_behind_a_result_can_be_checked(example: str) -> None:
    makers = {by for node in walk(example).nodes.values() for by in node.by}
    assert len(makers) > 20
    assert [by.__qualname__ for by in makers if not equation_of(by).checkable] == []


@pytest.mark.parametrize("example", EXAMPLES)
def test_every_result_says_what_it_is(example: str) -> None:
    nodes = walk(example).nodes.values()
    assert [node.name for node in nodes if node.kind == "result" and not node.what] == []


def test_no_finding_that_is_gone_is_said_to_follow_from_something() -> None:
    ids = {
        call.args[0].value
        for file in Path(findings.__path__[0]).glob("*.py")
        for call in ast.walk(ast.parse(file.read_text("utf-8")))
        if isinstance(call, ast.Call) and ast.unparse(call.func) == "Finding"
        if isinstance(call.args[0], ast.Constant)
    }
    assert set(FOLLOWS) <= ids


def test_a_scalar_has_its_value_and_an_array_its_ends() -> None:
    nose = plan("plover-nose")
    file = told("plover-nose", "fit.file_diameter").shown
    assert file.numbers == {"value": nose.fit.file_diameter}
    wall = told("plover-nose", "stack.wall").shown
    x, node = nose.stack.mould.x, nose.fit.chain.lead.node
    inside = (x >= nose.shape.tip - 1e-9) & (x <= nose.shape.base + 1e-9)
    assert wall.numbers["at_fit"] == nose.stack.wall[node]
    assert wall.numbers["smallest"] == nose.stack.wall[inside].min()
    place = nose.shape.base - wall.numbers["largest_from_base"]
    assert nose.stack.wall[abs(x - place).argmin()] == wall.numbers["largest"]


def test_layers_are_told_line_by_line_where_they_lie() -> None:
    rows = told("plover-nose", "stack.angle").shown.rows
    assert [row.label.split()[0] for row in rows] == ["1", "2", "3", "4", "5"]
    small, big = rows[0], rows[-1]
    assert small.at_fit is None  # it ends before the coupler
    assert big.at_fit is not None
    assert math.radians(20.0) < small.smallest < small.largest < math.radians(66.0)


def test_an_input_has_its_spread_and_leads_to_what_states_it() -> None:
    stated = told("plover-transition", "input.scatter")
    assert [item.name for item in stated.inputs] == ["job.printer.diameter_scatter"]
    assert stated.shown.numbers["spread"] == pytest.approx(0.06e-3)
    general = told("plover-nose", "input.shrink")
    assert [item.name for item in general.inputs] == ["materials.plastics.ASA.shrink_across"]
    assert general.weak
    assert general.inputs[0].cited


def test_a_ring_is_part_of_what_an_input_follows_from() -> None:
    shrink = told("plover-transition", "input.shrink")
    below = {item.name for item in shrink.inputs}
    assert {"job.printer.ring[1]", "job.printer.shrink.across", "job.printer.offset"} <= below
    assert shrink.shown.numbers["spread"] < 0.08e-2
    assert any("reading = D(1 − s) + o" in text for e in shrink.equations for text in e.formulas)


@pytest.mark.parametrize("example", EXAMPLES)
def test_lines_of_the_job_file_are_right(example: str) -> None:
    lines = (ROOT / "examples" / f"{example}.toml").read_text("utf-8").split("\n")
    placed = 0
    for name, node in walk(example).nodes.items():
        file, _, line = node.place.rpartition(", line ")
        if node.kind == "job" and file == f"{example}.toml":
            key = name.rpartition(".")[2].partition("[")[0]
            assert key in lines[int(line) - 1]
            placed += 1
    assert placed > 80


def test_a_key_left_out_is_told_as_default_or_not_stated() -> None:
    default = told("plover-nose", "job.layer[1].stagger")
    assert (default.shown.text, default.place) == ('"10 mm"', "default")
    missing = told("plover-nose", "job.printer.offset")
    assert missing.shown.text == "not stated"


def test_a_job_changed_in_memory_is_not_told_as_the_file() -> None:
    nose = plan("plover-nose")
    wider = nose.job.printer.model_copy(update={"height": nose.job.shop.caliper})
    job = nose.job.model_copy(update={"printer": wider})
    height = explain(make_plan(job, nose.library, 60), "job.printer.height")
    assert height.shown.text == "2e-05 ± 0 (SI)"
    assert height.place == ""


def test_the_spread_of_a_fit_is_the_one_of_its_record() -> None:
    for result in plan("plover-nose").fit.results:
        shown = told("plover-nose", f"fit.results.{result.name}.play").shown
        assert shown.numbers == {"value": result.play, "spread": result.spread}


def test_the_verdict_follows_from_its_forecast_and_so_from_the_clearance() -> None:
    verdict = told("plover-nose", "verdict")
    below = {item.name for item in every(verdict)}
    assert verdict.shown.text == plan("plover-nose").verdict.sentence
    assert {"fit.forecast.unread", "mould.comes_off", "job.fit[1]", "input.shrink"} <= below


@pytest.mark.parametrize("example", EXAMPLES)
def test_what_the_bench_tells_of_use_can_be_asked(example: str) -> None:
    """Every case once, or with those at its moment; every antenna; each with a name that leads."""
    made = plan(example)
    used = used_of(made, "mm")
    known = set(names(made))
    assert [fact["why"] for fact in used if fact["why"] not in known] == []
    assert made.strength is not None
    said = [name for fact in used for name in fact["name"].split(", ")]
    assert set(said) >= {one.name for one in made.strength.failures}
    assert len([name for name in said if name.startswith("antenna ")]) == len(made.job.antennas)


def test_a_name_is_told_in_full_once() -> None:
    full = [item.name for item in every(told("plover-nose", "verdict")) if item.inputs]
    assert len(full) == len(set(full))


@pytest.mark.parametrize(
    ("wrong", "near"),
    [
        ("fit.file_diametre", "fit.file_diameter"),
        ("angle", "stack.angle"),
        ("job.printer.hight", "job.printer.height"),
    ],
)
def test_an_unknown_name_is_refused_with_the_nearest(wrong: str, near: str) -> None:
    with pytest.raises(UnknownNameError, match="is no name of this plan") as caught:
        told("plover-nose", wrong)
    assert f'"{near}"' in caught.value.remedy


def test_a_hopeless_name_is_refused_with_where_names_begin() -> None:
    with pytest.raises(UnknownNameError) as caught:
        told("plover-nose", "zzzzzz")
    assert (
        "names begin with aids, assembly, cure, finding, fit, flight, input, job"
        in caught.value.remedy
    )


def test_a_docstring_is_taken_apart() -> None:
    angle = equation_of(braid.angle)
    assert angle.by == "physics.braid.angle"
    assert angle.says == "Braid angle from the meridian"
    assert angle.formulas[0] == "sin θ = r/(√2·r45)"
    assert "Chou & Hannaford" in angle.source  # of the module
    assert ">>>" not in " ".join(angle.formulas)
    assert inspect.getdoc(treat_surface) is not None
    assert "−2·off by sanding" in equation_of(treat_surface).formulas[0]
