"""Scan files as another library writes them, and files that are none."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import trimesh

from mandrelwright.job.values import InputError
from mandrelwright.shop.points import read_points


@pytest.fixture(scope="module")
def tube() -> trimesh.Trimesh:
    """A plain cylinder of 98.4 mm, in mm, by a library that is not ours."""
    return trimesh.creation.cylinder(radius=49.2, height=200.0, sections=400)


@pytest.mark.parametrize("kind", ["stl", "stl_ascii"])
def test_every_corner_of_an_stl_comes_once_and_in_metres(
    tube: trimesh.Trimesh, kind: str, tmp_path: Path
) -> None:
    path = tmp_path / "tube.STL"
    tube.export(path, file_type=kind)
    points = read_points(path, "mm")
    assert len(points) == len(tube.vertices)
    order = np.lexsort(points.T), np.lexsort(tube.vertices.T)
    ours, theirs = points[order[0]].max(axis=0), tube.vertices[order[1]].max(axis=0) * 1e-3
    assert ours == pytest.approx(theirs, rel=1e-6)  # the file holds single precision


@pytest.mark.parametrize(
    ("name", "separator"), [("scan.xyz", " "), ("scan.txt", "\t"), ("scan.asc", "  ")]
)
def test_rows_of_three_numbers_are_read_with_whatever_follows(
    name: str, separator: str, tmp_path: Path
) -> None:
    rows = ["# from a scanner", *(separator.join(("1.5", "2", "-3", "255")) for _ in range(3))]
    (tmp_path / name).write_text("\n".join(rows) + "\n", encoding="utf-8")
    points = read_points(tmp_path / name, "in")
    assert points == pytest.approx(np.tile([0.0381, 0.0508, -0.0762], (3, 1)), rel=1e-12)


BAD = {
    "no unit": ("scan.xyz", b"1 2 3\n", "furlong", "no unit of a scan"),
    "another kind": ("scan.obj", b"v 1 2 3\n", "mm", "no scan that can be read"),
    "cut short": ("scan.stl", bytes(84) + b"\x01", "mm", "cut short"),
    "two columns": ("scan.xyz", b"1 2 3\n4 5\n", "mm", "scan.xyz"),
    "words": ("scan.xyz", b"1 2 three\n", "mm", "row"),
    "not finite": ("scan.xyz", b"1 2 nan\n", "mm", "no finite points"),
    "text vertex": ("scan.stl", b"solid a\nvertex 1 2\nendsolid", "mm", "three numbers"),
}


@pytest.mark.parametrize("name", BAD)
def test_what_is_no_scan_is_refused_with_the_reason(name: str, tmp_path: Path) -> None:
    file, content, unit, says = BAD[name]
    (tmp_path / file).write_bytes(content)
    with pytest.raises(InputError, match=says):
        read_points(tmp_path / file, unit)


def test_a_missing_or_empty_scan_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be read"):
        read_points(tmp_path / "none.stl", "mm")
    (tmp_path / "empty.stl").write_bytes(b"solid a\nendsolid a\n")
    with pytest.raises(InputError, match="no finite points"):
        read_points(tmp_path / "empty.stl", "mm")
