"""The drawings as structure: well-formed, escaped, repeatable, and true to the plan's radii."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from numpy.typing import NDArray

from mandrelwright import plan_job
from mandrelwright.out import svg
from mandrelwright.out.cure_chart import draw_cure
from mandrelwright.out.frame import tones
from mandrelwright.out.ladder import draw_ladder, rungs
from mandrelwright.out.placing import Label, place, spread_out
from mandrelwright.out.section import draw_section
from mandrelwright.out.strips import draw_strips
from mandrelwright.out.svg import hatched, text_width, tick_label, ticks, wrapped
from mandrelwright.plan import Plan
from tests import jobs
from tests.property.random_jobs import random_job

Array = NDArray[np.float64]

ROOT = Path(__file__).resolve().parents[2]
NOSE = ROOT / "examples" / "plover-nose.toml"
SVG = "{http://www.w3.org/2000/svg}"
DRAW: dict[str, Callable[[Plan], str]] = {
    "section": draw_section,
    "strips": draw_strips,
    "ladder": draw_ladder,
    "cure": draw_cure,
}
HOSTILE = 'Plover <script>alert("1")</script> & ]]> nose'


@pytest.fixture(scope="module")
def plan() -> Plan:
    return plan_job(NOSE)


@pytest.fixture(scope="module", params=["nose", "transition", 1, 2, 4, 8, 25])
def any_plan(request: pytest.FixtureRequest) -> Plan:
    """Both examples, and jobs at random: stops, humps, many layer ends close together."""
    if isinstance(request.param, str):
        return plan_job(ROOT / "examples" / f"plover-{request.param}.toml")
    return jobs.plan_of(random_job(request.param))


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> Plan:
    text = NOSE.read_text("utf-8").replace('"Plover nose"', f"'{HOSTILE}'")
    text = text.replace('"big glass"', "'big <b>glass & co'")
    file = tmp_path_factory.mktemp("jobs") / "hostile.toml"
    file.write_text(text, "utf-8")
    return plan_job(file)


@pytest.mark.parametrize("name", DRAW)
def test_a_drawing_is_well_formed_named_and_needs_nothing_from_outside(
    plan: Plan, name: str
) -> None:
    text = DRAW[name](plan)
    root = ElementTree.fromstring(text)
    assert root.tag == f"{SVG}svg"
    assert root.get("role") == "img"
    titled = [root.find(f"{SVG}{tag}") for tag in ("title", "desc")]
    assert all(part is not None and part.text for part in titled)
    named = " ".join(part.get("id", "") for part in titled if part is not None)
    assert root.get("aria-labelledby") == named
    outside = text.replace('xmlns="http://www.w3.org/2000/svg"', "")
    assert not re.search(r"https?:|<script|<style|style=|var\(|<image|href", outside)
    ids = [e.get("id") for e in root.iter() if e.get("id")]
    assert len(ids) == len(set(ids))
    assert all(str(given).startswith(f"{name}-") for given in ids)
    used = set(re.findall(r"url\(#([^)]*)\)", text))
    assert used <= set(ids)


@pytest.mark.parametrize("name", DRAW)
def test_same_plan_same_bytes(plan: Plan, name: str) -> None:
    assert DRAW[name](plan) == DRAW[name](plan_job(NOSE))


@pytest.mark.parametrize("name", DRAW)
def test_text_of_the_user_is_text(hostile: Plan, name: str) -> None:
    text = DRAW[name](hostile)
    root = ElementTree.fromstring(text)
    assert {element.tag.removeprefix(SVG) for element in root.iter()} <= {
        "svg", "title", "desc", "defs", "pattern", "path", "rect", "line", "circle", "text",
    }  # fmt: skip
    said = " ".join(element.text or "" for element in root.iter())
    assert "big <b>glass" in said or HOSTILE in said or name == "ladder"


@pytest.mark.parametrize("name", DRAW)
def test_every_text_stays_on_the_paper(any_plan: Plan, name: str) -> None:
    root = ElementTree.fromstring(DRAW[name](any_plan))
    width, height = float(root.get("width", "0")), float(root.get("height", "0"))
    for text, (left, top, right, foot) in _boxes(root):
        assert left >= 0.0, text
        assert right <= width, text
        assert 0.0 <= top < foot <= height, text


@pytest.mark.parametrize("name", DRAW)
def test_no_two_texts_of_a_drawing_overlap(any_plan: Plan, name: str) -> None:
    boxes = _boxes(ElementTree.fromstring(DRAW[name](any_plan)))
    for i, (one, a) in enumerate(boxes):
        for other, b in boxes[i + 1 :]:
            apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
            assert apart, (one, other)


def _boxes(root: ElementTree.Element) -> list[tuple[str, tuple[float, float, float, float]]]:
    """Text and (left, top, right, foot) of what its letters cover."""
    out = []
    for element in root.iter(f"{SVG}text"):
        text, size = element.text or "", float(element.get("font-size", "nan"))
        wide = text_width(text, size, element.get("font-weight") == "bold")
        share = {"start": 0.0, "middle": 0.5, "end": 1.0}[element.get("text-anchor", "start")]
        left, y = float(element.get("x", "nan")) - share * wide, float(element.get("y", "nan"))
        out.append((text, (left, y - 0.75 * size, left + wide, y + 0.15 * size)))
    return out


def test_the_section_maps_back_to_the_radii_of_the_plan(plan: Plan) -> None:
    """Scale from the printed ruler, axis from the centre line, thickening from the caption."""
    root = ElementTree.fromstring(draw_section(plan))
    base, scale = _ruler(root)
    axis = _centre_line(root)
    caption = " ".join(e.text or "" for e in root.iter(f"{SVG}text"))
    said = re.search(r"drawn (\d+) times thicker", caption)
    assert said
    thicker = int(said[1])
    mould = _points(root, "section-mould")
    x = plan.shape.base - (base - mould[:, 0]) / scale
    radius = (axis - mould[:, 1]) / scale
    curve = plan.stack.mould
    assert np.abs(radius - np.interp(x, curve.x, curve.r)).max() < 1e-4
    outside = _points(root, "section-outside")
    x = plan.shape.base - (base - outside[:, 0]) / scale
    ground = np.interp(x, curve.x, curve.r)
    radius = ground + ((axis - outside[:, 1]) / scale - ground) / thicker
    wanted = np.interp(x, plan.stack.outside.x, plan.stack.outside.r)
    assert np.abs(radius - wanted).max() < 1e-4


def test_strips_stand_on_the_scale_of_the_section(plan: Plan) -> None:
    rulers = [_ruler(ElementTree.fromstring(draw(plan))) for draw in (draw_section, draw_strips)]
    assert rulers[0] == rulers[1]


def _ruler(root: ElementTree.Element) -> tuple[float, float]:
    """Units of the base line and units per metre, from the labels under the first ruler."""
    unit = next(e for e in root.iter(f"{SVG}text") if e.text == "mm from base")
    marks = [
        (float(e.text or ""), float(e.get("x", "nan")))
        for e in root.iter(f"{SVG}text")
        if e.get("y") == unit.get("y") and re.fullmatch(r"\d+", e.text or "")
    ]
    distance, across = np.array(marks).T
    slope, start = np.polyfit(distance * 1e-3, across, 1)
    assert np.abs(start + slope * distance * 1e-3 - across).max() < 0.02
    return round(float(start), 2), round(-float(slope), 1)


def _centre_line(root: ElementTree.Element) -> float:
    lines = [e for e in root.iter(f"{SVG}line") if e.get("stroke-dasharray") == "14 3 3 3"]
    (line,) = lines
    assert line.get("y1") == line.get("y2")
    return float(line.get("y1", "nan"))


def _points(root: ElementTree.Element, name: str) -> Array:
    """Points of the line with this id."""
    path = next(e for e in root.iter(f"{SVG}path") if e.get("id") == name)
    pairs = re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", path.get("d", ""))
    return np.array(pairs, dtype=float)


def test_the_ladder_adds_up(plan: Plan) -> None:
    steps = rungs(plan.fit.links)
    totals = [step for step in steps if step.link.basis == "total"]
    assert len(totals) == 2
    before = 0.0
    for step in steps:
        if step.link.basis == "total":
            assert before == pytest.approx(step.link.change, abs=1e-9)
        before = step.after
    assert steps[-1].after == pytest.approx(plan.fit.file_diameter, abs=1e-12)


def test_hatch_strokes_lie_inside_and_are_evenly_spaced() -> None:
    """Lines x + y = k·p lie p/√2 apart: their length inside is area·√2/p, but for the rim."""
    ring = np.linspace(0.0, 2.0 * np.pi, 400, endpoint=False)
    disc = 80.0 * np.column_stack((np.cos(ring), np.sin(ring)))
    for kind, share in (("rising", 1.0), ("falling", 1.0), ("crossed", 2.0)):
        pairs = re.findall(r"M(\S+) (\S+)L([^M ]+) ([^M]+)", hatched(disc, kind, 4.0))
        ends = np.array(pairs, dtype=float).reshape(-1, 2, 2)
        assert np.hypot(*ends.T).max() <= 80.01
        length = np.hypot(*(ends[:, 1] - ends[:, 0]).T).sum()
        wanted = share * np.pi * 80.0**2 * np.sqrt(2.0) / 4.0
        assert length == pytest.approx(wanted, rel=2e-3)


def _luminance(colour: str) -> float:
    """Relative luminance of #rrggbb, WCAG 2.1 definition (from memory)."""
    parts = [int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _contrast(one: str, other: str) -> float:
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_inks_read_on_their_grounds() -> None:
    """Contrast of at least 4.5 for text, the WCAG 2.1 criterion 1.4.3 (from memory)."""
    assert _contrast("#000000", "#ffffff") == pytest.approx(21.0)
    for ink in (svg.INK, svg.SOFT, svg.STOP, svg.CAUTION, svg.GOOD):
        assert _contrast(ink, svg.PAPER) >= 4.5, ink
    assert _contrast(svg.INK, svg.PLASTIC) >= 4.5
    layers = plan_job(NOSE).stack.layers
    sleeves = [replace(layers[0].textile, name=f"sleeve {i}") for i in range(5)]
    for count in range(1, 8):
        repeated = tuple(replace(layers[0], textile=own) for own in sleeves for _ in range(count))
        for tone in tones(repeated):
            assert _contrast(tone.reads, tone.ground) >= 4.5, tone
            assert _contrast(tone.dark, svg.PAPER) >= 4.5, tone


def test_the_page_reads_by_day_and_by_night() -> None:
    style = (ROOT / "src" / "mandrelwright" / "out" / "report.html").read_text("utf-8")
    themes = re.findall(r":root \{([^}]*)\}", style)
    assert len(themes) == 3
    for theme in themes:
        colours = dict(re.findall(r"--(\w+):(#\w+)", theme))
        full = {
            k: v if len(v) == 7 else "#" + "".join(2 * c for c in v[1:]) for k, v in colours.items()
        }
        for ink in ("ink", "soft", "stop", "caution", "good", "link"):
            assert _contrast(full[ink], full["page"]) >= 4.5, (theme, ink)


def test_labels_find_rows_without_crossing_leaders() -> None:
    labels = [Label(100.0 + 9.0 * i, f"{i} a sleeve to {300 - i}", i, 0.0) for i in range(8)]
    placed = place(labels, 10.0, 0.0, 800.0)
    assert len(placed) == len(labels)
    for one in placed:
        for other in placed:
            if one is not other and one.row == other.row:
                assert one.right <= other.left or other.right <= one.left
            if one is not other and other.row >= one.row:
                assert not one.left < other.label.x < one.right


def test_spread_out_keeps_order_and_distance() -> None:
    heights = spread_out([10.0, 11.0, 11.5, 60.0], 12.0)
    assert np.all(np.diff(heights) >= 12.0 - 1e-9)
    assert heights[3] == 60.0
    assert np.mean(heights[:3]) == pytest.approx(np.mean([10.0, 11.0, 11.5]))


@pytest.mark.parametrize(
    ("low", "high", "most", "wanted"),
    [(0.0, 415.0, 9, [0, 50, 100, 150, 200, 250, 300, 350, 400]), (0.0, 1.0, 3, [0.0, 0.5, 1.0]),
     (99.1, 99.95, 6, [99.2, 99.4, 99.6, 99.8]), (-0.3, 0.25, 3, [-0.2, 0.0, 0.2])],
)  # fmt: skip
def test_ticks_are_round(low: float, high: float, most: int, wanted: list[float]) -> None:
    assert ticks(low, high, most) == pytest.approx(wanted)


def test_tick_labels_have_the_decimals_of_their_step() -> None:
    assert [tick_label(value, 0.2) for value in (-0.2, 0.0, 1e-17, 0.4)] == [
        "−0.2", "0.0", "0.0", "0.4",
    ]  # fmt: skip
    assert tick_label(50.0, 50.0) == "50"


def test_wrapped_lines_fit_their_room() -> None:
    lines = wrapped("print rings at two diameters, they tell offset from shrink", 10.0, 120.0)
    assert len(lines) > 1
    assert all(text_width(line, 10.0) <= 120.0 for line in lines)
