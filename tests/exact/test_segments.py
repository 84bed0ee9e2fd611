"""Pieces, dowels, filament and findings of known jobs, against closed forms and outside readers."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

import lib3mf
import numpy as np
import pytest
import trimesh

from mandrelwright.job.consistency import check_job
from mandrelwright.job.materials import load_library
from mandrelwright.job.problems import JobError
from mandrelwright.job.read import read_job
from mandrelwright.job.spec import Job
from mandrelwright.out.aids import mesh_aids
from mandrelwright.out.build import build
from mandrelwright.out.segments import make_segments
from mandrelwright.out.solid import volume
from mandrelwright.plan import make_plan
from mandrelwright.stages.segment_checks import wall_bears
from mandrelwright.stages.segments import TAP_DRILLS
from mandrelwright.stages.turned import Turned, pillar, steepest_face
from tests import jobs

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.toml"))


def tube(**changes: Any) -> dict[str, Any]:
    """A 300 mm tube in glass, its mould 330 mm tall, printed without shrink or offset."""
    data = jobs.raw(section=[jobs.tube(300, 102.0, "tube")])
    data["layer"] = [{"sleeve": "big", "from": "tip", "to": "end", "repeat": 2}]
    data["mould"] = {"plastic": "ASA", "beyond_trim": {"tip": "15 mm", "base": "15 mm"}}
    data["printer"] |= {"shrink": {"across": "0 %", "up": "0 %"}, "offset": "0 mm"}
    for key, value in changes.items():
        data[key] = data[key] | value
    return data


def said(data: dict[str, Any], name: str) -> str:
    return " ".join(item.what for item in jobs.plan_of(data).findings if item.id == name)


def test_tap_drills_are_nominal_less_pitch() -> None:
    """Pitches of the coarse series, ISO 261, from memory; drills come in tenths (ISO 2306)."""
    pitch = {"M3": 0.5, "M4": 0.7, "M5": 0.8, "M6": 1.0, "M8": 1.25, "M10": 1.5, "M12": 1.75}
    for thread, step in pitch.items():
        drill = TAP_DRILLS[thread] * 1e3  # type: ignore[index]  # its keys are these words
        assert drill == pytest.approx(float(thread[1:]) - step, abs=0.051)


def test_volume_and_overhang_of_turned_solids() -> None:
    cone = Turned(np.array([[0.0, 0.0], [0.05, 0.0], [0.0, 0.12]]))
    assert cone.volume == pytest.approx(math.pi * 0.05**2 * 0.12 / 3, rel=1e-14)
    assert pillar(0.01, 0.02, 0.05).volume == pytest.approx(math.pi * 0.01**2 * 0.03, rel=1e-14)
    assert steepest_face(cone.contour) == 0.0
    upended = np.array([[0.0, 0.0], [0.05, 0.05], [0.0, 0.05]])
    assert steepest_face(upended) == pytest.approx(math.pi / 4)
    ceiling = pillar(0.01, 0.02, 0.05).contour
    assert steepest_face(ceiling, hollow=True) == pytest.approx(math.pi / 2)


def test_a_piece_of_tube_takes_the_filament_of_walls_and_infill() -> None:
    """Walls all round and the stated share of the rest: two cylinders, one in the other."""
    plan = jobs.plan_of(tube(printer={"height": "400 mm"}, mould={"vent": "3 mm"}))
    (piece,) = plan.segments.pieces
    radius, skin = float(plan.print.radius.max()), 4 * 0.45e-3
    hole, height = 1.5e-3, piece.high - piece.low
    inner = math.pi * ((radius - skin) ** 2 - (hole + skin) ** 2) * (height - 2 * skin)
    whole = math.pi * (radius**2 - hole**2) * height
    expected = whole - 0.85 * inner
    assert piece.filament.plastic == pytest.approx(expected, rel=2e-4)  # grooves: 1e-4
    assert piece.filament.mass == pytest.approx(1070 * piece.filament.plastic)
    across = math.pi / 4 * 1.75e-3**2
    assert piece.filament.length == pytest.approx(piece.filament.plastic / across)


def test_dearer_and_slower_prints_cost_and_take_more() -> None:
    plain = jobs.plan_of(tube(printer={"plastic_price": "20 EUR/kg"})).segments.pieces[0].filament
    dear = tube(printer={"plastic_price": "40 EUR/kg", "flow": "4 mm^3/s"})
    slow = jobs.plan_of(dear).segments.pieces[0].filament
    assert plain.cost == pytest.approx(20 * plain.mass)
    assert slow.cost == pytest.approx(40 * plain.mass)
    assert slow.time - plain.time == pytest.approx(plain.plastic / 8e-9)


def test_pins_holes_and_drills_take_the_prints_shrink() -> None:
    shrunk = {"shrink": {"across": "1 %", "up": "2 %"}, "offset": "0 mm", "height": "200 mm"}
    flange = {"diameter": "140 mm", "thickness": "8 mm", "push_off_screws": 3, "thread": "M6"}
    segments = jobs.plan_of(tube(printer=shrunk, mould={"flange": flange})).segments
    assert segments.dowel.radius == pytest.approx(5e-3 / 0.99)
    assert segments.dowel.length == pytest.approx(10e-3 / 0.98)
    assert segments.screw == pytest.approx(5e-3 / 0.99)


def test_auto_cuts_are_the_fewest_and_even() -> None:
    plan = jobs.plan_of(tube(printer={"height": "150 mm"}))
    segments = plan.segments
    most = 0.150 - segments.dowel.height
    total = plan.print.total_height
    fewest = math.ceil((total - 0.150) / most) + 1
    assert len(segments.pieces) == fewest
    heights = [piece.printed_height for piece in segments.pieces]
    assert max(heights) <= 0.150
    assert max(heights) - min(heights) < 0.06  # a fit of 90 mm stands in the way
    assert all(low.high == high.low for low, high in pairwise(segments.pieces))


@pytest.mark.parametrize(
    ("changes", "name", "word"),
    [
        ({"mould": {"split_at": ["40 mm"]}}, "print.split-in-fit", "coupler"),
        ({"mould": {"split_at": ["92 mm"]}}, "print.split-in-fit", "92.0 mm"),
        ({"mould": {"split_at": []}, "printer": {"height": "300 mm"}}, "print.piece-too-tall", "1"),
        (
            {"mould": {"dowels": {"diameter": "60 mm"}}, "printer": {"height": "200 mm"}},
            "print.cannot-split",
            "200 mm",
        ),
        (
            {"mould": {"dowels": {"diameter": "60 mm"}, "split_at": ["150 mm"]}},
            "print.no-room-for-dowels",
            "60.0 mm",
        ),
        ({"mould": {"split_at": ["150 mm", "152 mm"]}}, "print.no-room-for-dowels", "10.0 mm"),
        (
            {
                "mould": {
                    "flange": {"diameter": "106 mm", "thickness": "8 mm", "push_off_screws": 3}
                }
            },
            "print.no-room-for-screws",
            "M6",
        ),
        ({"compaction": {"method": "shrink tape"}}, "print.tape-needs-heat", "65 °C"),
        ({"mould": {"core": {"walls": 2, "infill": "15 %"}}}, "print.infill-shows", "0.9 mm"),
        (
            {
                "compaction": {"method": "vacuum bag"},
                "mould": {"core": {"hollow": "1.2 mm", "bay": "150 mm"}},
                "printer": {"height": "400 mm"},
            },
            "print.wall-buckles",
            "3 times",
        ),
    ],
)
def test_what_cannot_be_is_told(changes: dict[str, Any], name: str, word: str) -> None:
    assert word in said(tube(**changes), name)


def test_a_hot_schedule_softens_the_mould() -> None:
    data = tube() | {"schedule": [{"stay": "4 h", "at": "100 degC"}]}
    assert "gives way" in said(data, "cure.mould-softens")


@pytest.mark.parametrize(
    ("spoil", "limit"),
    [
        (lambda d: d["printer"].update(bed=["50 mm", "50 mm"]), "below the bed"),
        (lambda d: d["mould"].update(core={"hollow": "4 mm", "bay": "20 mm", "diaphragm": "6 mm"}),
         "four diaphragms"),
    ],
)  # fmt: skip
def test_contradictions_are_refused(spoil: Callable[[dict[str, Any]], None], limit: str) -> None:
    data = tube(mould={"dowels": {"diameter": "55 mm"}})
    spoil(data)
    job = Job.model_validate(data, context={"path": "test.toml", "digest": ""})
    assert any(limit in error.limit for error in check_job(job))


@pytest.mark.parametrize(
    ("old", "new", "field"),
    [
        ('infill = "15 %"', 'infill = "130 %"', "mould.core.infill"),
        ('vent = "3 mm"', 'vent = "3 mm"\nsplit_at = "anywhere"', "mould.split_at"),
        ('vent = "3 mm"', 'vent = "3 mm"\nsplit_at = ["x"]', "mould.split_at[1]"),
        ('vent = "3 mm"', 'vent = "3 mm"\ndowels = { count = 1 }', "mould.dowels.count"),
        ('layer = "0.15 mm"', 'layer = "0.15 mm"\nflow = "8 mm"', "printer.flow"),
    ],
)
def test_bad_fields_are_named(old: str, new: str, field: str, tmp_path: Path) -> None:
    nose = next(path for path in EXAMPLES if path.name == "plover-nose.toml")
    text = nose.read_text("utf-8")
    assert old in text
    (tmp_path / "job.toml").write_text(text.replace(old, new), "utf-8")
    with pytest.raises(JobError) as caught:
        read_job(tmp_path / "job.toml")
    assert [problem.field for problem in caught.value.problems] == [field]


def test_thicker_hotter_and_longer_move_the_buckling_the_right_way() -> None:
    def bears(wall: str, bay: str, **more: Any) -> float:
        data = tube(
            mould={"core": {"hollow": wall, "bay": bay}},
            compaction={"method": "vacuum bag"},
            printer={"height": "400 mm"},
        )
        plan = jobs.plan_of(data | more)
        return wall_bears(plan.job, plan.segments, plan.library)

    plain = bears("2.4 mm", "100 mm")
    assert bears("4.8 mm", "100 mm") / plain == pytest.approx(2**2.5, rel=0.08)  # bays move too
    assert bears("2.4 mm", "50 mm") > 1.5 * plain
    assert bears("2.4 mm", "100 mm", schedule=[{"stay": "4 h", "at": "60 degC"}]) < 0.8 * plain


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_examples_build_what_strict_readers_take(path: Path, tmp_path: Path) -> None:
    plan = make_plan(read_job(path), load_library())
    written = build(plan, tmp_path / "out", lambda name: None)
    pieces, aids = make_segments(plan.segments), mesh_aids(plan.aids)
    for name, meshes in (("mould.3mf", pieces), ("aids.3mf", aids)):
        model = lib3mf.get_wrapper().CreateModel()
        reader = model.QueryReader("3mf")
        reader.SetStrictModeActive(True)
        reader.ReadFromFile(str(tmp_path / "out" / name))
        assert reader.GetWarningCount() == 0
        assert model.GetObjects().Count() == len(meshes)
    stl = [name for name in written if name.endswith(".stl")]
    assert len(stl) == len(aids) + (1 if len(pieces) == 1 else 1 + len(pieces))  # uncut too
    for name in stl:
        seen = trimesh.load_mesh(tmp_path / "out" / name)
        assert seen.is_watertight
        assert seen.body_count == 1


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_aids_are_as_counted_and_say_what_they_are_for(path: Path) -> None:
    plan = make_plan(read_job(path), load_library())
    meshes = mesh_aids(plan.aids)
    assert len(meshes) == len(plan.aids.items)
    for aid in plan.aids.items:
        assert aid.purpose.count(". ") == 0
        assert aid.purpose.endswith(".")
        seen = trimesh.Trimesh(meshes[aid.name].vertices_mm, meshes[aid.name].triangles)
        assert seen.euler_number == 2 - 2 * aid.genus
        if not aid.guides:
            assert volume(meshes[aid.name]) == pytest.approx(aid.body.volume, rel=1e-5)


def test_gauges_print_to_the_limits_of_the_fit() -> None:
    """Printed = file (1 − s) + o: 1 % and 0.1 mm, done here by hand."""
    data = tube(printer={"shrink": {"across": "1 %", "up": "0 %"}, "offset": "0.1 mm"})
    plan = jobs.plan_of(data)
    gauge = next(aid for aid in plan.aids.items if aid.name.startswith("plug gauge"))
    printed = 2 * gauge.body.contour[:, 0] * 0.99 + 0.1e-3
    assert np.unique(printed.round(8))[-2:] == pytest.approx([99.05e-3, 99.30e-3])


def test_a_mould_that_widens_too_fast_stands_on_its_tip() -> None:
    tail = {"name": "tail", "shape": "transition", "front": "102 mm", "back": "62 mm"}
    sections = [jobs.tube(200, 102.0, "front"), tail | {"length": "14 mm"}]
    data = tube(printer={"height": "150 mm"}, mould={"leaves": "basewards"})
    data["section"] = [*sections, jobs.tube(60, 62.0, "back")]
    data["fit"] = [jobs.bore("59.0 mm +- 0.02 mm", 0, 40)]
    plan = jobs.plan_of(data)
    assert not plan.segments.base_down
    assert "print.overhang" not in {finding.id for finding in plan.findings}
    meshes = make_segments(plan.segments)
    first, last = (meshes[plan.segments.pieces[end].name].vertices_mm for end in (0, -1))
    assert np.hypot(*first.T[:2]).max() > np.hypot(*last[last[:, 2] > 60].T[:2]).max()
    lowest = min(plan.segments.grooves, key=lambda groove: groove.height)
    assert lowest.name == "tip trim line"
    assert all(joint.from_base > 43e-3 for joint in plan.segments.joints)
