"""Rings that were smoothed and measured: a small table in a file beside the job."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from mandrelwright.job.rows import cells_of, head_of, refused, rows_of
from mandrelwright.job.shelf import nearest
from mandrelwright.job.values import InputError, Text
from mandrelwright.quantities import UNITS

COLUMNS = ("minutes", "before", "after")
MOST_BYTES = 100_000
MOST_ROWS = 1000
MOST_LOSS = 2e-3  # m, and a ring may have grown by a tenth of it
_TIME = Text("time", "0 min", "60 d", exact=True)
_SIZE = Text("length", "4 mm", "1 m", exact=True)
_HEAD = re.compile(r"\s*(\w+)\s*(?:[(\[]\s*(\w+)\s*[)\]])?\s*")
_EXAMPLE = 'its first line names the columns: "minutes, before (mm), after (mm)"'


@dataclass(frozen=True)
class Coupons:
    """Rings by row: time in the vapour (s), outside diameter before and after (m)."""

    time: tuple[float, ...]
    before: tuple[float, ...]
    after: tuple[float, ...]


def read_coupons(path: Path) -> Coupons:
    """The rings of a CSV file: one row each, columns minutes, before, after, in any order.

    Diameters have their unit in the head of the column or beside each number; fields part at
    comma, semicolon or tab. Empty lines and lines that begin with # are passed over.
    Raises InputError that names the row, what is wrong with it and the remedy.
    """
    first, head, mark = head_of(path, MOST_BYTES, _EXAMPLE)
    heads = _heads(path, first, cells_of(head, mark))
    names = [name for name, _ in heads]
    rows = [_row(path, number, cells, heads) for number, cells in rows_of(path, first, mark, names)]
    _enough(path, [row[0] for row in rows])
    time, before, after = zip(*rows, strict=True)
    return Coupons(time, before, after)


def _heads(path: Path, line: int, cells: list[str]) -> list[tuple[str, str]]:
    """Column and unit of each head; every column once."""
    heads = []
    for cell in cells:
        match = _HEAD.fullmatch(cell)
        name, unit = (match[1].lower(), match[2] or "") if match else (cell, "")
        if name not in COLUMNS:
            close = nearest(name, dict.fromkeys(COLUMNS))
            raise refused(path, line, f'"{cell}" is no column', close)
        if unit and unit not in UNITS["time" if name == "minutes" else "length"]:
            raise refused(path, line, f'"{unit}" is no unit of {name}', _EXAMPLE)
        heads.append((name, unit))
    names = [name for name, _ in heads]
    if sorted(names) != sorted(COLUMNS):
        raise refused(path, line, f"has the columns {', '.join(names)}", _EXAMPLE)
    return heads


def _row(
    path: Path, line: int, cells: list[str], heads: list[tuple[str, str]]
) -> tuple[float, float, float]:
    """Time (s), diameter before and after (m) of one line."""
    told = {}
    for cell, (name, unit) in zip(cells, heads, strict=True):
        kind, unit = (_TIME, unit or "min") if name == "minutes" else (_SIZE, unit)
        text = f"{cell} {unit}" if unit and re.fullmatch(r"[\s\d.eE+−-]*", cell) else cell
        try:
            told[name] = kind.quantity(text).value
        except InputError as error:
            raise refused(path, line, f'"{cell}" {error.limit}', error.remedy, name) from None
    loss = told["before"] - told["after"]
    if not -0.1 * MOST_LOSS <= loss <= MOST_LOSS:
        raise refused(
            path,
            line,
            f"loses {loss * 1e3:.2f} mm, outside -0.2 to 2 mm",
            "look for a slip of the pen, or for before and after the wrong way round",
        )
    return told["minutes"], told["before"], told["after"]


def _enough(path: Path, times: list[float]) -> None:
    """Refuse what no line can be laid through."""
    need = 3 if len(set(times)) > 1 else 2
    if len(times) < need:
        raise InputError(
            f"cannot be used: {path.name} has {len(times)} row{'s' * (len(times) != 1)}",
            "smooth and measure at least three rings, or two of one time",
        )
    if len(times) > MOST_ROWS:
        raise InputError(f"cannot be used: {path.name} has more than {MOST_ROWS} rows", _EXAMPLE)
    if max(times) == 0.0:
        raise InputError(
            f"cannot be used: {path.name} holds no ring that was in the vapour",
            "smooth rings for about the mould's own time",
        )
