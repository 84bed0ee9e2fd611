"""The files, read back by trimesh and by the strict reader of lib3mf."""

import hashlib
import re
import subprocess
import sys
import zipfile
from pathlib import Path

import lib3mf
import numpy as np
import pytest
import trimesh

from mandrelwright.out.mesh import write_3mf, write_stl
from mandrelwright.out.solid import Mesh, volume, weld

METADATA = {"Title": 'Plover <nose> & "skirt" é', "Application": "mandrelwright"}
# 3MF Core Specification 1.x, schema: ST_Number (from memory).
NUMBER = re.compile(r"[-+]?(\d+(\.\d+)?|\.\d+)(e[-+]?\d+)?", re.I)


@pytest.fixture(scope="module")
def mesh() -> Mesh:
    """A ring with a cone on it, made by trimesh and not by the code under test."""
    ring = trimesh.creation.annulus(r_min=5.1, r_max=49.0, height=120.0, sections=200)
    return weld(ring.vertices.astype(np.float32), ring.faces.astype(np.int64))


def read_strictly(path: Path) -> tuple[lib3mf.Model, list[lib3mf.MeshObject]]:
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(path))
    assert [reader.GetWarning(i) for i in range(reader.GetWarningCount())] == []
    found, objects = model.GetMeshObjects(), []
    while found.MoveNext():
        objects.append(found.GetCurrentMeshObject())
    return model, objects


def arrays(body: lib3mf.MeshObject) -> tuple[np.ndarray, np.ndarray]:
    vertices = np.array([list(v.Coordinates) for v in body.GetVertices()])
    return vertices, np.array([list(t.Indices) for t in body.GetTriangleIndices()])


def test_stl_is_read_by_trimesh(tmp_path: Path, mesh: Mesh) -> None:
    path = tmp_path / "mould.stl"
    write_stl(path, mesh)
    assert path.stat().st_size == 84 + 50 * len(mesh.triangles)
    seen = trimesh.load_mesh(path)
    assert seen.is_watertight
    assert seen.is_winding_consistent
    assert seen.volume * 1e-9 == pytest.approx(volume(mesh), rel=1e-12)
    np.testing.assert_array_equal(seen.triangles, mesh.vertices_mm[mesh.triangles])


def test_stl_normals_are_unit_and_those_of_trimesh(tmp_path: Path, mesh: Mesh) -> None:
    path = tmp_path / "mould.stl"
    write_stl(path, mesh)
    record = [("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")]
    normals = np.fromfile(path, record, offset=84)["normal"]
    judged = trimesh.Trimesh(mesh.vertices_mm, mesh.triangles, process=False)
    np.testing.assert_allclose(normals, judged.face_normals, atol=1e-6)
    assert not path.read_bytes().startswith(b"solid")


def test_stl_of_a_triangle_without_area_has_a_zero_normal(tmp_path: Path) -> None:
    line = Mesh(np.array([[0, 0, 0], [1, 0, 0], [2, 0, 0]], np.float32), np.array([[0, 1, 2]]))
    write_stl(tmp_path / "line.stl", line)
    assert (tmp_path / "line.stl").read_bytes()[84:96] == bytes(12)


def test_3mf_is_read_without_a_warning(tmp_path: Path, mesh: Mesh) -> None:
    path = tmp_path / "mould.3mf"
    write_3mf(path, {"mould": mesh}, METADATA)
    model, (body,) = read_strictly(path)
    assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter
    assert body.GetName() == "mould"
    assert body.IsManifoldAndOriented()
    vertices, triangles = arrays(body)
    np.testing.assert_array_equal(triangles, mesh.triangles)
    np.testing.assert_allclose(vertices, mesh.vertices_mm, rtol=1e-7, atol=5e-6)
    judged = trimesh.Trimesh(vertices, triangles, process=False)
    assert judged.is_watertight
    assert judged.volume * 1e-9 == pytest.approx(volume(mesh), rel=1e-7)
    group = model.GetMetaDataGroup()
    written = [group.GetMetaData(i) for i in range(group.GetMetaDataCount())]
    assert {entry.GetName(): entry.GetValue() for entry in written} == METADATA


def test_3mf_holds_every_named_mesh_once(tmp_path: Path, mesh: Mesh) -> None:
    path = tmp_path / "aids.3mf"
    moved = Mesh(mesh.vertices_mm + np.float32(100), mesh.triangles)
    write_3mf(path, {'ring "99 mm" <a&b>': mesh, "ring 50 mm": moved}, {})
    model, bodies = read_strictly(path)
    assert [body.GetName() for body in bodies] == ['ring "99 mm" <a&b>', "ring 50 mm"]
    items, count = model.GetBuildItems(), 0
    while items.MoveNext():
        count += 1
    assert count == 2
    assert arrays(bodies[1])[0][:, :2].min() == pytest.approx(100 - 49.0, abs=0.02)


def test_control_characters_cannot_break_the_xml(tmp_path: Path, mesh: Mesh) -> None:
    path = tmp_path / "odd.3mf"
    write_3mf(path, {"a\x00b\x1bc": mesh}, {"Title": "x\ud800y\nz"})
    model, (body,) = read_strictly(path)
    assert body.GetName() == "abc"
    assert model.GetMetaDataGroup().GetMetaData(0).GetValue() == "xyz"


def test_coordinates_are_written_to_ten_nanometres(tmp_path: Path) -> None:
    random = np.random.default_rng(11)
    values = np.concatenate(
        [
            [0.0, -0.0, 1e-6, -4e-6, 5e-6, -6e-6, 0.1, -0.1, 1.0, -10.0, 9999.999, -9999.999],
            *(random.uniform(-scale, scale, 400) for scale in (1e-4, 0.1, 1, 100, 9999)),
        ]
    ).astype(np.float32)
    values = np.resize(values, (len(values) // 3, 3))
    path = tmp_path / "numbers.3mf"
    write_3mf(path, {"numbers": Mesh(values, np.array([[0, 1, 2]]))}, {})
    text = zipfile.ZipFile(path).read("3D/3dmodel.model").decode()
    rows = re.findall(r'<vertex x="([^"]*)" y="([^"]*)" z="([^"]*)"/>', text)
    assert all(NUMBER.fullmatch(number) for row in rows for number in row)
    assert not any(re.search(r"^-0$|\.0*$", number) for row in rows for number in row)
    difference = np.array(rows, dtype=float) - values
    assert np.max(np.abs(difference)) <= 0.5e-5 + 1e-12


@pytest.mark.parametrize("value", [10000.0, -12345.0, np.inf, np.nan])
def test_a_coordinate_of_ten_metres_is_refused(tmp_path: Path, value: float) -> None:
    mesh = Mesh(np.array([[0, 0, 0], [1, 0, 0], [0, value, 0]], np.float32), np.array([[0, 1, 2]]))
    with pytest.raises(ValueError, match="less than 10 m"):
        write_3mf(tmp_path / "far.3mf", {"far": mesh}, {})
    assert list(tmp_path.iterdir()) == []


ROOT = Path(__file__).parents[2]
WRITE_AGAIN = """
import sys
from pathlib import Path
import numpy as np
from mandrelwright.out.mesh import write_3mf, write_stl
from mandrelwright.stages.print import PrintForm
from mandrelwright.out.segments import make_whole as make_solid
folder = Path(sys.argv[1])
height = np.linspace(0, 0.3, 300)
form = PrintForm(height, 0.049 - 0.2 * height**2, (0.065, 0.008), 0.0102, 0.003)
mesh = make_solid(form)
write_stl(folder / "a.stl", mesh)
write_3mf(folder / "a.3mf", {"mould": mesh}, {"Title": "Plover nose"})
"""


def test_bytes_are_the_same_in_another_process_and_time_zone(tmp_path: Path) -> None:
    seen = set()
    for zone, seed in (("UTC", "1"), ("Pacific/Auckland", "2")):
        folder = tmp_path / seed
        folder.mkdir()
        command = [sys.executable, "-c", WRITE_AGAIN, str(folder)]
        subprocess.run(
            command,
            check=True,
            cwd=ROOT,
            env={"TZ": zone, "PYTHONHASHSEED": seed, "PYTHONPATH": "."},
        )
        seen.add(
            tuple(hashlib.sha256((folder / n).read_bytes()).digest() for n in ("a.stl", "a.3mf"))
        )
    assert len(seen) == 1


def test_the_package_states_no_time_and_no_machine(tmp_path: Path, mesh: Mesh) -> None:
    write_3mf(tmp_path / "mould.3mf", {"mould": mesh}, {})
    entries = zipfile.ZipFile(tmp_path / "mould.3mf").infolist()
    names = ["[Content_Types].xml", "_rels/.rels", "3D/3dmodel.model"]
    assert [entry.filename for entry in entries] == names
    assert {entry.date_time for entry in entries} == {(1980, 1, 1, 0, 0, 0)}
    assert {entry.create_system for entry in entries} == {0}
