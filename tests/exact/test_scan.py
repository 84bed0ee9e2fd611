"""A scan of a body whose size is known: noise, tilt, offset, holes and stray points put on it."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest

from mandrelwright import plan_job
from mandrelwright.job.records import Stage
from mandrelwright.job.values import InputError
from mandrelwright.physics import scan
from mandrelwright.shop.scan import read_scan

ROOT = Path(__file__).resolve().parents[2]

POINTS = 2_000_000 if os.environ.get("MANDRELWRIGHT_CAMPAIGN") else 200_000
NOISE = 0.05e-3
LARGER, OVAL, LOBES = 0.12e-3, 0.06e-3, 0.03e-3  # m: what was made beside what was drawn
LENGTH, BASE = 0.4, 0.05


def von_karman(skirt: float = 0.1) -> tuple[np.ndarray, np.ndarray]:
    """Profile of a 4:1 von Karman nose, cut at a tenth, with a cylinder behind it."""
    turn = np.linspace(0.65, np.pi, 800)
    x = 0.5 * LENGTH * (1.0 - np.cos(turn))
    r = BASE * np.sqrt((turn - 0.5 * np.sin(2.0 * turn)) / np.pi)
    return np.append(x, LENGTH + skirt), np.append(r, BASE)


PROFILES = {
    "nose": von_karman(),
    "cone and cylinder": (np.array([0.0, 0.2, 0.3]), np.array([0.027, 0.05, 0.05])),
    "double cone": (np.array([0.0, 0.15, 0.4]), np.array([0.02, 0.05, 0.035])),
}


def scanned(x: np.ndarray, r: np.ndarray, seed: int, points: int = POINTS) -> np.ndarray:
    """Points of the made surface in a scanner's frame: turned anywhere, moved by up to 0.2 m."""
    draw = np.random.default_rng(seed)
    along = draw.uniform(x[0], x[-1], points)
    angle = draw.uniform(-np.pi, np.pi, points)
    radius = np.interp(along, x, r) + LARGER + OVAL * np.cos(2 * angle) + LOBES * np.cos(3 * angle)
    kept = np.ones(points, bool)
    for _ in range(8):
        middle, towards = draw.uniform(x[0], x[-1]), draw.uniform(-np.pi, np.pi)
        turned = np.abs((angle - towards + np.pi) % (2.0 * np.pi) - np.pi)
        kept &= (np.abs(along - middle) > 25e-3) | (turned > 0.6)
    made = np.column_stack([along, radius * np.cos(angle), radius * np.sin(angle)])[kept]
    made += NOISE * draw.standard_normal(made.shape)
    stray = len(made) // 100
    made[:stray] += draw.uniform(-10e-3, 10e-3, (stray, 3))
    frame, _ = np.linalg.qr(draw.standard_normal((3, 3)))
    return made @ frame.T + draw.uniform(-0.2, 0.2, 3)


def aligned(points: np.ndarray) -> np.ndarray:
    own = scan.find_axis(points).place(points)
    return own[np.argsort(own[:, 0])]


@pytest.mark.parametrize("name", PROFILES)
@pytest.mark.parametrize("seed", range(3))
def test_the_mean_diameter_comes_back_within_ten_micrometres(name: str, seed: int) -> None:
    x, r = PROFILES[name]
    own = aligned(scanned(x, r, seed))
    seat = scan.seat(own, x, r)
    for place in (0.3, 0.5, 0.9):
        station = x[0] + place * (x[-1] - x[0])
        ring = scan.ring_at(own, seat.sense * (station - seat.shift), 5e-3)
        slope = abs(np.interp(station + 1e-3, x, r) - np.interp(station - 1e-3, x, r)) / 2e-3
        true = 2.0 * (np.interp(station, x, r) + LARGER)
        misplaced = 2.0 * slope * seat.doubt
        assert ring.diameter == pytest.approx(
            true, abs=10e-6 if slope < 0.01 else 10e-6 + misplaced
        )
        assert ring.oval == pytest.approx(OVAL, abs=10e-6)
        assert ring.lobes == pytest.approx(LOBES, abs=10e-6)


def test_the_way_round_is_seen_from_the_shape() -> None:
    x, r = PROFILES["nose"]
    for seed in range(4):
        own = aligned(scanned(x, r, seed, 50_000))
        seat = scan.seat(own, x, r)
        radius = np.hypot(own[:, 1], own[:, 2])
        drawn = np.interp(seat.sense * own[:, 0] + seat.shift, x, r)
        assert np.median(np.abs(radius - drawn)) < 2.0 * LARGER
        assert seat.doubt < 0.3e-3


def test_a_cylinder_tells_no_place_along_itself() -> None:
    x, r = np.array([0.0, 0.3]), np.array([0.027, 0.027])
    own = aligned(scanned(x, r, 1, 50_000))
    seat = scan.seat(own, x, r)
    assert np.isinf(seat.doubt)
    ring = scan.ring_at(own, seat.sense * (0.15 - seat.shift), 10e-3)
    assert ring.diameter == pytest.approx(2.0 * (0.027 + LARGER), abs=10e-6)


def test_the_stated_doubt_covers_what_noise_does() -> None:
    """Without form and holes the error is noise alone: its scatter is the doubt told."""
    draw = np.random.default_rng(7)
    score = []
    for _ in range(60):
        angle, along = draw.uniform(-np.pi, np.pi, 4000), np.sort(draw.uniform(-5e-3, 5e-3, 4000))
        rho = 0.05 + NOISE * draw.standard_normal(4000)
        ring = scan.ring_at(
            np.column_stack([along, rho * np.cos(angle), rho * np.sin(angle)]), 0.0, 5e-3
        )
        score.append((ring.diameter - 0.1) / ring.doubt)
    assert 0.8 < np.std(score) < 1.25  # 60 draws: one standard error is 0.09


def test_points_that_cannot_be_it_are_refused() -> None:
    x, r = PROFILES["nose"]
    points = scanned(x, r, 2, 20_000)
    with pytest.raises(scan.ScanError, match="at least 1000 points"):
        scan.find_axis(points[:500])
    with pytest.raises(scan.ScanError, match="finite"):
        scan.find_axis(np.where(np.arange(3) == 1, np.nan, points))
    with pytest.raises(scan.ScanError, match="reach over"):
        scan.seat(aligned(points * 25.4), x, r)
    own = aligned(points)
    half = own[own[:, 1] > 0.0]
    with pytest.raises(scan.ScanError, match="of the circumference"):
        scan.ring_at(half, float(np.median(half[:, 0])), 10e-3)


@pytest.mark.parametrize("stage", ["printed", "ready", "part"])
def test_a_scan_of_a_planned_mould_reads_its_marks(stage: Stage) -> None:
    plan = plan_job(ROOT / "examples" / "plover-nose.toml")
    drawn = {"printed": plan.fit.file, "ready": plan.fit.ready, "part": plan.fit.bore}[stage]
    found = read_scan(plan, scanned(drawn.x, drawn.r, 5, 400_000), stage, scanner=0.0)
    wanted = plan.mould.marks[:1] if stage == "part" else plan.mould.marks
    assert [item.mark for item in found.readings] == [mark.name for mark in wanted]
    for mark, reading in zip(wanted, found.readings, strict=True):
        true = 2.0 * (np.interp(mark.x, drawn.x, drawn.r) + LARGER)
        placed = 2.0 * abs(mark.slope) * (reading.place or 0.0)
        assert abs(reading.value - true) < 10e-6 + 2.0 * placed
        assert reading.stage == stage


def test_a_scan_of_another_thing_or_in_another_unit_is_refused() -> None:
    plan = plan_job(ROOT / "examples" / "dunlin-tube.toml")
    curve = plan.fit.ready
    points = scanned(curve.x, curve.r, 3, 20_000)
    with pytest.raises(InputError, match="check its unit"):
        read_scan(plan, points * 25.4, "ready")
    assert np.isinf(read_scan(plan, points, "ready").placed)
