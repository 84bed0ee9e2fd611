"""section.dxf read by an independent reader, section.pdf measured from its vector data."""

from __future__ import annotations

import io
from functools import lru_cache
from pathlib import Path

import ezdxf.filemanagement
import numpy as np
import pytest
from ezdxf.document import Drawing
from ezdxf.entities.dimension import Dimension
from ezdxf.entities.lwpolyline import LWPolyline
from numpy.typing import NDArray

from mandrelwright.job.read import library_of, read_job
from mandrelwright.out.build import build
from mandrelwright.out.section_dxf import LAYERS, write_section_dxf
from mandrelwright.out.section_pdf import write_section_pdf
from mandrelwright.plan import Plan, make_plan
from tests import pdf_paths
from tests.exact.test_pattern_sheets import distance

Array = NDArray[np.float64]

EXAMPLES = sorted(
    (Path(__file__).resolve().parents[2] / "examples").glob("*.toml"), key=lambda path: path.name
)
TRUE = 5e-3  # mm: what a drawn curve may stray


@lru_cache(maxsize=4)
def plan_of(path: Path) -> Plan:
    job = read_job(path)
    return make_plan(job, library_of(job))


@lru_cache(maxsize=4)
def drawing_of(path: Path) -> Drawing:
    content = write_section_dxf(plan_of(path)).decode("utf-8")
    return ezdxf.filemanagement.read(io.StringIO(content))


def measured(path: Path) -> dict[str, float]:
    """Words of every dimension and what the reader measures between its points."""
    found = {}
    for entity in drawing_of(path).modelspace().query("DIMENSION"):
        assert isinstance(entity, Dimension)
        assert entity.dxf.layer == "DIMENSIONS"
        found[entity.dxf.text] = float(entity.get_measurement())
    return found


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_the_dxf_is_sound_and_its_layers_are_named(path: Path) -> None:
    drawing = drawing_of(path)
    audit = drawing.audit()
    assert (audit.errors, audit.fixes) == ([], [])
    assert drawing.units == 4  # millimetres, DXF reference, $INSUNITS
    used = {entity.dxf.layer for entity in drawing.modelspace()}
    assert used <= set(LAYERS)
    assert {"WALL", "MOULD", "AXIS", "TRIM", "FITS", "MARKS", "DIMENSIONS", "TITLE"} <= used


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_dimensions_equal_the_plan(path: Path) -> None:
    plan, seen = plan_of(path), measured(path)
    shape = plan.shape
    assert seen["<>"] == pytest.approx(1e3 * (shape.base - shape.tip), abs=1e-6)
    outside = plan.stack.outside
    for name, x in (("tip trim", shape.tip), ("base trim", shape.base)):
        diameter = 2e3 * np.interp(x, outside.x, outside.r)
        assert seen[f"%%c<> outside, {name}"] == pytest.approx(diameter, abs=1e-6)
    for mark in plan.mould.marks:
        assert seen[f"%%c<> mould, mark {mark.name}"] == pytest.approx(
            1e3 * mark.diameter, abs=1e-6
        )
        along = [value for words, value in seen.items() if words == f"<> mark {mark.name}"]
        assert along == pytest.approx([1e3 * mark.from_base] * len(along), abs=1e-6)
    for place in shape.fits:
        length = 1e3 * (place.fit.to_base.value - place.fit.from_base.value)
        assert length == pytest.approx(
            min(seen.values(), key=lambda value: abs(value - length)), abs=1e-6
        )
        across = [value for words, value in seen.items() if words.endswith(f", {place.name}")]
        assert len(across) == 1


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_drawn_curves_lie_on_the_surfaces(path: Path) -> None:
    """No node of the stack's bore or outside strays from what is drawn, above and below."""
    plan = plan_of(path)
    lines = [
        np.array([point[:2] for point in entity])
        for entity in drawing_of(path).modelspace().query("LWPOLYLINE")
        if isinstance(entity, LWPolyline) and entity.dxf.layer in ("WALL", "MOULD")
    ]
    upper = np.concatenate([line[:, :2] for line in lines])
    for x, r in ((plan.stack.x[0], plan.stack.r[0]), (plan.stack.x[-1], plan.stack.r[-1])):
        inside = (x >= plan.shape.tip) & (x <= plan.shape.base)
        nodes = 1e3 * np.stack((x[inside] - plan.shape.tip, r[inside]), axis=1)
        for side in (1.0, -1.0):
            strays = [
                distance(nodes * (1.0, side), np.concatenate((line, line[:1]))) for line in lines
            ]
            assert np.min(strays, axis=0).max() < TRUE
    widest = plan.stack.r[-1][inside].max()
    if flange := plan.job.mould.flange:
        widest = max(widest, 0.5 * flange.diameter.value)
    assert upper[:, 1].max() == pytest.approx(1e3 * widest, abs=TRUE)


def test_the_same_plan_gives_the_same_bytes() -> None:
    plan = plan_of(EXAMPLES[0])
    assert write_section_dxf(plan) == write_section_dxf(plan)
    assert write_section_pdf(plan) == write_section_pdf(plan)
    assert b"1 May" in write_section_dxf(plan, "1 May 2031")


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_the_sheet_is_true_to_its_scale(path: Path) -> None:
    """The closed outline of the mould, as long and as wide as the plan says."""
    plan = plan_of(path)
    ((size, paths, text),) = pdf_paths.pages(write_section_pdf(plan))
    assert min(np.abs(np.subtract(size, sheet)).max() for sheet in SHEETS) < 0.01
    scale = 1.0 / float(text.split("scale 1:")[1].split(";")[0])
    mould = max(
        (each for each in paths if np.all(each.points[0] == each.points[-1])),
        key=lambda each: np.ptp(each.points[:, 0]) * np.ptp(each.points[:, 1]),
    )
    long, wide = 1e3 * (plan.stack.x[0][-1] - plan.stack.x[0][0]), 2e3 * plan.stack.r[0].max()
    if flange := plan.job.mould.flange:
        long += 1e3 * flange.thickness.value
        wide = 1e3 * flange.diameter.value
    assert np.ptp(mould.points[:, 0]) == pytest.approx(scale * long, abs=0.01)
    assert np.ptp(mould.points[:, 1]) == pytest.approx(scale * wide, abs=0.01)
    everything = np.concatenate([each.points for each in paths])
    assert np.all((everything > 5.0) & (everything < np.array(size) - 5.0))


def lines_on(plan: Plan, layer: str) -> list[Array]:
    """Polylines of a layer, closed ones too, (n, 2) in mm."""
    content = write_section_dxf(plan).decode("utf-8")
    space = ezdxf.filemanagement.read(io.StringIO(content)).modelspace()
    return [
        np.array([point[:2] for point in entity])
        for entity in space.query("LWPOLYLINE")
        if isinstance(entity, LWPolyline) and entity.dxf.layer == layer
    ]


def test_holes_joint_and_dowels_stand_where_the_job_says() -> None:
    """The nose: stated sizes in the finished mould, from its own file of the example."""
    plan = plan_of(next(path for path in EXAMPLES if path.stem == "plover-nose"))
    face = 1e3 * (plan.shape.stop - plan.shape.tip)
    holes = lines_on(plan, "HOLES")
    rod = [line for line in holes if abs(abs(line[0, 1]) - 5.1) < 1e-6]
    assert len(rod) == 2
    long = 1e3 * (plan.stack.x[0][-1] - plan.stack.x[0][0])
    for line in rod:  # through mould and flange of 8 mm, from end to end
        assert np.ptp(line[:, 0]) == pytest.approx(long + 8.0)
    in_flange = [line for line in holes if line[:, 0].min() > face - 1e-3]
    middles = {round(float(line[:, 1].mean()), 1) for line in in_flange}
    assert len(in_flange) == 2  # halves of the one screw of three that lies in the plane
    for line in in_flange:
        assert np.ptp(line[:, 0]) == pytest.approx(8.0, abs=1e-6)
        assert np.ptp(line[:, 1]) == pytest.approx(2.5, abs=1e-6)  # half the tap drill of M6
    assert min(middles) > 1e3 * plan.stack.r[0][-1]
    (joint,) = plan.segments.joints
    at = 1e3 * (plan.shape.base - plan.shape.tip - joint.from_base)
    drawn = lines_on(plan, "JOINTS")
    (cut,) = [line for line in drawn if len(line) == 2]
    assert cut[:, 0] == pytest.approx([at, at], abs=1e-3)
    pins = [line for line in drawn if len(line) > 2]
    assert len(pins) == 4  # halves of a pin and of its socket
    widest = sorted({round(float(np.ptp(line[:, 1])), 3) for line in pins})
    assert widest[0] == pytest.approx(5.0, abs=1e-3)  # half of a pin of 10 mm
    assert all(line[:, 0].max() == pytest.approx(at, abs=1e-3) for line in pins)  # upwards: tip


SHEETS = ((297.0, 210.0), (420.0, 297.0))  # ISO 216, laid across


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_example_builds_without_a_stop(path: Path, tmp_path: Path) -> None:
    plan = plan_of(path)
    assert plan.stops == []
    written = build(plan, tmp_path / "out", lambda name: None)
    assert {"patterns.pdf", "section.dxf", "section.pdf"} <= set(written)
