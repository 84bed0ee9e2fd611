"""Two million triangles to STL and 3MF, side by side with trimesh and lib3mf in one run.

Each writer starts from arrays in memory and ends with a closed file; the best of three rounds
counts.  lib3mf is timed for writing alone, not for taking the mesh over from Python.
"""

import tempfile
import time
import tracemalloc
from collections.abc import Callable
from pathlib import Path

import lib3mf
import numpy as np
import trimesh

from mandrelwright.out.mesh import write_3mf, write_stl
from mandrelwright.out.solid import Mesh

ROUNDS = 3
STL_AIM, THREE_MF_AIM = 1.5, 2.0  # times faster than trimesh, than lib3mf


def torus(side: int = 1000) -> Mesh:
    """A closed torus of 2 side² triangles, 160 mm across."""
    turn = np.linspace(0, 2 * np.pi, side, endpoint=False)
    around, tube = np.meshgrid(turn, turn, indexing="ij")
    reach = 60 + 20 * np.cos(tube)
    vertices = np.stack(
        [reach * np.cos(around), reach * np.sin(around), 20 + 20 * np.sin(tube)], axis=-1
    )
    here = np.arange(side * side).reshape(side, side)
    on, up = np.roll(here, -1, axis=0), np.roll(here, -1, axis=1)
    across = np.roll(on, -1, axis=1)
    triangles = np.concatenate(
        [np.stack([here, on, across], -1), np.stack([here, across, up], -1)]
    ).reshape(-1, 3)
    return Mesh(vertices.reshape(-1, 3).astype(np.float32), triangles)


def write_with_trimesh(path: Path, mesh: Mesh) -> None:
    trimesh.Trimesh(mesh.vertices_mm, mesh.triangles, process=False).export(path)


def lib3mf_model(mesh: Mesh) -> lib3mf.Model:
    """The mesh inside lib3mf, handed over as raw arrays: its own loop takes many seconds."""
    wrapper = lib3mf.get_wrapper()
    model = wrapper.CreateModel()
    body = model.AddMeshObject()
    vertices, triangles = len(mesh.vertices_mm), len(mesh.triangles)
    positions = (lib3mf.Position * vertices).from_buffer_copy(mesh.vertices_mm)
    indices = (lib3mf.Triangle * triangles).from_buffer_copy(mesh.triangles.astype(np.uint32))
    set_geometry = wrapper.lib.lib3mf_meshobject_setgeometry
    wrapper.checkError(body, set_geometry(body._handle, vertices, positions, triangles, indices))
    model.AddBuildItem(body, wrapper.GetIdentityTransform())
    return model


def best(write: Callable[[], None]) -> float:
    """Shortest of a few rounds, s."""
    rounds = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        write()
        rounds.append(time.perf_counter() - start)
    return min(rounds)


def row(what: str, ours: float, theirs: float, other: str, aim: float) -> None:
    print(
        f"{what}: {ours:.2f} s, {other} {theirs:.2f} s: {theirs / ours:.1f} times faster "
        f"(aim {aim:g})"
    )


def peak_mb(write: Callable[[], None]) -> float:
    """Most memory that one write holds at a time, MB."""
    tracemalloc.start()
    write()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak / 1e6


def main() -> None:
    mesh = torus()
    print(f"{len(mesh.triangles):,} triangles, {len(mesh.vertices_mm):,} vertices")
    with tempfile.TemporaryDirectory() as folder:
        stl, three_mf, other = (Path(folder) / name for name in ("a.stl", "a.3mf", "b.3mf"))
        ours = [
            lambda: write_stl(stl, mesh),
            lambda: write_3mf(three_mf, {"torus": mesh}, {"Title": "torus"}),
        ]
        writer = lib3mf_model(mesh).QueryWriter("3mf")
        trimesh_time = best(lambda: write_with_trimesh(stl, mesh))
        lib3mf_time = best(lambda: writer.WriteToFile(str(other)))
        row("STL", best(ours[0]), trimesh_time, "trimesh", STL_AIM)
        row("3MF", best(ours[1]), lib3mf_time, "lib3mf", THREE_MF_AIM)
        print(
            "peak memory beside the mesh: STL {:.0f} MB, 3MF {:.0f} MB".format(*map(peak_mb, ours))
        )
        sizes = [path.stat().st_size / 1e6 for path in (stl, three_mf, other)]
        print("files: STL {:.0f} MB, 3MF {:.0f} MB, lib3mf's 3MF {:.0f} MB".format(*sizes))


if __name__ == "__main__":
    main()
