"""Read a job file, or say everything that is wrong with it."""

from __future__ import annotations

import hashlib
import re
import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from mandrelwright.job.consistency import check_job, check_names
from mandrelwright.job.coupons import Coupons, read_coupons
from mandrelwright.job.flights import Track, read_track
from mandrelwright.job.locate import key_lines, line_of
from mandrelwright.job.materials import Library, MaterialError, load_library
from mandrelwright.job.problems import (
    JobError,
    Problem,
    field_name,
    printable,
    refusals,
    stated,
    value_shown,
    visible,
)
from mandrelwright.job.spec import Job
from mandrelwright.job.tooling import Smooth
from mandrelwright.job.values import MOST_BYTES, InputError, Keys

_DEEP_KEY = re.compile(
    r"""(?<![\w-])(?:(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){9}""", re.ASCII
)
"""A dotted key of ten parts or more: the parser would need its square in memory."""


def read_job(path: Path | str) -> Job:
    """The job in a TOML file, checked against itself and the material library.

    Raises JobError with every problem found: file, line, field, value, limit, remedy.
    """
    path = Path(path)
    return job_of(path, _content(path))


def job_of(path: Path, content: bytes) -> Job:
    """The same of the bytes that ``path`` holds, or would hold once saved; raises JobError."""
    text = _text(path, content)
    data = _parsed(path, text)
    found: list[InputError] = []
    try:
        context = {"path": path, "digest": hashlib.sha256(content).hexdigest()}
        job = Job.model_validate(data, context=context)
        beside = {"coupons": coupons_of(job), "track": track_of(job)}
        if any(beside.values()):
            job = Job.model_validate(data, context={**context, **beside})
        found = check_job(job)
        found += check_names(job, library_of(job))
    except ValidationError as error:
        found = refusals(error, data)
    except InputError as error:
        found.append(error)
    if found:
        raise JobError(_problems(path, text, data, found))
    return job


def library_of(job: Job) -> Library:
    """The material library with the job's own file laid over it.

    Raises InputError when that file lies outside the job's folder or cannot be used.
    """
    if job.materials is None:
        return load_library()
    at = ("materials", "file")
    own = _beside(job, job.materials.file, at)
    try:
        return load_library(own)
    except MaterialError as error:
        raise InputError(
            f"cannot be used: {error.file}, {error.field} {error.reason}", error.remedy, at
        ) from None


def coupons_of(job: Job) -> dict[str, Coupons]:
    """The tables of smoothed rings that the job names, read from its folder.

    Raises InputError when one lies outside that folder or cannot be used.
    """
    tables = {}
    for row, step in enumerate(job.surface):
        if isinstance(step, Smooth) and step.coupon is not None:
            at = ("surface", row, "coupon")
            path = _beside(job, step.coupon, at)
            try:
                tables[step.coupon] = read_coupons(path)
            except InputError as error:
                raise InputError(error.limit, error.remedy, at) from None
    return tables


def track_of(job: Job) -> Track | None:
    """The flight history that the job names, read from its folder.

    Raises InputError when it lies outside that folder or cannot be used.
    """
    if job.flight is None or job.flight.history is None:
        return None
    history, at = job.flight.history, ("flight", "history")
    path = _beside(job, history.file, (*at, "file"))
    try:
        return read_track(path, history)
    except InputError as error:
        raise InputError(error.limit, error.remedy, (*at, *(error.at or ("file",)))) from None


def _beside(job: Job, name: str, at: Keys) -> Path:
    """A file of the job's own folder, or an InputError."""
    folder = job.path.parent.resolve()
    path = (folder / name).resolve()
    if Path(name).is_absolute() or not path.is_relative_to(folder):
        raise InputError("lies outside the job's folder", "copy it beside the job file", at)
    if not path.is_file():
        raise InputError("is not a file", "correct the name, counted from the job's folder", at)
    return path


def _content(path: Path) -> bytes:
    """The file's bytes, no more than allowed."""
    try:
        if not path.is_file():
            raise _file_error(
                path,
                "is missing, or is not a file",
                "give the path of a job file, or make one: mw new",
            )
        with path.open("rb") as file:
            content = file.read(MOST_BYTES + 1)
    except OSError as error:
        raise _file_error(path, f"cannot be read ({error.strerror})", "make it readable") from None
    if len(content) > MOST_BYTES:
        raise _file_error(
            path,
            "is larger than 1 MB",
            "a job file is a few kilobytes of text; is this the right file?",
        )
    if not content.strip():
        raise _file_error(path, "is empty", "write a job, or make one: mw new")
    return content


def _text(path: Path, content: bytes) -> str:
    try:
        return content.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise _file_error(
            path, f"is not UTF-8 text: byte 0x{content[error.start]:02x}", "save it as UTF-8", line
        ) from None


def _parsed(path: Path, text: str) -> dict[str, Any]:
    deep = _DEEP_KEY.search(text)
    if deep:
        raise _file_error(
            path,
            "has a key of more than nine parts",
            "a job needs three at most",
            text.count("\n", 0, deep.start()) + 1,
        )
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise _file_error(path, "is nested too deeply", "a job needs three levels") from None
    except ValueError as error:
        raise JobError((_syntax(path, text, str(error)),)) from None


def _syntax(path: Path, text: str, message: str) -> Problem:
    """A TOML error, with the line it names as field and value."""
    lines = text.split("\n")
    match = re.search(r" \(at (?:line (\d+), column \d+|end of document)\)", message)
    line = int(match[1]) if match and match[1] else len(lines)
    key, _, value = lines[line - 1].partition("#")[0].partition("=")
    reason = message[: match.start()] if match else message
    start = "[" if key.startswith("[") else reason
    remedy = next(text for begins, text in _SYNTAX if start.startswith(begins))
    return Problem(
        path.name,
        line,
        printable(key.strip()),
        printable(value.strip()),
        f"is not valid TOML: {reason}",
        remedy,
    )


_SYNTAX = (
    ("Cannot overwrite", "give each key once"),
    ("[", "give each [table] once; rows of a list are headed [[like this]]"),
    ("Invalid value", 'put text in quotation marks, like "98.2 mm"'),
    ("Expected newline", 'put text in quotation marks, like "98.2 mm"'),
    ("Unclosed", "close the bracket"),
    ("", 'write key = value, with text in quotation marks, like length = "98.2 mm"'),
)


def _file_error(path: Path, limit: str, remedy: str, line: int = 0) -> JobError:
    return JobError((Problem(path.name, line, "the file", "", limit, remedy),))


def _problems(
    path: Path, text: str, data: dict[str, Any], found: Iterable[InputError]
) -> tuple[Problem, ...]:
    lines = key_lines(text)
    problems = {
        Problem(
            path.name,
            line_of(lines, error.at),
            field_name(error.at),
            value_shown(stated(data, error.at)),
            visible(error.limit),
            visible(error.remedy),
        ): None
        for error in found
    }
    return tuple(sorted(problems, key=lambda problem: problem.line))
