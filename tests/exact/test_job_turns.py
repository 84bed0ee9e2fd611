"""A section becomes another shape, tables lose and gain rows, and the file keeps its comments."""

from __future__ import annotations

import tomllib
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from pydantic import TypeAdapter

from mandrelwright.bench.edits import Edit, apply
from mandrelwright.bench.form import form_of
from mandrelwright.bench.turns import KINDS, kinds_of
from mandrelwright.job.materials import load_library
from mandrelwright.job.read import job_of
from mandrelwright.job.sections import Fit, Section
from mandrelwright.job.tooling import Treatment
from mandrelwright.job.values import InputError
from mandrelwright.physics.profiles import nose

NOSE = Path("examples/plover-nose.toml")
LENGTH = " of the full profile, to its virtual point"
PROFILE = """\
[[section]]
name = "bought nose"
shape = "measured"  # with a template
table = [  # x, diameter
    ["0 mm", "38 mm"],    # the cut
    ["100 mm", "70 mm"],
    ["250 mm", "97 mm"],  # where it is scratched
    ["300 mm", "100 mm"],
]
"""


def comments(text: str) -> list[str]:
    return [line.partition("#")[2] for line in text.splitlines() if "#" in line]


@pytest.mark.parametrize("kind", kinds_of(KINDS["section"])[1])
@pytest.mark.parametrize("number", [0, 1])
def test_a_section_of_any_shape_can_be_read(kind: str, number: int) -> None:
    text = NOSE.read_text("utf-8")
    turned = apply(text, [Edit("turn", ("section", number), kind)])
    section = TypeAdapter(Section).validate_python(tomllib.loads(turned)["section"][number])
    assert section.shape == kind
    assert section.name == ("nose", "skirt")[number]
    gone = [note for note in comments(text) if note not in comments(turned)]
    own = {" cut square here; a metal tip goes on": "tip", LENGTH: "length"}
    assert all(own[note] not in tomllib.loads(turned)["section"][number] for note in gone)


@pytest.mark.parametrize(
    ("table", "each"), [("fit", TypeAdapter(Fit)), ("surface", TypeAdapter(Treatment))]
)
def test_fits_and_treatments_of_any_kind_can_be_read(table: str, each: TypeAdapter[Any]) -> None:
    text = NOSE.read_text("utf-8")
    key, kinds = kinds_of(KINDS[table])
    for kind in kinds:
        turned = apply(text, [Edit("turn", (table, 0), kind)])
        assert tomllib.loads(turned)[table][0][key] == kind
        each.validate_python(tomllib.loads(turned)[table][0])


def test_a_shape_that_is_none_is_refused_where_it_was_asked() -> None:
    with pytest.raises(InputError) as told:
        apply(NOSE.read_text("utf-8"), [Edit("turn", ("section", 0), "banana")])
    assert told.value.at == ("section", 0, "shape")


def test_what_both_shapes_have_stays_and_a_number_of_the_old_one_does_not() -> None:
    text = NOSE.read_text("utf-8")
    before = tomllib.loads(text)["section"][0]
    edits = [Edit("turn", ("section", 0), "parabola"), Edit("set", ("section", 0, "fullness"), 0.9)]
    parabola = apply(text, edits)
    after = tomllib.loads(apply(parabola, [Edit("turn", ("section", 0), "Haack")]))["section"][0]
    assert after["fullness"] == pytest.approx(1.0 / 3.0, abs=1e-4)  # 0.9 is no Haack nose
    assert {key: after[key] for key in before if key != "shape"} == {
        key: value for key, value in before.items() if key != "shape"
    }


def test_a_measured_profile_begins_as_the_drawn_one() -> None:
    turned = apply(NOSE.read_text("utf-8"), [Edit("turn", ("section", 0), "measured")])
    rows = tomllib.loads(turned)["section"][0]["table"]
    points = [(float(x.split()[0]), float(d.split()[0])) for x, d in rows]
    cut = 392.0 - points[-1][0]  # x from the tip of the full profile, mm
    assert points[0][1] == pytest.approx(38.0, abs=0.6)
    for x, diameter in points:
        exact = 2e3 * nose("von Karman", [(cut + x) / 1e3], 0.392, 0.5 * 0.10221)[0][0]
        assert diameter == pytest.approx(exact, abs=0.02)


def test_rows_come_and_go_and_every_comment_of_the_rest_stays() -> None:
    edits: list[Edit] = [
        Edit("add", ("section", 0, "table", 2), ["175 mm", "85 mm"]),
        Edit("add", ("section", 0, "table"), ["320 mm", "101 mm"]),
        Edit("set", ("section", 0, "table", 1, 1), "71 mm"),
    ]
    text = apply(PROFILE, edits)
    assert tomllib.loads(text)["section"][0]["table"] == [
        ["0 mm", "38 mm"], ["100 mm", "71 mm"], ["175 mm", "85 mm"], ["250 mm", "97 mm"],
        ["300 mm", "100 mm"], ["320 mm", "101 mm"],
    ]  # fmt: skip
    assert comments(text) == comments(PROFILE)
    fewer = apply(text, [Edit("drop", ("section", 0, "table", 5))])
    fewer = apply(fewer, [Edit("drop", ("section", 0, "table", 2))])
    fewer = apply(fewer, [Edit("set", ("section", 0, "table", 1, 1), "70 mm")])
    assert tomllib.loads(fewer) == tomllib.loads(PROFILE)
    assert set(comments(fewer)) == set(comments(PROFILE))


def test_a_table_that_was_not_there_begins_with_one_row() -> None:
    text = NOSE.read_text("utf-8")
    places = [row for row in _rows(text) if row["name"] == "mould.split_at"]
    assert places[0]["kind"] == "table"
    assert places[0]["cells"] == ()
    cut = apply(text, [Edit("add", ("mould", "split_at"), "204 mm")])
    assert tomllib.loads(cut)["mould"]["split_at"] == ["204 mm"]
    job_of(NOSE, cut.encode())
    ringed = apply(text, [Edit("add", ("printer", "ring"), {"file": "99 mm", "reads": "98.3 mm"})])
    assert [row["text"] for row in _rows(ringed) if row["name"].startswith("printer.ring")] == [
        "99 mm", "98.3 mm"
    ]  # fmt: skip


def test_the_form_shows_limits_and_heads_of_the_declaration() -> None:
    power = apply(NOSE.read_text("utf-8"), [Edit("turn", ("section", 0), "power")])
    (exponent,) = [row for row in _rows(power) if row["name"] == "section[1].exponent"]
    assert "0.25 to 1" in exponent["help"]
    (shape,) = [row for row in _rows(power) if row["name"] == "section[1].shape"]
    assert shape["kind"] == "turn"
    assert [word for word, _ in shape["choices"]] == list(kinds_of(KINDS["section"])[1])
    (table,) = [row for row in _rows(PROFILE) if row["name"] == "section[1].table"]
    assert table["columns"] == ("from its front", "diameter")
    assert table["cells"][1] == ("100 mm", "70 mm")
    pairs = pairwise(table["cells"])
    assert all(len(one) == len(other) for one, other in pairs)


def _rows(text: str) -> list[dict[str, Any]]:
    return [row for group in form_of(text, load_library())["groups"] for row in group["rows"]]
