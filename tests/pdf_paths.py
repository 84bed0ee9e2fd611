"""Paths of a PDF page in millimetres from its top left corner, read from its content stream."""

from __future__ import annotations

import io
from dataclasses import dataclass

import numpy as np
import pypdf
from numpy.typing import NDArray
from pypdf.generic import ContentStream

Array = NDArray[np.float64]

POINT = 25.4 / 72.0  # mm


@dataclass(frozen=True)
class Path:
    """A stroked path: points (n, 2) in mm, y down; width in mm; whether it is dashed."""

    points: Array
    width: float
    dashed: bool


def pages(content: bytes) -> list[tuple[tuple[float, float], list[Path], str]]:
    """Size in mm, stroked paths and text of every page."""
    reader = pypdf.PdfReader(io.BytesIO(content))
    return [
        (
            (float(page.mediabox.width) * POINT, float(page.mediabox.height) * POINT),
            paths(page, float(page.mediabox.height)),
            page.extract_text(),
        )
        for page in reader.pages
    ]


def paths(page: pypdf.PageObject, height: float) -> list[Path]:
    """Every path that is stroked, by the operators of ISO 32000-1, 8.4 and 8.5."""
    found: list[Path] = []
    matrix, width, dash = np.eye(3), 1.0, False
    stack = []
    runs: list[list[Array]] = []
    for operands, operator in ContentStream(page.get_contents(), page.pdf).operations:
        values = [float(each) for each in operands if isinstance(each, (int, float))]
        if operator == b"q":
            stack.append((matrix, width, dash))
        elif operator == b"Q":
            matrix, width, dash = stack.pop()
        elif operator == b"cm":
            a, b, c, d, e, f = values
            matrix = np.array([[a, b, 0.0], [c, d, 0.0], [e, f, 1.0]]) @ matrix
        elif operator == b"w":
            width = values[0]
        elif operator == b"d":
            dash = len(operands[0]) > 0
        elif operator == b"m":
            runs.append([_at(values, matrix)])
        elif operator == b"l":
            runs[-1].append(_at(values, matrix))
        elif operator in (b"c", b"v", b"y", b"re"):
            raise AssertionError(f"no curve or rectangle was expected, got {operator!r}")
        elif operator == b"h":
            runs[-1].append(runs[-1][0])
        elif operator in (b"S", b"n", b"f", b"W"):
            if operator == b"S":
                for run in runs:
                    points = np.array(run) * POINT
                    points[:, 1] = height * POINT - points[:, 1]
                    found.append(Path(points, width * POINT, dash))
            runs = []
    return found


def _at(values: list[float], matrix: Array) -> Array:
    return np.asarray((np.array([*values, 1.0]) @ matrix)[:2])
