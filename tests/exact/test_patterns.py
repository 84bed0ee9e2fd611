"""Patterns of whole jobs, rolled up on the part by the test's own geometry."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from mandrelwright.stages.patterns import ClothPiece
from tests import jobs

SCALE = 59.95 / 60.0  # the drawn bore is 60 mm, the leading fit asks for 59.8 + 0.15 mm
TWILL = {
    "name": "twill",
    "fibre": "E-glass",
    "areal_weight": "163 g/m^2",
    "width": "1 m",
    "on_shelf": "5 m",
}


def layer(**more: Any) -> dict[str, Any]:
    return {"cloth": "twill", "from": "tip", "to": "end", **more}


def inside(*sections: dict[str, Any], layers: list[dict[str, Any]], **more: Any) -> dict[str, Any]:
    """A job that draws its bore, of these sections, all in cloth."""
    return jobs.raw(
        part={"name": "Test", "describes": "inside"},
        section=list(sections),
        fit=[jobs.bore("59.8 mm +- 0.02 mm", 0, 30)],
        cloth=[TWILL],
        sleeve=None,
        layer=layers,
        **more,
    )


def cone_job(**more: Any) -> dict[str, Any]:
    return inside(
        {
            "name": "cone",
            "shape": "transition",
            "length": "200 mm",
            "front": "30 mm",
            "back": "60 mm",
        },
        jobs.tube(60, 60),
        layers=[layer(**more)],
    )


def first(data: dict[str, Any]) -> ClothPiece:
    return jobs.plan_of(data, 120).patterns.pieces[0]


@pytest.mark.parametrize(("turns", "overlap"), [(1, 15), (2, 8), (3, 20)])
def test_a_tube_is_a_rectangle_of_its_way_round(turns: int, overlap: int) -> None:
    piece = first(inside(jobs.tube(200, 60), layers=[layer(turns=turns, overlap=f"{overlap} mm")]))
    assert piece.kind == "rectangle"
    # the leading fit asks for 59.8 + 0.15 mm; A/(rho Vf) of glass of 2600 kg/m3 at 40 %
    density = jobs.library().fibres["E-glass"]["density"].value
    middle = 59.95e-3 / 2 + 0.5 * turns * 0.163 / (density * 0.40)
    width = 2.0 * math.pi * middle * turns + overlap * 1e-3
    assert np.ptp(piece.outline[:, 1]) == pytest.approx(width, abs=2e-6)
    assert np.ptp(piece.outline[:, 0]) == pytest.approx(0.225, abs=1e-9)  # margins 10 and 15 mm
    assert piece.area == pytest.approx(width * 0.225, rel=1e-4)
    assert piece.mass == pytest.approx(piece.area * 0.163, rel=1e-12)
    assert piece.warp_range == pytest.approx((math.pi / 4, math.pi / 4))
    assert piece.leftover == 0.0


def test_a_cone_is_an_annular_sector_that_meets_itself() -> None:
    piece = first(cone_job(angle="30 deg", overlap="10 mm"))
    assert piece.kind == "sector"
    beta = math.atan(15 / 200 * SCALE)
    # textbook: a flat cone is 2 pi sin(beta) round; the warp turns by half of it each way
    turn = math.pi * math.sin(beta)
    assert piece.warp_range == pytest.approx(
        (math.radians(30) - turn, math.radians(30) + turn), abs=2e-4
    )
    seam = next(line.points for line in piece.lines if line.kind == "seam")
    plain = piece.outline[-162:-1][::-1]
    middle = next(line.points for line in piece.lines if line.kind == "centre")
    front = 0.015 - 10e-3 * math.tan(beta)
    apex = middle[0, 0] - front / math.sin(beta)
    for flat, side in ((plain, -1.0), (seam, 1.0)):
        polar = np.arctan2(flat[:, 1], flat[:, 0] - apex)
        assert polar == pytest.approx(side * turn, abs=3e-3)
        assert np.hypot(flat[:, 0] - apex, flat[:, 1])[-1] - np.hypot(
            flat[:, 0] - apex, flat[:, 1]
        )[0] == pytest.approx(0.220 / math.cos(beta), rel=1e-5)  # margin 10, cone 200, lap 10


def nose_job(gores: int, **more: Any) -> dict[str, Any]:
    return jobs.raw(cloth=[TWILL], sleeve=None, layer=[layer(gores=gores, **more)])


@pytest.mark.parametrize("gores", [5, 8, 16])
def test_a_nose_takes_gores_and_its_skirt_one_piece(gores: int) -> None:
    plan = jobs.plan_of(nose_job(gores), 200)
    nose, skirt = plan.patterns.pieces
    assert (nose.kind, nose.count, skirt.kind, skirt.count) == ("gore", gores, "rectangle", 1)
    lap = next(line for line in nose.lines if line.kind == "lap")
    ends = lap.points[[0, -1], 1]
    round_it = 2.0 * math.pi * float(np.interp(0.4, plan.stack.x[0], plan.stack.middle_radius[0]))
    # the lap line is as long as the parallel it lies on, its overlap of 15 mm included
    length = np.hypot.reduce(np.diff(lap.points, axis=0), axis=1).sum()
    assert length == pytest.approx(round_it / gores + min(15e-3, 0.5 * round_it / gores), rel=6e-3)
    assert ends[0] < 0.0 < ends[1]


def test_left_over_strain_falls_with_the_square_of_gores() -> None:
    strains = [jobs.plan_of(nose_job(n), 200).patterns.pieces[0].leftover for n in (6, 12, 24)]
    assert strains[0] / strains[1] == pytest.approx(4.0, rel=0.02)
    assert strains[1] / strains[2] == pytest.approx(4.0, rel=0.01)


def test_the_number_of_gores_that_is_named_is_enough() -> None:
    plan = jobs.plan_of(nose_job(3), 200)
    (told,) = [each for each in plan.findings if each.id == "patterns.folds"]
    needed = plan.patterns.pieces[0].needed
    assert f"gores = {needed}" in told.do[0]
    enough = jobs.plan_of(nose_job(needed), 200)
    assert "patterns.folds" not in {each.id for each in enough.findings}
    fewer = jobs.plan_of(nose_job(needed - 1), 200)
    assert "patterns.folds" in {each.id for each in fewer.findings}


def test_areas_of_a_nose_add_up_to_the_surface_it_covers() -> None:
    """Flat cloth without overlaps against Pappus on the stack's own middle surface."""
    plan = jobs.plan_of(nose_job(24, overlap="0 mm"), 400)
    x, r = (0.5 * (each[0] + each[1]) for each in (plan.stack.x, plan.stack.r))
    surface = float(np.sum(np.hypot(np.diff(x), np.diff(r)) * math.pi * (r[1:] + r[:-1])))
    flat = sum(piece.count * piece.area for piece in plan.patterns.pieces)
    assert flat == pytest.approx(surface, rel=2e-3)


def test_a_narrow_roll_and_a_short_shelf_are_told() -> None:
    data = cone_job()
    data["cloth"] = [{**TWILL, "width": "100 mm", "on_shelf": "0.1 m"}]
    found = {each.id for each in jobs.plan_of(data, 120).findings}
    assert {"patterns.too-narrow", "supplies.short"} <= found
    assert not {"patterns.too-narrow", "supplies.short"} & {
        each.id for each in jobs.plan_of(cone_job(), 120).findings
    }


def test_seams_of_successive_layers_lie_apart() -> None:
    pieces = jobs.plan_of(inside(jobs.tube(200, 60), layers=[layer(repeat=8)]), 60).patterns.pieces
    seams = [math.degrees(piece.seam) for piece in pieces]
    assert sorted(seams) == pytest.approx([0, 45, 90, 135, 180, 225, 270, 315])
    apart = [abs((a - b + 180) % 360 - 180) for a, b in pairwise(seams)]
    assert min(apart) == pytest.approx(135)


def test_overlaps_that_meet_are_told() -> None:
    wide = inside(jobs.tube(200, 60), layers=[layer(repeat=2, overlap="80 mm")])
    assert "patterns.overlaps-meet" in {each.id for each in jobs.plan_of(wide, 60).findings}
    good = inside(jobs.tube(200, 60), layers=[layer(repeat=2, overlap="15 mm")])
    assert "patterns.overlaps-meet" not in {each.id for each in jobs.plan_of(good, 60).findings}


def test_an_overlap_above_the_way_round_is_refused() -> None:
    with pytest.raises(Exception, match="overlaps itself by 90 mm where the way round is"):
        jobs.plan_of(cone_job(overlap="90 mm"), 60)


def test_a_collar_goes_once_round_its_trim_line() -> None:
    plan = jobs.plan_of(cone_job(), 120)
    collars = {each.label: each for each in plan.patterns.templates if "collar" in each.label}
    for name, x in (("tip trim collar", plan.shape.tip), ("base trim collar", plan.shape.base)):
        outside = float(np.interp(x, plan.stack.x[-1], plan.stack.r[-1]))
        assert collars[name].size == pytest.approx(2.0 * math.pi * outside, rel=1e-9)
        outline = collars[name].lines[0].points
        length = np.hypot.reduce(np.diff(outline[:241], axis=0), axis=1).sum()
        assert length == pytest.approx(2.0 * math.pi * outside + 15e-3, rel=1e-5)
