"""Points of a scan from a file: STL, text or binary, or rows of x, y, z."""

from __future__ import annotations

import warnings
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.values import InputError

Array = NDArray[np.float64]

TEXTS = (".xyz", ".txt", ".asc")
SCANS = (".stl", *TEXTS)
MOST_BYTES = 1_000_000_000
HEAD = 84  # bytes before the first triangle of a binary STL
TRIANGLE = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("more", "<u2")])
UNITS = {"mm": 1e-3, "cm": 1e-2, "m": 1.0, "in": 0.0254}


def read_points(path: Path, unit: str) -> Array:
    """Points of a scan, (n, 3) in m: each corner of an STL once, or each row of a text file.

    unit: "mm", "cm", "m" or "in", since neither kind of file says it.
    Raises InputError for a file that cannot be read or holds no points, with the row at fault.
    """
    if unit not in UNITS:
        raise InputError(f'"{unit}" is no unit of a scan', f"state one of {', '.join(UNITS)}")
    suffix = path.suffix.lower()
    if suffix not in SCANS:
        known = ", ".join(SCANS)
        raise InputError(f"{path.name} is no scan that can be read", f"give one of {known}")
    try:
        if path.stat().st_size > MOST_BYTES:
            raise InputError(f"{path} is larger than 1 GB", "thin the scan out to 2 million points")
        points = _stl(path) if suffix == ".stl" else _rows(path)
    except OSError as error:
        raise InputError(f"{path} cannot be read ({error.strerror})", "check the path") from None
    if not len(points) or not np.isfinite(points).all():
        raise InputError(f"{path} holds no finite points", "export the scan again")
    return np.asarray(points, float) * UNITS[unit]


def _stl(path: Path) -> Array:
    """Corners of a binary or text STL, each once."""
    content = path.read_bytes()
    count = int.from_bytes(content[80:HEAD], "little") if len(content) >= HEAD else -1
    if len(content) == HEAD + count * TRIANGLE.itemsize:
        corners = np.frombuffer(content, TRIANGLE, offset=HEAD)["corners"].reshape(-1, 3)
    elif content.lstrip()[:5] == b"solid":
        corners = _text_corners(path, content)
    else:
        raise InputError(f"{path} is cut short or no STL", "export the scan again")
    whole = np.ascontiguousarray(corners, "<f4")
    once = np.unique(whole.view("V12"))
    return np.asarray(once.view("<f4").reshape(-1, 3), float)


def _text_corners(path: Path, content: bytes) -> Array:
    words = [line.split()[1:] for line in content.splitlines() if line.split()[:1] == [b"vertex"]]
    try:
        return np.array(words, float).reshape(-1, 3)
    except ValueError:
        raise InputError(
            f"{path}: a vertex is not three numbers", "export the scan again"
        ) from None


def _rows(path: Path) -> Array:
    """First three columns of a text file; lines that begin with # are passed over."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", UserWarning)  # an empty file is told below
            return np.loadtxt(path, usecols=(0, 1, 2), ndmin=2)
    except (ValueError, UnicodeDecodeError) as error:
        remedy = "write x, y, z in each row, with blanks between them"
        raise InputError(f"{path}: {error}", remedy) from None
