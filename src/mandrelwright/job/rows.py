"""A builder's own table: a CSV file beside the job, its head, its rows, its errors."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from itertools import islice
from pathlib import Path

from mandrelwright.job.values import InputError

MARKS = ";\t"  # part the fields where the head has one of them; else the comma does
SAVE = "save it as CSV, UTF-8"


def head_of(path: Path, most_bytes: int, example: str) -> tuple[int, str, str]:
    """Number and text of the line that names the columns, and the mark that parts its fields.

    Blank lines and lines that begin with # before it are passed over. Raises InputError;
    ``example`` says what the file should have held.
    """
    try:
        if path.stat().st_size > most_bytes:
            size = f"{most_bytes // 1000} kB" if most_bytes < 1e6 else f"{most_bytes / 1e9:.0f} GB"
            raise InputError(f"cannot be used: {path.name} is larger than {size}", example)
        with path.open(encoding="utf-8-sig", newline="") as file:
            for number, line in enumerate(file, 1):
                if says(line):
                    text = line.strip()
                    return number, text, next((mark for mark in MARKS if mark in text), ",")
    except OSError as error:
        raise InputError(f"cannot be read ({error.strerror})", "make it readable") from None
    except UnicodeDecodeError:
        raise InputError(f"cannot be used: {path.name} is not UTF-8 text", SAVE) from None
    raise InputError(f"cannot be used: {path.name} is empty", example)


def rows_of(
    path: Path, head: int, mark: str, names: Sequence[str]
) -> Iterator[tuple[int, list[str]]]:
    """Number and cells of every line after the head that says something, a cell for each name."""
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError(f"cannot be used: {path.name} is not UTF-8 text", SAVE) from None
    for number, line in enumerate(text.splitlines(), 1):
        if number <= head or not says(line):
            continue
        try:
            cells = cells_of(line, mark)
        except csv.Error:
            raise refused(path, number, "is no row of a table", SAVE) from None
        if len(cells) != len(names):
            raise refused(
                path, number, f"has {len(cells)} values for {len(names)} columns",
                "one value each; decimals take a point",
            )  # fmt: skip
        yield number, cells


def cells_of(line: str, mark: str) -> list[str]:
    """The fields of one line, quotes and spaces around them taken off."""
    return [
        cell.strip() for cell in next(csv.reader([line], delimiter=mark, skipinitialspace=True))
    ]


def number_of(path: Path, head: int, row: int) -> int:
    """Number of the line that holds a row, the first being 0."""
    with path.open(encoding="utf-8-sig", errors="replace") as file:
        numbers = (n for n, line in enumerate(file, 1) if n > head and says(line))
        return next(islice(numbers, row, None), head + 1 + row)


def says(line: str) -> bool:
    """Whether a line is neither blank nor a remark."""
    return bool(line.strip()) and not line.lstrip().startswith("#")


def refused(
    path: Path, row: int, what: str, remedy: str, column: str = "", keys: tuple[str, ...] = ()
) -> InputError:
    """The error that names file, row and column."""
    place = f"{path.name}, row {row}" + (f", column {column}" if column else "")
    return InputError(f"cannot be used: {place}: {what}", remedy, keys)
