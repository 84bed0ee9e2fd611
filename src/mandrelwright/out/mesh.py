"""Write triangle meshes as binary STL and as 3MF, the same bytes for the same mesh."""

from __future__ import annotations

import zipfile
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape, quoteattr

import numpy as np
from numpy.typing import NDArray

from mandrelwright.out.files import replacing
from mandrelwright.out.solid import Mesh

Texts = NDArray[np.bytes_]

CHUNK = 1 << 13  # rows worked on at a time: what fits the processor's cache
STL_TITLE = b"binary STL, millimetres".ljust(80)  # never starts with "solid": that means text
STL_RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])

DECIMALS = 5  # of a coordinate in a 3MF: 10 nm, a third of a float32 step at 300 mm
APART_MM = 10.0  # between objects on the bed
LARGEST_MM = 10.0**4  # four digits before the point
DEFLATE = 1  # zlib level; 6 makes the file an eighth smaller and takes four times as long
ZIP_TIME = (1980, 1, 1, 0, 0, 0)  # the earliest a zip can state; fixed, so bytes repeat

CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
MODEL_RELATION = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
PACKAGE = "http://schemas.openxmlformats.org/package/2006"
PACKAGE_TYPE = "application/vnd.openxmlformats-package.relationships+xml"
MODEL_TYPE = "application/vnd.ms-package.3dmanufacturing-3dmodel+xml"
XML = '<?xml version="1.0" encoding="UTF-8"?>\n'
CONTENT_TYPES = (
    f'{XML}<Types xmlns="{PACKAGE}/content-types">'
    f'<Default Extension="rels" ContentType="{PACKAGE_TYPE}"/>'
    f'<Default Extension="model" ContentType="{MODEL_TYPE}"/></Types>\n'
)
RELATIONSHIPS = (
    f'{XML}<Relationships xmlns="{PACKAGE}/relationships">'
    f'<Relationship Id="model" Type="{MODEL_RELATION}" Target="/3D/3dmodel.model"/>'
    "</Relationships>\n"
)


def write_stl(path: Path, mesh: Mesh) -> None:
    """Write a binary STL in millimetres: an 80-byte title, the count, 50 bytes per triangle.

    Raises OutputError; `path` is then as it was.
    """
    with replacing(path) as file:
        file.write(STL_TITLE)
        file.write(len(mesh.triangles).to_bytes(4, "little"))
        for rows in _chunks(mesh.triangles):
            corners = mesh.vertices_mm[rows]
            record = np.zeros(len(rows), STL_RECORD)
            record["corners"] = corners
            record["normal"] = _normals(corners.astype(float))
            file.write(record.tobytes())


def write_3mf(path: Path, meshes: Mapping[str, Mesh], metadata: Mapping[str, str]) -> None:
    """Write a 3MF in millimetres with one object for each named mesh, all placed as they are.

    `metadata` takes the names of the 3MF core specification, such as Title and Application.
    Coordinates are rounded to 10 nm.  Raises ValueError for a coordinate of 10 m or more, and
    OutputError; `path` is then as it was.
    """
    with replacing(path) as file, zipfile.ZipFile(file, "w") as package:
        _add(package, "[Content_Types].xml", iter([CONTENT_TYPES.encode()]))
        _add(package, "_rels/.rels", iter([RELATIONSHIPS.encode()]))
        _add(package, "3D/3dmodel.model", _model(meshes, metadata))


def _chunks(rows: NDArray[Any]) -> Iterator[NDArray[Any]]:
    return (rows[first : first + CHUNK] for first in range(0, len(rows), CHUNK))


def _normals(corners: NDArray[np.float64]) -> NDArray[np.float64]:
    """Unit normals (n, 3) of triangles (n, 3, 3); zero for one without area."""
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(normal, axis=1, keepdims=True)
    np.divide(normal, length, out=normal, where=length > 0)
    return normal


def _add(package: zipfile.ZipFile, name: str, content: Iterator[bytes]) -> None:
    """Add one compressed entry that says nothing of the time or the machine."""
    entry = zipfile.ZipInfo(name, ZIP_TIME)
    entry.compress_type = zipfile.ZIP_DEFLATED
    entry.create_system = 0
    # No public way to a level for a streamed entry before Python 3.13, which kept this name.
    entry._compresslevel = DEFLATE  # type: ignore[attr-defined]  # see the line above
    with package.open(entry, "w") as stream:
        for piece in content:
            stream.write(piece)


def _model(meshes: Mapping[str, Mesh], metadata: Mapping[str, str]) -> Iterator[bytes]:
    head = f'{XML}<model unit="millimeter" xml:lang="en" xmlns="{CORE}">\n'
    for name, value in metadata.items():
        head += f"<metadata name={_quoted(name)}>{escape(_printable(value))}</metadata>\n"
    yield f"{head}<resources>\n".encode()
    for number, (name, mesh) in enumerate(meshes.items(), start=1):
        yield f'<object id="{number}" type="model" name={_quoted(name)}><mesh>\n'.encode()
        yield from _vertices(mesh)
        yield from _triangles(mesh)
        yield b"</mesh></object>\n"
    yield f"</resources>\n<build>{''.join(_items(meshes))}</build>\n</model>\n".encode()


def _items(meshes: Mapping[str, Mesh]) -> Iterator[str]:
    """Every object once, in a row along x, so that none stands in another."""
    free = 0.0
    for number, mesh in enumerate(meshes.values(), start=1):
        low, high = mesh.vertices_mm.min(axis=0), mesh.vertices_mm.max(axis=0)
        x, y = free - float(low[0]), -float(low[1])
        free += float(high[0] - low[0]) + APART_MM
        yield f'<item objectid="{number}" transform="1 0 0 0 1 0 0 0 1 {x:.3f} {y:.3f} 0"/>'


def _vertices(mesh: Mesh) -> Iterator[bytes]:
    largest = float(np.max(np.abs(mesh.vertices_mm)))
    if not largest < LARGEST_MM:
        raise ValueError(f"a coordinate of {largest:g} mm; a 3MF here takes less than 10 m")
    yield b"<vertices>\n"
    for rows in _chunks(mesh.vertices_mm):
        x, y, z = (_decimals(column) for column in rows.T)
        yield _joined(b'<vertex x="', *x, b'" y="', *y, b'" z="', *z, b'"/>\n')
    yield b"</vertices>\n"


def _triangles(mesh: Mesh) -> Iterator[bytes]:
    numbers = np.arange(len(mesh.vertices_mm)).astype(f"S{len(str(len(mesh.vertices_mm)))}")
    yield b"<triangles>\n"
    for rows in _chunks(mesh.triangles):
        first, second, third = numbers[rows].T
        yield _joined(b'<triangle v1="', first, b'" v2="', second, b'" v3="', third, b'"/>\n')
    yield b"</triangles>\n"


def _decimals(millimetres: NDArray[np.float32]) -> tuple[Texts, Texts, Texts]:
    """Sign, whole part and fraction of each number, as texts filled up with zero bytes."""
    steps = np.rint(millimetres.astype(float) * 10**DECIMALS).astype(np.int64)
    whole, fraction = np.divmod(np.abs(steps), 10**DECIMALS)
    signs = np.array([b"", b"-"])
    return signs[(steps < 0).astype(int)], _whole_texts()[whole], _fraction_texts()[fraction]


@cache
def _whole_texts() -> Texts:
    return np.arange(int(LARGEST_MM) + 1).astype("S5")


@cache
def _fraction_texts() -> Texts:
    texts = [f".{step:0{DECIMALS}d}".rstrip("0").rstrip(".") for step in range(10**DECIMALS)]
    return np.array(texts, dtype=f"S{DECIMALS + 1}")


def _joined(*parts: bytes | Texts) -> bytes:
    """Join constant and varying texts row by row and squeeze out their filling zero bytes."""
    columns = np.broadcast_arrays(*parts)
    table = np.empty(columns[0].shape, [(f"f{i}", c.dtype) for i, c in enumerate(columns)])
    for i, column in enumerate(columns):
        table[f"f{i}"] = column
    return table.tobytes().translate(None, b"\0")


def _printable(text: str) -> str:
    """The text without control characters, which XML cannot hold."""
    return "".join(sign for sign in text if sign.isprintable())


def _quoted(text: str) -> str:
    return quoteattr(_printable(text))
