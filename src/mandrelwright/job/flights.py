"""A flight history: a large table of numbers beside the job, read quickly and put in order.

The numbers are read by numpy's own reader of separated text in one go; where that stumbles the
rows are gone through one by one to name the row and the column. An empty cell or NaN is a gap.
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
from mandrelwright.quantities import UNITS, ZERO

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
    content = _content(path)
    skipped, head, body = _head(path, content)
    mark = next((mark for mark in (b";", b"\t") if mark in head), b",")
    names = [cell.strip().strip('"') for cell in head.decode("utf-8-sig").split(mark.decode())]
    wanted = _wanted(path, history, names)
    table = _numbers(body, mark, len(names))
    if table is None:
        table = _slowly(path, body, mark, names, [at for _, _, at in wanted], skipped)
    return _ordered(path, table, wanted, names, skipped)


def _content(path: Path) -> bytes:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise InputError("is larger than 1 GB", "thin it to a hundred rows a second")
        return path.read_bytes()
    except OSError as error:
        raise InputError(f"cannot be read ({error.strerror})", "make it readable") from None


def _head(path: Path, content: bytes) -> tuple[int, bytes, bytes]:
    """How many lines up to and with the head, the head, and the rest."""
    number, start = 0, 0
    while start < len(content):
        stop = content.find(b"\n", start)
        stop = len(content) if stop < 0 else stop
        line = content[start:stop].strip()
        number, start = number + 1, stop + 1
        if line and not line.startswith(b"#"):
            try:
                line.decode("utf-8-sig")
            except UnicodeDecodeError:
                raise InputError(
                    f"cannot be used: {path.name} is not UTF-8 text", "save it as CSV, UTF-8"
                ) from None
            return number, line, content[start:]
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


def _numbers(body: bytes, mark: bytes, columns: int) -> Array | None:
    """All numbers (row, column) at once; None where anything is no number or is missing."""
    if not body.strip():
        return np.zeros((0, columns))
    text = body.rstrip().replace(b"\r", b"")
    rows = text.count(b"\n") + 1
    if text.count(mark) != rows * (columns - 1):
        return None
    with warnings.catch_warnings():
        warnings.simplefilter("error", DeprecationWarning)
        try:
            flat = np.fromstring(text.replace(b"\n", mark).decode("ascii"), sep=mark.decode())
        except (DeprecationWarning, ValueError):
            return None
    if len(flat) != rows * columns or not np.isfinite(flat).all():
        return None
    return flat.reshape(rows, columns)


def _slowly(
    path: Path, body: bytes, mark: bytes, names: Sequence[str], used: Sequence[int], skipped: int
) -> Array:
    """Row by row: a cell that is empty or says NaN is a gap, anything else that is no number
    is refused with its row and column."""
    rows = []
    for number, line in enumerate(body.splitlines(), skipped + 1):
        if not line.strip() or line.lstrip().startswith(b"#"):
            continue
        cells = line.split(mark)
        if len(cells) != len(names):
            raise InputError(
                f"{path.name}, row {number}: has {len(cells)} values for {len(names)} columns",
                "one value each; decimals take a point",
            )
        row = np.full(len(names), np.nan)
        for at in used:
            row[at] = _number(path, number, names[at], cells[at])
        rows.append(row)
    return np.array(rows).reshape(-1, len(names))


def _number(path: Path, row: int, name: str, cell: bytes) -> float:
    text = cell.strip().strip(b'"')
    if text.lower() in (b"", b"nan"):
        return float("nan")
    try:
        value = float(text)
    except ValueError:
        value = float("inf")
    if not np.isfinite(value):
        shown = text[:20].decode("utf-8", "replace")
        raise InputError(
            f'{path.name}, row {row}, column {name}: "{shown}" is no number',
            "correct it, or leave the cell empty where nothing was read",
        )
    return value


def _ordered(
    path: Path, table: Array, wanted: list[tuple[str, Column, int]], names: Sequence[str],
    skipped: int,
) -> Track:  # fmt: skip
    """SI columns in order of time, gaps found, empty cells filled."""
    columns = {key: _si(table[:, at], key, column) for key, column, at in wanted}
    _within(path, columns, {key: names[at] for key, _, at in wanted}, skipped)
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
    return np.asarray(values * factor + float(ZERO.get(column.unit, 0)))


def _within(path: Path, columns: dict[str, Array], names: dict[str, str], skipped: int) -> None:
    """Refuse a number that no rocket reaches: most often the unit is another."""
    for key, values in columns.items():
        least, most = LIMITS[key]
        wrong = (values < least) | (values > most)
        if wrong.any():
            row = int(np.argmax(wrong))
            raise InputError(
                f"{path.name}, row {row + skipped + 1}, column {names[key]}: {values[row]:.4g} in "
                f"SI units is outside {least:.4g} to {most:.4g}",
                "look for a slip, or for another unit than the one declared",
                (key, "unit"),
            )


def _filled(path: Path, key: str, time: Array, values: Array) -> tuple[Array, int]:
    """Empty cells drawn straight between their neighbours, and how many there were."""
    known = np.isfinite(values)
    empty = len(values) - int(np.count_nonzero(known))
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
