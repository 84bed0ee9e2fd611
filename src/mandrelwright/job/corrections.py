"""Corrections: what a shop's readings made of the chain's inputs, in a file beside the job.

They come back as input: a plan made with them starts from these means and this covariance. The
file holds numbers in SI as learned; it is written by ``mw next`` and not meant to be edited.
"""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from mandrelwright.job.values import MOST_BYTES, InputError

HEAD = """\
# What the readings of this shop's log made of the job's uncertain inputs. Written by mw next,
# read by check, build and gate as long as it lies beside the job; delete it to plan without.
# Numbers are SI (m, K, rad, 1). prior: as job and library say; mean, spread: as learned.
"""


@dataclass(frozen=True)
class Corrected:
    """One input of the dimension chain before and after the readings that informed it, SI."""

    name: str
    prior: float
    prior_spread: float
    mean: float
    spread: float
    readings: int


@dataclass(frozen=True)
class Corrections:
    """Corrected inputs with their joint covariance; the moulds and readings they rest on.

    job: digest of the job file they were learned for. covariance (input, input), SI.
    """

    job: str
    moulds: tuple[str, ...]
    readings: int
    inputs: tuple[Corrected, ...]
    covariance: tuple[tuple[float, ...], ...]

    def __post_init__(self) -> None:
        """Refuse numbers that no learning gives; raises InputError."""
        size = len(self.inputs)
        square = len(self.covariance) == size and all(len(row) == size for row in self.covariance)
        numbers = [x for row in self.covariance for x in row]
        for item in self.inputs:
            numbers += [item.prior, item.prior_spread, item.mean, item.spread]
        if not square or not all(map(math.isfinite, numbers)):
            raise InputError("is not whole", "write it anew: mw next")
        if any(self.covariance[i][i] < 0.0 for i in range(size)):
            raise InputError("holds a negative variance", "write it anew: mw next")


def corrections_path(job: Path) -> Path:
    """Where the corrections of a job lie: beside it, "plover-nose.corrections.toml"."""
    return job.with_name(f"{job.stem}.corrections.toml")


def read_corrections(job: Path) -> Corrections | None:
    """The corrections beside a job file, None where there are none; raises InputError."""
    path = corrections_path(job)
    if not path.exists():
        return None
    try:
        with path.open("rb") as file:
            content = file.read(MOST_BYTES + 1)
        if len(content) > MOST_BYTES:
            raise InputError("is larger than 1 MB", "write it anew: mw next")
        return _corrections(tomllib.loads(content.decode("utf-8")))
    except OSError as error:
        raise InputError(f"{path} cannot be read ({error.strerror})", "make it readable") from None
    except InputError as error:
        raise InputError(f"{path} {error.limit}", error.remedy) from None
    except (UnicodeDecodeError, tomllib.TOMLDecodeError, KeyError, TypeError, ValueError) as error:
        told = f"{path} holds no corrections ({error})"
        raise InputError(told, "write it anew: mw next, or delete it") from None


def _corrections(data: dict[str, Any]) -> Corrections:
    """The record in parsed TOML; KeyError, TypeError or ValueError where it is none."""
    inputs = tuple(
        Corrected(
            str(row["name"]),
            float(row["prior"]),
            float(row["prior_spread"]),
            float(row["mean"]),
            float(row["spread"]),
            int(row["readings"]),
        )
        for row in data["input"]
    )
    rows = tuple(tuple(float(x) for x in row) for row in data["covariance"])
    moulds = tuple(str(name) for name in data["moulds"])
    return Corrections(str(data["job"]), moulds, int(data["readings"]), inputs, rows)


def corrections_text(corrections: Corrections) -> str:
    """The record as TOML; what is read back equals it to the last digit."""
    moulds = ", ".join(_quoted(name) for name in corrections.moulds)
    lines = [
        f"job = {_quoted(corrections.job)}",
        f"moulds = [{moulds}]",
        f"readings = {corrections.readings}",
        "covariance = [",
        *(f"  [{', '.join(map(repr, row))}]," for row in corrections.covariance),
        "]",
    ]
    for item in corrections.inputs:
        lines += [
            "",
            "[[input]]",
            f"name = {_quoted(item.name)}",
            f"prior = {item.prior!r}",
            f"prior_spread = {item.prior_spread!r}",
            f"mean = {item.mean!r}",
            f"spread = {item.spread!r}",
            f"readings = {item.readings}",
        ]
    return HEAD + "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    """A basic TOML string."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(c if c.isprintable() else f"\\u{ord(c):04x}" for c in escaped) + '"'
