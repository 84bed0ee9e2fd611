"""The fields of a log entry: what each may hold, and how text becomes that or is refused."""

from __future__ import annotations

import json
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Annotated, Any, NamedTuple, get_args

from mandrelwright.job.records import STAGES
from mandrelwright.job.records import Of as OfWord
from mandrelwright.job.values import InputError
from mandrelwright.quantities import QuantityError, read

MOST_TEXT = 10_000  # characters of a note
MOST_JOB = 1_000_000  # characters of a job file, as its reader takes
BARE = {"length": "mm", "mass": "g", "temperature": "degC", "angle": "deg"}
"""Units of a number typed without one: what caliper, scale, thermometer and protractor show."""


class Measure(NamedTuple):
    """A measure as it was typed, its value and standard uncertainty in SI."""

    text: str
    value: float
    spread: float = 0.0


@dataclass(frozen=True)
class Rule:
    """What a field may hold: its sort; the kind of quantity or entry; words; length of text."""

    sort: str  # text | measure | date | link | count | number | facts | word | identity | moment
    of: str = ""
    words: tuple[str, ...] = ()
    most: int = MOST_TEXT


Id = Annotated[str, Rule("identity")]
Moment = Annotated[str, Rule("moment")]
Name = Annotated[str, Rule("text", most=60)]
Letter = Annotated[str, Rule("text", most=20)]
Digest = Annotated[str, Rule("text", most=64)]
FilePath = Annotated[str, Rule("text", most=1000)]
LongText = Annotated[str, Rule("text")]
JobText = Annotated[str, Rule("text", most=MOST_JOB)]
Day = Annotated[str, Rule("date")]
Stage = Annotated[str, Rule("word", words=STAGES)]
Of = Annotated[str, Rule("word", words=get_args(OfWord))]
Count = Annotated[int, Rule("count")]
Number = Annotated[float, Rule("number")]
Facts = Annotated[Mapping[str, Any], Rule("facts")]
Length = Annotated[Measure, Rule("measure", "length")]
Mass = Annotated[Measure, Rule("measure", "mass")]
Angle = Annotated[Measure, Rule("measure", "angle")]
Temperature = Annotated[Measure, Rule("measure", "temperature")]
Duration = Annotated[Measure, Rule("measure", "time")]
MouldId = Annotated[str, Rule("link", "mould")]
PartId = Annotated[str, Rule("link", "part")]
CouponId = Annotated[str, Rule("link", "coupon")]
ResinId = Annotated[str, Rule("link", "resin")]
ToolId = Annotated[str, Rule("link", "tool")]
LotId = Annotated[str, Rule("link", "resin sleeve")]
SourceId = Annotated[str, Rule("link", "photo")]
EntryId = Annotated[str, Rule("link")]


def accept(value: Any, rule: Rule) -> Any:
    """The value of a field, read from text where it is text; raises InputError."""
    return _READERS[rule.sort](value, rule)


def _identity(value: Any) -> str:
    try:
        return str(uuid.UUID(str(value)))
    except ValueError:
        raise InputError("is no UUID", "leave it out, or give 32 hexadecimal digits") from None


def new_id() -> str:
    """An id for an entry that was given none."""
    return str(uuid.uuid4())


def now() -> str:
    """This moment in UTC."""
    return utc(datetime.now(UTC).isoformat())


def utc(value: Any) -> str:
    """A moment as UTC text, "2026-11-25T14:03:07Z".

    Raises InputError for a moment without its offset from UTC.
    """
    remedy = "write 2026-11-25T14:03:07Z or 2026-11-25T15:03:07+01:00"
    try:
        moment = datetime.fromisoformat(str(value))
        told = moment.astimezone(UTC).isoformat().replace("+00:00", "Z")
    except (ValueError, OverflowError):
        raise InputError(f'"{value}" is no moment', remedy) from None
    if moment.tzinfo is None:
        raise InputError(f'"{value}" has no offset from UTC', remedy)
    return told


def measure(value: Any, kind: str) -> Measure:
    """A measure from text, "98.31" or "3.871 in"; a bare number is in the unit of ``BARE``."""
    if isinstance(value, Measure):
        return value
    text = _plain(value, Rule("text", most=80))
    bare = text.strip()
    unit = BARE.get(kind, "")
    try:
        quantity = read(f"{bare} {unit}" if unit and _is_bare(bare) else text, kind)
    except QuantityError as error:
        raise InputError(f'"{text}" {error.reason}', error.remedy) from None
    return Measure(text, quantity.value, quantity.spread)


def _is_bare(text: str) -> bool:
    return text.lstrip("+-").replace(".", "", 1).isdecimal() and text.isascii()


def _plain(value: Any, rule: Rule) -> str:
    """Text that every database and file can hold."""
    if not isinstance(value, str):
        raise InputError("must be text", "write it in quotation marks")
    if len(value) > rule.most:
        raise InputError(f"is longer than {rule.most} characters", "shorten it")
    if "\0" in value or any("\ud800" <= letter <= "\udfff" for letter in value):
        raise InputError("holds a character that cannot be kept", "type it again")
    return value


def _date_text(value: Any, rule: Rule) -> str:
    try:
        known = date.fromisoformat(str(value)).isoformat() == value
    except ValueError:
        known = False
    if not known:
        raise InputError(f'"{value}" is no date', "write year-month-day: 2026-11-25")
    return str(value)


def _count(value: Any, rule: Rule) -> int:
    if isinstance(value, int | str) and str(value).isdecimal() and 0 < int(value) < 10**6:
        return int(value)
    raise InputError(f'"{value}" is no count', "write a whole number from 1")


def _number(value: Any, rule: Rule) -> float:
    try:
        number = float(value)
        if abs(number) < 1e12:
            return number
    except (TypeError, ValueError):
        pass
    raise InputError(f'"{value}" is no number', 'write digits and a point: "12.50"')


def _facts(value: Any, rule: Rule) -> Mapping[str, Any]:
    if not isinstance(value, Mapping):
        raise InputError("must be a table", "copy it from an export")
    try:
        json.dumps(value, allow_nan=False)
    except (TypeError, ValueError):
        raise InputError("hold what JSON cannot", "leave out what is no number or text") from None
    return value


def _word(value: Any, rule: Rule) -> str:
    if value not in rule.words:
        raise InputError(f'"{value}" is not known', f"use {', '.join(rule.words)}")
    return str(value)


_READERS: dict[str, Any] = {
    "text": _plain,
    "measure": lambda value, rule: measure(value, rule.of),
    "date": _date_text,
    "link": lambda value, rule: _identity(value),
    "count": _count,
    "number": _number,
    "facts": _facts,
    "identity": lambda value, rule: _identity(value),
    "moment": lambda value, rule: utc(value),
    "word": _word,
}
