"""A flight history: a large table of numbers beside the job, read quickly and put in order.

numpy's own reader takes the numbers in one go; where that stumbles the rows are gone through one
by one to name the row and the column. An empty cell or NaN is a gap.
"""

from __future__ import annotations

import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.flying import KINDS, Column, History
from mandrelwright.job.rows import cells_of, head_of, number_of, refused, rows_of
from mandrelwright.job.shelf import nearest
from mandrelwright.job.values import InputError
from mandrelwright.quantities import UNITS

Array = NDArray[np.float64]

MOST_BYTES, BLOCK = 1_000_000_000, 1 << 20
LEAST_ROWS = 3
GAP = 10.0  # times the usual step between two rows counts as a gap
LIMITS = {
    "time": (-1e6, 1e7),
    "speed": (-3000.0, 3000.0),
    "altitude": (-1000.0, 100e3),
    "acceleration": (-20e3, 20e3),
    "angle_of_attack": (-np.pi, np.pi),
    "lateral": (-20e3, 20e3),
}  # SI


@dataclass(frozen=True)
class Track:
    """Rows in order of time (row,), SI; what was done to them is told.

    gaps: stretches (s, s) in which rows are missing; moved: rows out of order; doubled: rows
    at a time that was there already, dropped; filled: cells without a number, drawn straight.
    """

    time: Array
    speed: Array
    altitude: Array
    acceleration: Array | None = None
    angle_of_attack: Array | None = None
    lateral: Array | None = None
    gaps: tuple[tuple[float, float], ...] = ()
    moved: int = 0
    doubled: int = 0
    filled: int = 0


def read_track(path: Path, history: History) -> Track:
    """The columns that the job declares, from a CSV file whose first line names its columns.

    Fields part at comma, semicolon or tab; decimals take a point; lines that begin with # before
    the head are passed over. Rows are sorted by time. Raises InputError naming row and column.
    """
    skipped, head, mark = head_of(path, MOST_BYTES, "its first line names the columns")
    names = cells_of(head, mark)
    wanted = _wanted(path, history, names)
    used = [at for _, _, at in wanted]
    table = _numbers(path, mark, skipped, used, len(names))
    if table is None:
        table = _slowly(path, mark, names, used, skipped)
    return _ordered(path, table, wanted, skipped)


def _wanted(path: Path, history: History, names: Sequence[str]) -> list[tuple[str, Column, int]]:
    """The declared columns: key, declaration, and where it stands in a row."""
    wanted = []
    for key in KINDS:
        column: Column | None = getattr(history, key)
        if column is None:
            continue
        if names.count(column.column) != 1:
            how = "twice" if column.column in names else "not at all"
            raise InputError(
                f'{path.name} names the column "{column.column}" {how}',
                f"its first line has {', '.join(names[:12])}. "
                + nearest(column.column, dict.fromkeys(names)),
                (key, "column"),
            )
        wanted.append((key, column, names.index(column.column)))
    return wanted


def _numbers(
    path: Path, mark: str, skipped: int, used: Sequence[int], columns: int
) -> Array | None:
    """The used columns (column, row) at once; None where anything is no number or is missing."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)  # a table without rows
        try:
            table = np.loadtxt(path, delimiter=mark, skiprows=skipped, usecols=used, ndmin=2)
        except ValueError:
            return None
    if _marks(path, mark, skipped) != len(table) * (columns - 1):
        return None  # a cell too many: a decimal comma would shift the columns unseen
    return np.ascontiguousarray(table.T)


def _marks(path: Path, mark: str, skipped: int) -> int:
    """How often the mark stands after the head."""
    with path.open("rb") as file:
        for _ in range(skipped):
            file.readline()
        return sum(block.count(mark.encode()) for block in iter(lambda: file.read(BLOCK), b""))


def _slowly(
    path: Path, mark: str, names: Sequence[str], used: Sequence[int], skipped: int
) -> Array:
    """The same row by row: a cell that is empty or says NaN is a gap, anything else that is no
    number is refused with its row and column.
    """
    rows = [
        [_number(path, number, names[at], cells[at]) for at in used]
        for number, cells in rows_of(path, skipped, mark, names)
    ]
    return np.array(rows, float).reshape(-1, len(used)).T


def _number(path: Path, row: int, name: str, cell: str) -> float:
    if cell.lower() in ("", "nan"):
        return float("nan")
    try:
        value = float(cell)
    except ValueError:
        value = float("inf")
    if not np.isfinite(value):
        raise refused(
            path, row, f'"{cell[:20]}" is no number',
            "correct it, or leave the cell empty where nothing was read", name,
        )  # fmt: skip
    return value


def _ordered(
    path: Path, table: Array, wanted: list[tuple[str, Column, int]], skipped: int
) -> Track:
    """SI columns in order of time, gaps found, empty cells filled."""
    columns = {
        key: _si(values, key, column)
        for (key, column, _), values in zip(wanted, table, strict=True)
    }
    _within(path, columns, {key: column.column for key, column, _ in wanted}, skipped)
    time = columns["time"]
    known = np.isfinite(time)
    filled = int(np.count_nonzero(~known))
    if filled:
        columns = {key: values[known] for key, values in columns.items()}
        time = columns["time"]
    moved = doubled = 0
    if np.any(np.diff(time) <= 0.0):
        moved = int(np.count_nonzero(np.diff(time) < 0.0))
        order = np.argsort(time, kind="stable")
        order = order[np.concatenate(([True], np.diff(time[order]) > 0.0))]
        doubled = len(time) - len(order)
        columns = {key: values[order] for key, values in columns.items()}
        time = columns["time"]
    if len(time) < LEAST_ROWS:
        raise InputError(
            f"{path.name} has {len(time)} rows with a time, fewer than {LEAST_ROWS}",
            "log the whole flight",
        )
    for key in columns:
        columns[key], empty = _filled(path, key, time, columns[key])
        filled += empty
    return Track(**columns, gaps=_gaps(time), moved=moved, doubled=doubled, filled=filled)


def _si(values: Array, key: str, column: Column) -> Array:
    factor = float(UNITS[KINDS[key]][column.unit])
    return values if factor == 1.0 else np.asarray(values * factor)


def _within(path: Path, columns: dict[str, Array], names: dict[str, str], skipped: int) -> None:
    """Refuse a number that no rocket reaches: most often the unit is another."""
    for key, values in columns.items():
        least, most = LIMITS[key]
        if values.size and (np.fmin.reduce(values) < least or np.fmax.reduce(values) > most):
            row = int(np.argmax((values < least) | (values > most)))
            what = f"{values[row]:.4g} in SI units is outside {least:.4g} to {most:.4g}"
            remedy = "look for a slip, or for another unit than the one declared"
            number = number_of(path, skipped, row)
            raise refused(path, number, what, remedy, names[key], (key, "unit"))


def _filled(path: Path, key: str, time: Array, values: Array) -> tuple[Array, int]:
    """Empty cells drawn straight between their neighbours, and how many there were."""
    known = np.isfinite(values)
    empty = int(np.count_nonzero(~known))
    if empty == 0:
        return values, 0
    if empty > 0.5 * len(values):
        raise InputError(
            f"{path.name} has no number in most rows", "declare another column", (key,)
        )
    return np.interp(time, time[known], values[known]), empty


def _gaps(time: Array) -> tuple[tuple[float, float], ...]:
    """Where the step between two rows is over ten times the usual one."""
    steps = np.diff(time)
    wide = np.flatnonzero(steps > GAP * np.median(steps))
    return tuple((float(time[row]), float(time[row + 1])) for row in wide)
