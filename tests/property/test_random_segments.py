"""Segments of random jobs, solid, infilled and hollow: sound, whole together, printable."""

from __future__ import annotations

import copy
import math
import os
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import manifold3d
import numpy as np
import pytest
import trimesh

from mandrelwright.out.mesh import write_stl
from mandrelwright.out.segments import make_segments
from mandrelwright.out.solid import Mesh, volume
from mandrelwright.out.turning import put_together, turn
from mandrelwright.plan import Plan
from mandrelwright.stages.cuts import CLEAR_OF_FIT, dowel_angles
from mandrelwright.stages.layers import PlanError
from mandrelwright.stages.segments import Segments
from tests import jobs
from tests.property.random_jobs import random_job

ALWAYS = (100, 122)  # walls that run out to nothing once stopped the cure
SEEDS = [*range(200)] if os.environ.get("MANDRELWRIGHT_CAMPAIGN") == "1" else [*range(12), *ALWAYS]
CORES: list[Any] = ["solid", {"walls": 4, "infill": "15 %"}, {"hollow": "4 mm"}]
MAKES_NO_SOLID = {"print.hole-breaks-out", "print.flange-too-small", "print.cannot-split"}
NEXT = 1000  # what is added to a seed whose job leaves no solid to judge, until one does
TRIES = 8


def tooled_job(seed: int) -> dict[str, Any]:
    """A random job with a random way to print it; some moulds are too narrow and tell so."""
    draw = np.random.default_rng(seed + 10_000)
    data = random_job(seed)
    base = max(float(s.get("base", s.get("diameter", "0 mm"))[:-3]) for s in data["section"])
    mould, printer = data["mould"], data["printer"]
    # how a mould is filled changes how it warms while it sets, and with that its size
    data["stated"] = {"set_temperature": "22 degC +- 2 degC", "share_kept": "60 % +- 20 %"}
    core = CORES[seed % 3]
    if "hollow" in core and draw.random() < 0.5:
        core = {"hollow": "2.4 mm", "diaphragm": "3 mm", "bay": f"{draw.integers(25, 90)} mm"}
    mould["core"] = core
    if draw.random() < 0.6 and mould["leaves"] == "tipwards":
        flange: dict[str, Any] = {"diameter": f"{round(base + 32)} mm", "thickness": "8 mm"}
        if draw.random() < 0.6:
            flange |= {"push_off_screws": int(draw.integers(2, 6)), "thread": "M6"}
        mould["flange"] = flange
    if draw.random() < 0.6:
        mould["pull_rod"] = "8.2 mm"
    if draw.random() < 0.5:
        mould["vent"] = "3 mm"
    mould["dowels"] = {
        "count": int(draw.integers(2, 5)),
        "diameter": f"{draw.integers(4, 11)} mm",
        "taper": f"{draw.integers(1, 8)} deg",
        "gap": f"{draw.choice([0.1, 0.15, 0.3])} mm",
    }
    printer["height"] = f"{draw.integers(100, 300)} mm"
    printer["steepest"] = f"{draw.choice([35, 45, 55])} deg"
    return data


@dataclass(frozen=True)
class Made:
    """One job, its plan and the meshes of its pieces."""

    data: dict[str, Any]
    plan: Plan
    meshes: dict[str, Mesh]

    @property
    def segments(self) -> Segments:
        return self.plan.segments


@cache
def made(seed: int) -> Made:
    """The first job of a seed's row that leaves a solid; every seed is judged."""
    for number in range(TRIES):
        data = tooled_job(seed + NEXT * number)
        plan = plan_with_solid(data)
        if plan is not None:
            return Made(data, plan, make_segments(plan.segments))
    raise AssertionError(f"seed {seed}: none of {TRIES} jobs leaves a solid")


def plan_with_solid(data: dict[str, Any]) -> Plan | None:
    """The plan, unless it tells that no solid can be made of it."""
    try:
        plan = jobs.plan_of(data, places=200)
    except PlanError:
        return None
    told = {finding.id for finding in plan.findings}
    gone = plan.print.radius.min() < 1e-3 and plan.stack.vanishes
    return None if gone or told & MAKES_NO_SOLID else plan


def kernel(mesh: Mesh) -> manifold3d.Manifold:
    """The mesh in the geometry kernel."""
    return manifold3d.Manifold(
        manifold3d.Mesh64(mesh.vertices_mm.astype(float), mesh.triangles.astype(np.uint64))
    )


@pytest.mark.parametrize("seed", SEEDS)
def test_every_piece_is_closed_outward_and_of_the_genus_counted_beforehand(
    seed: int, tmp_path: Path
) -> None:
    for piece in made(seed).segments.pieces:
        mesh = made(seed).meshes[piece.name]
        write_stl(tmp_path / "piece.stl", mesh)
        seen = trimesh.load_mesh(tmp_path / "piece.stl")
        assert seen.is_watertight
        assert seen.is_winding_consistent
        assert seen.body_count == 1
        assert seen.euler_number == 2 - 2 * piece.genus
        hollow = made(seed).plan.job.mould.core.hollow
        assert volume(mesh) == pytest.approx(piece.volume, rel=2e-3 if hollow else 1e-5)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_pieces_united_are_the_mould(seed: int) -> None:
    segments, data = made(seed).segments, copy.deepcopy(made(seed).data)
    data["mould"]["core"], data["mould"]["split_at"] = "solid", []
    uncut = jobs.plan_of(data, places=200).segments.pieces[0]
    mould = kernel(put_together(uncut.body, uncut.takes, (), uncut.genus))
    union, pieces = manifold3d.Manifold(), []
    for piece in segments.pieces:
        raised = [0, 0, piece.low * 1e3]
        for taken in piece.takes:
            mould -= turn(taken).translate(raised)
        for socket in piece.sockets:
            union += turn(socket).translate(raised)
        pieces.append(kernel(made(seed).meshes[piece.name]).translate(raised))
        union += pieces[-1]
    for lower, upper in pairwise(pieces):
        assert (lower ^ upper).volume() < 1e-6 * mould.volume()
    allowed = 1e-6 * mould.volume()
    assert (union - mould).volume() < allowed
    assert (mould - union).volume() < allowed


@pytest.mark.parametrize("seed", SEEDS)
def test_no_face_hangs_over_more_than_the_printer_lays(seed: int) -> None:
    plan = made(seed).plan
    limit = plan.job.printer.steepest.value
    told = {finding.id for finding in plan.findings}
    for piece in plan.segments.pieces:
        mesh = made(seed).meshes[piece.name]
        corners = mesh.vertices_mm.astype(float)[mesh.triangles]
        normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        area = np.linalg.norm(normal, axis=1)
        seen = (area > 1e-4) & (corners[:, :, 2].max(axis=1) > 0.0)
        lean = np.arcsin(np.clip(-normal[seen, 2] / area[seen], -1, 1))
        assert lean.max() < max(limit, piece.overhang) + math.radians(0.5)
        assert lean.max() < limit + math.radians(1.0) or "print.overhang" in told


@pytest.mark.parametrize("seed", SEEDS)
def test_sockets_clear_pins_by_the_gap_stated(seed: int) -> None:
    """Every pin, cut from its piece's mesh, against the mesh of the next piece."""
    plan = made(seed).plan
    segments, stated = plan.segments, plan.job.mould.dowels.gap.value * 1e3
    for number, joint in enumerate(segments.joints):
        lower, upper = segments.pieces[number : number + 2]
        foot = (lower.high - lower.low) * 1e3
        above = kernel(made(seed).meshes[upper.name]).translate([0, 0, foot])
        pins = kernel(made(seed).meshes[lower.name])
        low, high = foot + 2 * stated, foot + 0.95e3 * segments.dowel.length
        pins = pins.trim_by_plane([0, 0, 1], low).trim_by_plane([0, 0, -1], -high).decompose()
        assert len(pins) == len(joint.angles)
        for pin in pins:
            assert pin.min_gap(above, 2.0) == pytest.approx(stated, abs=0.007 + 0.01 * stated)


@pytest.mark.parametrize("seed", SEEDS)
def test_cuts_keep_clear_of_fits_and_pieces_fit_the_printer(seed: int) -> None:
    plan = made(seed).plan
    for joint in plan.segments.joints:
        for fit in plan.shape.fits:
            low, high = plan.shape.base - fit.stop, plan.shape.base - fit.start
            away = max(low - joint.from_base, joint.from_base - high)
            assert away > 0.9 * CLEAR_OF_FIT
    for piece in plan.segments.pieces:
        assert piece.printed_height <= plan.job.printer.height.value + 1e-9


@pytest.mark.parametrize("count", range(2, 13))
def test_a_turned_piece_does_not_go_on(count: int) -> None:
    angles = np.array(dowel_angles(count))
    for first in angles:
        for other in angles:
            turned = (angles + other - first + 1e-9) % (2 * math.pi)
            off = np.abs((turned[:, None] - angles + math.pi) % (2 * math.pi) - math.pi).min(axis=1)
            assert first == other or off.max() > 0.2 * 2 * math.pi / count


def test_the_seeds_reach_cuts_and_every_core() -> None:
    cut = [made(seed) for seed in SEEDS if made(seed).segments.joints]
    assert len(cut) >= 3
    assert any(item.plan.job.mould.core.hollow for item in cut)
    cores = [made(seed).plan.job.mould.core for seed in SEEDS]
    assert any(core.hollow for core in cores)
    assert any(core.infill is not None for core in cores)
    assert any(core.hollow is None and core.infill is None for core in cores)
