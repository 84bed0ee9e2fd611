"""Random profiles, flanges and holes: closed, of the right volume, within the chord."""

from __future__ import annotations

import os
from math import pi
from pathlib import Path

import numpy as np
import pytest
import trimesh

from mandrelwright.out.mesh import write_stl
from mandrelwright.out.segments import make_whole as make_solid
from mandrelwright.out.solid import CHORD, Mesh, volume
from mandrelwright.stages.print import HOLE_WALL, PrintForm

SEEDS = range(250 if os.environ.get("MANDRELWRIGHT_CAMPAIGN") == "1" else 25)


def random_form(random: np.random.Generator) -> PrintForm:
    """Smooth, kinked, stepped or nearly straight; 5 to 400 mm high, 2 to 300 mm across."""
    points = int(random.choice([2, 3, 17, 150, 400]))
    gaps = random.exponential(1.0, points - 1) ** random.uniform(0.5, 3)
    height = np.concatenate([[0], np.cumsum(gaps + 1e-9)])
    height *= random.uniform(0.005, 0.4) / height[-1]
    waves = random.normal(0, 0.2, 4) @ np.cos(np.outer(range(1, 5), pi * height / height[-1]))
    steps = random.uniform(0, 0.1) * np.cumsum(random.random(points) < 3 / points)
    noise = random.choice([0, 1e-9, 1e-7, 1e-4]) * random.normal(size=points)
    radius = random.uniform(0.002, 0.08) * np.exp(waves + steps) + np.abs(noise)
    smallest = radius.min()
    flange = (radius[0] * random.uniform(1.001, 2), random.uniform(1e-4, 0.02))
    pull_rod, vent = random.uniform(0.2, 0.8) * smallest, random.uniform(0.001, 0.004)
    return PrintForm(
        height=height,
        radius=radius,
        flange=flange if random.random() < 0.6 else None,
        pull_rod=pull_rod
        if pull_rod / 2 + HOLE_WALL < smallest and random.random() < 0.6
        else None,
        vent=vent if pull_rod / 2 + vent + 2 * HOLE_WALL < smallest else None,
    )


def closed_form_volume(form: PrintForm) -> float:
    """Frusta between the given points, the flange's disc, less the bores, m³."""
    low, high, rise = form.radius[:-1], form.radius[1:], np.diff(form.height)
    total = float(np.sum(pi * rise * (low**2 + low * high + high**2) / 3))
    disc, thickness = form.flange or (0.0, 0.0)
    bores = sum(pi / 4 * diameter**2 for _, diameter in form.holes())
    return total + pi * disc**2 * thickness - bores * (form.height[-1] + thickness)


def chord_allowance(form: PrintForm) -> float:
    """Largest volume that a quarter of the chord along the meridian can hide, m³."""
    slant = np.hypot(np.diff(form.radius), np.diff(form.height))
    return float(2 * pi * np.max(form.radius) * np.sum(slant)) * CHORD / 4


def distance_from_meridian(mesh: Mesh, form: PrintForm) -> np.ndarray:
    """Distance of the middles of the outer wall's edges from the given line, m, by brute force."""
    corners = mesh.vertices_mm.astype(float)[mesh.triangles] * 1e-3
    edges = np.concatenate([corners[:, [0, 1]], corners[:, [1, 2]], corners[:, [2, 0]]])
    middle = edges.mean(axis=1)
    around = np.column_stack([np.hypot(middle[:, 0], middle[:, 1]), middle[:, 2]])
    thickness = form.flange[1] if form.flange else 0.0
    inner = sum(x + d / 2 for x, d in form.holes()[-1:]) + 1e-4
    standing = (np.ptp(edges[:, :, 2], axis=1) > 0) & (around[:, 0] > inner)
    on_profile = around[standing & (edges[:, :, 2].min(axis=1) >= thickness - 1e-7)]
    on_profile = on_profile[np.random.default_rng(1).permutation(len(on_profile))[:300]]
    line = np.column_stack([form.radius, form.height + thickness])
    start, along = line[:-1], np.diff(line, axis=0)
    offset = on_profile[:, None] - start
    share = np.clip(np.sum(offset * along, -1) / np.sum(along**2, -1), 0, 1)
    return np.min(np.linalg.norm(offset - share[..., None] * along, axis=-1), axis=1)


@pytest.mark.parametrize("seed", SEEDS)
def test_random_form_makes_one_sound_solid(seed: int, tmp_path: Path) -> None:
    form = random_form(np.random.default_rng(seed))
    mesh = make_solid(form)
    expected = closed_form_volume(form)
    tolerance = chord_allowance(form) + 2e-6 * expected
    assert volume(mesh) == pytest.approx(expected, abs=tolerance, rel=0)
    write_stl(tmp_path / "random.stl", mesh)
    seen = trimesh.load_mesh(tmp_path / "random.stl")  # merges corners by value, as slicers do
    assert seen.is_watertight
    assert seen.is_winding_consistent
    assert seen.body_count == 1
    assert seen.euler_number == 2 - 2 * len(form.holes())
    assert seen.volume * 1e-9 == pytest.approx(volume(mesh), rel=1e-9)
    assert distance_from_meridian(mesh, form).max() < CHORD


def test_the_seeds_reach_every_kind_of_form() -> None:
    forms = [random_form(np.random.default_rng(seed)) for seed in SEEDS]
    kinds = {(f.flange is None, f.pull_rod is None, f.vent is None) for f in forms}
    assert len(kinds) >= 6
