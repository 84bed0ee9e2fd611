"""Readings of this mould or part: what the calipers said, at which stage and mark."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, get_args

from mandrelwright.job.values import MOST_BYTES, InputError
from mandrelwright.quantities import Quantity, QuantityError, read

Stage = Literal[
    "ring", "printed", "sanded", "smoothed", "filled", "ready", "filmed", "set", "part", "finished"
]
STAGES: tuple[Stage, ...] = get_args(Stage)
GATED: tuple[Stage, ...] = ("printed", "ready", "part")  # stages that leave something to decide
Of = Literal["diameter", "length", "wall"]
KEYS = ("stage", "mark", "reads", "at")
_MARK = re.compile(r"\s*([A-Za-z][\w -]*)\s*=\s*(.+)")
_BARE = re.compile(r"\d+(\.\d+)?")


@dataclass(frozen=True)
class Reading:
    """A size read at a mark, SI.

    stage: "ring" (a ring off the printer), "printed" (the mould off the printer), after a
    treatment "sanded", "smoothed", "filled"; "ready" (prepared, ready to wax), "filmed" (wax and
    film on), "set" (laminate on the mould), "part" (the released part's own fit diameter),
    "finished" (after primer and paint). spread: 0 where none was stated. at: temperature of the
    thing, K, None for the job's reference. of: what was read; a "length" lies along the axis.
    angle round the axis, rad, None where nobody said. repeat: counts readings of one state at one
    place. mended: how often the thing had been mended before. place: standard uncertainty of the
    jaws' place along the axis, m, None for the usual one. entry: its number in the log, 0 in none.
    """

    stage: Stage
    mark: str
    value: float
    spread: float
    at: float | None = None
    of: Of = "diameter"
    angle: float | None = None
    repeat: int = 1
    mended: int = 0
    tool: str = ""
    place: float | None = None
    when: str = ""
    entry: int = 0


def read_mark(text: str, stage: str, at: str | None = None) -> Reading:
    """A reading from the command line: "A=98.31", in mm unless a unit is written."""
    match = _MARK.fullmatch(text)
    if match is None:
        raise InputError(f'"{text}" is not a reading', 'write mark and diameter: "A=98.31 mm"')
    mark, length = match.groups()
    length = f"{length.strip()} mm" if _BARE.fullmatch(length.strip()) else length
    return _reading(stage, mark.strip(), length, at, "--mark")


def read_readings(path: Path) -> list[Reading]:
    """Readings from a TOML file with [[reading]] tables: stage, mark, reads, at (optional)."""
    try:
        content = path.read_bytes()[: MOST_BYTES + 1]
        rows = tomllib.loads(content.decode("utf-8")).get("reading")
    except OSError as error:
        raise InputError(f"{path} cannot be read ({error.strerror})", "check the path") from None
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise InputError(f"{path} is no TOML text: {error}", "write [[reading]] tables") from None
    if len(content) > MOST_BYTES or not isinstance(rows, list) or not rows:
        raise InputError(f"{path} holds no readings", "write [[reading]] tables, see docs/gate.md")
    return [_row(row, f"{path}: reading {number}") for number, row in enumerate(rows, start=1)]


def _row(row: object, where: str) -> Reading:
    """One [[reading]] table."""
    if not isinstance(row, dict) or not all(isinstance(text, str) for text in row.values()):
        raise InputError(f"{where} is not a table of texts", f"give {', '.join(KEYS)} as text")
    unknown = [key for key in row if key not in KEYS]
    missing = [key for key in ("mark", "reads") if key not in row]
    if unknown or missing:
        fault = f"has no {missing[0]}" if missing else f"has an unknown key {unknown[0]}"
        raise InputError(f"{where} {fault}", f"give {', '.join(KEYS)}")
    return _reading(row.get("stage", "ready"), row["mark"], row["reads"], row.get("at"), where)


def _reading(stage: str, mark: str, length: str, at: str | None, where: str) -> Reading:
    if stage not in GATED:
        raise InputError(f"{where}: stage {stage} has no gate", f"use {', '.join(GATED)}")
    diameter = _quantity(length, "length", where)
    warmth = None if at is None else _quantity(at, "temperature", where).value
    known: Stage = next(name for name in GATED if name == stage)
    return Reading(known, mark, diameter.value, diameter.spread, warmth)


def _quantity(text: str, kind: str, where: str) -> Quantity:
    try:
        return read(text, kind)
    except QuantityError as error:
        raise InputError(f'{where}: "{text}" {error.reason}', error.remedy) from None
