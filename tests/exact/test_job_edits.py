"""Edits of a job's text: the change is made, and nothing else of the file moves."""

from __future__ import annotations

import difflib
import tomllib
from pathlib import Path

import pytest

from mandrelwright.bench.edits import Edit, apply
from mandrelwright.bench.form import form_of
from mandrelwright.bench.rows import BLANK, blank_of
from mandrelwright.job.materials import load_library
from mandrelwright.job.read import job_of
from mandrelwright.job.values import InputError

EXAMPLES = sorted(Path("examples").glob("*.toml"))
NOSE = Path("examples/plover-nose.toml")


def changed(before: str, after: str) -> list[str]:
    """Lines that went and came, without their context."""
    told = difflib.unified_diff(before.splitlines(), after.splitlines(), n=0, lineterm="")
    return [line for line in told if not line.startswith(("---", "+++", "@@"))]


@pytest.mark.parametrize(
    ("edit", "lines"),
    [
        (
            Edit("set", ("part", "describes"), "inside"),
            [
                '-describes = "outside"                   # the sections draw the outer surface',
                '+describes = "inside"                    # the sections draw the outer surface',
            ],
        ),
        (
            Edit("set", ("fit", 0, "clearance", "wanted"), "0.17 mm"),
            [
                '-clearance = { least = "0.05 mm", wanted = "0.15 mm", most = "0.30 mm" }',
                '+clearance = { least = "0.05 mm", wanted = "0.17 mm", most = "0.30 mm" }',
            ],
        ),
        (Edit("set", ("shop", "humidity"), "50 %"), ['+humidity = "50 %"']),
        (Edit("unset", ("mould", "vent")), ['-vent = "3 mm"']),
    ],
)
def test_an_edit_changes_its_own_line_only(edit: Edit, lines: list[str]) -> None:
    text = NOSE.read_text("utf-8")
    assert changed(text, apply(text, [edit])) == lines


def test_a_quotation_mark_cannot_break_out_of_its_text() -> None:
    text = NOSE.read_text("utf-8")
    name = 'a"\n[materials]\nfile = "b.toml'
    after = tomllib.loads(apply(text, [Edit("set", ("part", "name"), name)]))
    assert after == {**tomllib.loads(text), "part": {**after["part"], "name": name}}
    assert after["part"]["name"] == name


def test_an_edit_without_a_place_is_refused() -> None:
    text = NOSE.read_text("utf-8")
    for edit in (
        Edit("set", ("fit", 9, "mates"), "99 mm"),
        Edit("drop", ("fit", "first")),
        Edit("set", ("schema", "part", "name"), "x"),
    ):
        with pytest.raises(InputError):
            apply(text, [edit])


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_row_of_the_form_can_be_set_to_what_it_says(path: Path) -> None:
    text = path.read_text("utf-8")
    data = tomllib.loads(text)
    rows = [row for group in form_of(text, load_library())["groups"] for row in group["rows"]]
    same = [row for row in rows if row["stated"] and row["kind"] in ("measure", "text", "choice")]
    assert len(same) > 40
    edits = [Edit("set", tuple(row["at"]), row["text"]) for row in same]
    assert tomllib.loads(apply(text, [e for e in edits if e.at[-1] != "people"])) == data


@pytest.mark.parametrize("table", [name for name in BLANK if "." not in name])
def test_a_blank_row_reads(table: str) -> None:
    text = NOSE.read_text("utf-8")
    for row in BLANK[table].values():
        added = apply(text, [Edit("add", (table,), row)])
        rows = tomllib.loads(added)[table]
        assert {**rows[-1], "name": row.get("name")} == {"name": None, **row}
        names = [each["name"] for each in rows if "name" in each]
        assert len(set(names)) == len(names)
        assert apply(added, [Edit("drop", (table, len(rows) - 1))]).split() == text.split()


def test_a_blank_stay_and_antenna_make_a_job_that_can_be_read() -> None:
    text = NOSE.read_text("utf-8")
    for table, name in (("schedule", "stay"), ("antenna", "antenna"), ("release_steps", "step")):
        text = apply(text, [Edit("add", (table,), BLANK[table][name])])
    assert job_of(NOSE, text.encode()).part.name == "Plover nose"


def test_a_layer_is_offered_of_what_the_job_has() -> None:
    text = NOSE.read_text("utf-8")
    data = tomllib.loads(text)
    offered = blank_of(data)["layer"]
    names = {f"{kind} {row['name']}" for kind in ("sleeve", "cloth") for row in data.get(kind, ())}
    assert offered.keys() == names != set()
    for row in offered.values():
        assert job_of(NOSE, apply(text, [Edit("add", ("layer",), row)]).encode())


def test_without_sleeve_and_cloth_the_form_says_what_comes_first() -> None:
    groups = form_of("[part]\nname = 'bare'\n", load_library())["groups"]
    (layer,) = (group for group in groups if group["table"] == "layer")
    assert layer["adds"] == ()
    assert layer["first"] == "add the sleeve or cloth first"
