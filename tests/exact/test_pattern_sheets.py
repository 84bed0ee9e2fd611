"""patterns.pdf measured again from its own vector data, tile by tile."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from mandrelwright.out.patterns import write_patterns
from mandrelwright.plan import Plan
from tests import jobs, pdf_paths
from tests.exact.test_patterns import SCALE, cone_job, nose_job

Array = NDArray[np.float64]

SIZES = {"A4": (210.0, 297.0), "A3": (297.0, 420.0), "Letter": (215.9, 279.4)}  # ISO 216, ANSI
CUT = 0.5  # mm, the width of a line to cut
ASKED = 0.1  # mm
REACHED = 0.005  # mm


@lru_cache(maxsize=4)
def made(kind: str, paper: str = "A4") -> tuple[Plan, bytes]:
    data: dict[str, Any] = {
        "cone": lambda: cone_job(angle="30 deg"),
        "nose": lambda: nose_job(8),
        "sleeves": jobs.raw,
    }[kind]()
    data["shop"] = {**data["shop"], "paper": paper}
    plan = jobs.plan_of(data, 200)
    return plan, write_patterns(plan)


def is_square(path: pdf_paths.Path) -> bool:
    sides = np.diff(path.points, axis=0)
    return len(path.points) == 5 and bool(np.all(np.abs(np.abs(sides).max(axis=1) - 50.0) < ASKED))


@pytest.mark.parametrize("paper", SIZES)
@pytest.mark.parametrize("kind", ["cone", "nose", "sleeves"])
def test_every_sheet_has_a_true_square(kind: str, paper: str) -> None:
    pages = pdf_paths.pages(made(kind, paper)[1])
    assert len(pages) >= 3
    for size, paths, text in pages:
        assert size == pytest.approx(SIZES[paper], abs=0.01)
        (square,) = [path for path in paths if is_square(path)]
        assert np.ptp(square.points, axis=0) == pytest.approx((50.0, 50.0), abs=REACHED)
        assert "50 mm each way" in text
        everything = np.concatenate([path.points for path in paths])
        assert np.all((everything >= 10.0) & (everything <= np.array(SIZES[paper]) - 10.0))


def cone_arcs(plan: Plan) -> tuple[float, float]:
    """Flat radii (mm) of the cone's two arcs by the textbook sector, its middle surface."""
    beta = math.atan(15.0 / 200.0 * SCALE)
    half = 0.5e3 * plan.stack.thickness[0].max() / math.cos(beta)
    # margin of 10 mm before the tip; the lap of 15 mm, cut short by nothing, beyond the joint
    inner = (15.0 * SCALE - 10.0 * math.tan(beta) + half) / math.sin(beta)
    return inner, inner + (10.0 + 200.0 + 15.0) / math.cos(beta)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_arcs_of_a_cone_are_true_on_every_tile(paper: str) -> None:
    plan, content = made("cone", paper)
    inner, outer = cone_arcs(plan)
    seen = {inner: 0, outer: 0}
    for _, paths, text in pdf_paths.pages(content)[1:]:
        if "cone" not in text:
            continue
        for path in paths:
            if path.width != pytest.approx(CUT, abs=0.01) or path.dashed:
                continue
            for radius in (inner, outer):
                for arc in on_circles(path.points, radius):
                    seen[radius] += 1
                    assert fitted_radius(arc) == pytest.approx(radius, abs=ASKED)
    assert min(seen.values()) >= 1


def on_circles(points: Array, radius: float) -> list[Array]:
    """Runs of a path that turn evenly as a circle of about this radius does."""
    step = np.diff(points, axis=0)
    length = np.hypot(step[:, 0], step[:, 1])
    heading = np.unwrap(np.arctan2(step[:, 1], step[:, 0]))
    bend = np.diff(heading) / (0.5 * (length[1:] + length[:-1]))
    good = np.abs(np.abs(bend) * radius - 1.0) < 0.05
    edges = np.flatnonzero(np.diff(np.concatenate(([0], good.astype(int), [0]))))
    runs = [points[a : b + 2] for a, b in edges.reshape(-1, 2)]
    return [run for run in runs if len(run) >= 8]


def fitted_radius(points: Array) -> float:
    """Least-squares circle through points: x² + y² = 2 a x + 2 b y + c."""
    middle = points.mean(axis=0)
    x, y = (points - middle).T
    system = np.stack((2.0 * x, 2.0 * y, np.ones_like(x)), axis=1)
    (a, b, c), *_ = np.linalg.lstsq(system, x * x + y * y, rcond=None)
    return math.sqrt(c + a * a + b * b)


@pytest.mark.parametrize("kind", ["cone", "nose"])
def test_joined_sheets_give_the_pattern_back(kind: str) -> None:
    """Tiles put together on their joint lines: everything cut lies on the outline, none is lost."""
    plan, content = made(kind)
    piece = plan.patterns.pieces[0]
    outline = 1e3 * piece.outline * (1.0, -1.0)
    outline = outline - outline.min(axis=0)
    assert np.ptp(outline[:, 0]) > 190.0  # it takes two tiles, side by side
    count = -(-int(np.ptp(outline[:, 0]) - 10) // 176)
    length = 0.0
    for number, (_, paths, _) in enumerate(pdf_paths.pages(content)[1 : 1 + count]):
        # sheets are 210 mm wide with margins of 12 mm and join 10 mm inside each other
        shift = (12.0 - number * (210.0 - 24.0 - 10.0), 12.0)
        for path in paths:
            if (
                path.width == pytest.approx(CUT, abs=0.01)
                and not path.dashed
                and path.points[0, 1] < 225
            ):
                dense = resampled(path.points - shift, 400)
                assert distance(dense, outline).max() < REACHED * 2
                length += float(np.hypot.reduce(np.diff(path.points, axis=0), axis=1).sum())
    whole = float(np.hypot.reduce(np.diff(outline, axis=0), axis=1).sum())
    assert whole < length < whole + 4.0 * 10.0 * (count - 1)


def resampled(points: Array, count: int) -> Array:
    s = np.concatenate(([0.0], np.cumsum(np.hypot.reduce(np.diff(points, axis=0), axis=1))))
    at = np.linspace(0.0, s[-1], count)
    return np.stack([np.interp(at, s, points[:, axis]) for axis in (0, 1)], axis=1)


def distance(points: Array, line: Array) -> Array:
    """Of each point from a line of segments."""
    start, way = line[:-1], np.diff(line, axis=0)
    way = np.where(np.hypot(way[:, 0], way[:, 1])[:, None] > 0.0, way, 1e-9)
    share = np.einsum("psk,sk->ps", points[:, None] - start, way) / (way**2).sum(axis=1)
    foot = start + np.clip(share, 0.0, 1.0)[..., None] * way
    return np.asarray(np.hypot.reduce(points[:, None] - foot, axis=2).min(axis=1))


def test_the_same_plan_gives_the_same_bytes() -> None:
    plan, content = made("cone")
    assert write_patterns(plan) == content


def test_text_of_the_job_is_set_as_it_is() -> None:
    data = cone_job()
    name = '#panic("x") $a$ *b* <c> \\'
    data["part"] = {**data["part"], "name": name}
    data["cloth"][0]["name"] = data["layer"][0]["cloth"] = "#1 [twill]"
    _, _, text = pdf_paths.pages(write_patterns(jobs.plan_of(data, 60)))[1]
    assert name in text
    assert "#1 [twill]" in text
