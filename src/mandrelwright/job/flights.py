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
from mandrelwright.job.shelf import nearest
from mandrelwright.job.values import InputError
from mandrelwright.quantities import UNITS

Array = NDArray[np.float64]

MOST_BYTES = 1_000_000_000
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
    skipped, head = _head(path)
    mark = next((mark for mark in ";\t" if mark in head), ",")
    names = [cell.strip().strip('"') for cell in head.split(mark)]
    wanted = _wanted(path, history, names)
    used = [at for _, _, at in wanted]
    table = _numbers(path, mark, skipped, used)
    if table is None:
        table = _slowly(path, mark, names, used, skipped)
    return _ordered(path, table, wanted, skipped)


def _head(path: Path) -> tuple[int, str]:
    """How many lines there are up to and with the head, and the head."""
    try:
        if path.stat().st_size > MOST_BYTES:
            raise InputError("is larger than 1 GB", "thin it to a hundred rows a second")
        with path.open(encoding="utf-8-sig") as file:
            for number, line in enumerate(file, 1):
                if line.strip() and not line.lstrip().startswith("#"):
                    return number, line.strip()
    except OSError as error:
        raise InputError(f"cannot be read ({error.strerror})", "make it readable") from None
    except UnicodeDecodeError:
        raise InputError(
            f"cannot be used: {path.name} is not UTF-8 text", "save it as CSV, UTF-8"
        ) from None
    raise InputError(f"cannot be used: {path.name} is empty", "its first line names the columns")


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


def _numbers(path: Path, mark: str, skipped: int, used: Sequence[int]) -> Array | None:
    """The used columns (column, row) at once; None where anything is no number or is missing."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)  # a table without rows
        try:
            table = np.loadtxt(path, delimiter=mark, skiprows=skipped, usecols=used, ndmin=2)
        except ValueError:
            return None
    return np.ascontiguousarray(table.T)


def _slowly(
    path: Path, mark: str, names: Sequence[str], used: Sequence[int], skipped: int
) -> Array:
    """The same row by row: a cell that is empty or says NaN is a gap, anything else that is no
    number is refused with its row and column.
    """
    rows = []
    for number, line in enumerate(path.read_bytes().decode("utf-8", "replace").splitlines(), 1):
        if number <= skipped or not line.strip() or line.lstrip().startswith("#"):
            continue
        cells = line.split(mark)
        if len(cells) != len(names):
            raise InputError(
                f"{path.name}, row {number}: has {len(cells)} values for {len(names)} columns",
                "one value each; decimals take a point",
            )
        rows.append([_number(path, number, names[at], cells[at]) for at in used])
    return np.array(rows, float).reshape(-1, len(used)).T


def _number(path: Path, row: int, name: str, cell: str) -> float:
    text = cell.strip().strip('"')
    if text.lower() in ("", "nan"):
        return float("nan")
    try:
        value = float(text)
    except ValueError:
        value = float("inf")
    if not np.isfinite(value):
        raise InputError(
            f'{path.name}, row {row}, column {name}: "{text[:20]}" is no number',
            "correct it, or leave the cell empty where nothing was read",
        )
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
        if np.fmin.reduce(values) < least or np.fmax.reduce(values) > most:
            row = int(np.argmax((values < least) | (values > most)))
            raise InputError(
                f"{path.name}, row {row + skipped + 1}, column {names[key]}: {values[row]:.4g} in "
                f"SI units is outside {least:.4g} to {most:.4g}",
                "look for a slip, or for another unit than the one declared",
                (key, "unit"),
            )


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
