"""What a shop log can hold: one frozen record per kind of entry, texts exactly as typed.

An entry never changes. A correction is a new entry of the same kind that ``replaces`` the old
one and says why (``because``); a withdrawal replaces and puts nothing in its place.
"""

from __future__ import annotations

from dataclasses import MISSING, dataclass, field, fields
from functools import cache
from typing import Annotated, Any, get_args, get_origin, get_type_hints

from mandrelwright.job.values import InputError
from mandrelwright.shop.fields import (
    Angle,
    Count,
    CouponId,
    Day,
    Digest,
    Duration,
    EntryId,
    Facts,
    FilePath,
    Id,
    JobText,
    Length,
    Letter,
    LongText,
    LotId,
    Mass,
    Moment,
    MouldId,
    Name,
    Number,
    Of,
    PartId,
    ResinId,
    Rule,
    SourceId,
    Stage,
    Temperature,
    ToolId,
    accept,
    new_id,
    now,
)


@dataclass(frozen=True, kw_only=True)
class Entry:
    """What every entry has: id (UUID), UTC time, who, what it is about, what it replaces."""

    id: Id
    at: Moment
    by: Name = ""
    mould: MouldId | None = None
    part: PartId | None = None
    coupon: CouponId | None = None
    replaces: EntryId | None = None
    because: LongText = ""

    @property
    def kind(self) -> str:
        """The word for this kind of entry, as in tables and files."""
        return type(self).__name__.lower()


@dataclass(frozen=True, kw_only=True)
class Mould(Entry):
    """A mould printed: its plan as text and digest, and what learning needs of it as facts."""

    job: Name
    name: Name
    plastic: Name
    printed_on: Day = ""
    job_text: JobText = ""
    job_digest: Digest = ""
    facts: Facts = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Part(Entry):
    """A part laid up on a mould, with the resin lot and the mate it was tried on."""

    name: Name
    laid_on: Day = ""
    resin: ResinId | None = None
    mate: Length | None = None


@dataclass(frozen=True, kw_only=True)
class Coupon(Entry):
    """A ring, a smoothed ring or a piece of laminate, made to be measured."""

    name: Name
    what: Name
    plastic: Name = ""
    printed_on: Day = ""
    file: Length | None = None


@dataclass(frozen=True, kw_only=True)
class Sleeve(Entry):
    """A lot of sleeve or cloth on the shelf."""

    name: Name
    lot: Name = ""
    bought_on: Day = ""


@dataclass(frozen=True, kw_only=True)
class Resin(Entry):
    """A lot of resin and hardener with its dates."""

    name: Name
    lot: Name = ""
    bought_on: Day = ""
    opened_on: Day = ""
    use_by: Day = ""


@dataclass(frozen=True, kw_only=True)
class Tool(Entry):
    """An instrument with the standard uncertainty of one reading, a length or a mass."""

    name: Name
    what: Name = ""
    doubt: Length | None = None
    doubt_mass: Mass | None = None
    checked_on: Day = ""


@dataclass(frozen=True, kw_only=True)
class Reading(Entry):
    """A size read at a stage and mark, with angle, temperature, repeat and tool.

    questioned: what the program asked before this reading was kept, "" where nothing was odd.
    source: the scan or photograph it was taken from.
    """

    stage: Stage
    mark: Letter
    of: Of = "diameter"
    reads: Length
    angle: Angle | None = None
    temperature: Temperature | None = None
    repeat: Count = 1
    place: Length | None = None
    tool: ToolId | None = None
    questioned: LongText = ""
    source: SourceId | None = None


@dataclass(frozen=True, kw_only=True)
class Weight(Entry):
    """Something put on the scale: fibre, resin, part, mould, ring."""

    what: Name
    reads: Mass
    tool: ToolId | None = None
    questioned: LongText = ""


@dataclass(frozen=True, kw_only=True)
class Time(Entry):
    """How long a step took by hand."""

    what: Name
    took: Duration


@dataclass(frozen=True, kw_only=True)
class Event(Entry):
    """Something that happened, in a word: mended, waxed, pulled, fits, reworked, scrapped.

    lot: sleeve or resin used. amount: what was taken off or added, on diameter. cost: in the
    shop's own money.
    """

    what: Name
    text: LongText = ""
    lot: LotId | None = None
    amount: Length | None = None
    cost: Number = 0.0


@dataclass(frozen=True, kw_only=True)
class Note(Entry):
    """A note in the builder's words."""

    text: LongText


@dataclass(frozen=True, kw_only=True)
class Photo(Entry):
    """A photograph, or another file such as a scan, by its path and SHA-256."""

    path: FilePath
    sha256: Digest
    caption: LongText = ""


@dataclass(frozen=True, kw_only=True)
class Waiver(Entry):
    """A gate passed against its answer, and the reason."""

    gate: Name
    reason: LongText


@dataclass(frozen=True, kw_only=True)
class Withdrawal(Entry):
    """An entry taken back: it replaces that entry, says because, and holds nothing."""


KINDS: dict[str, type[Entry]] = {
    kind.__name__.lower(): kind
    for kind in (Mould, Part, Coupon, Sleeve, Resin, Tool, Reading, Weight, Time, Event, Note,
                 Photo, Waiver, Withdrawal)
}  # fmt: skip
HEAD = tuple(item.name for item in fields(Entry))


@cache
def rules(kind: str) -> dict[str, Rule]:
    """What each field of a kind may hold, those that every entry has first."""
    hints = get_type_hints(KINDS[kind], include_extras=True)
    return {item.name: _rule(hints[item.name]) for item in fields(KINDS[kind])}


def _rule(hint: Any) -> Rule:
    """The rule that a field is annotated with, "| None" or not."""
    if get_origin(hint) is Annotated:
        found = get_args(hint)[1]
        assert isinstance(found, Rule)
        return found
    return _rule(get_args(hint)[0])


def own(kind: str) -> dict[str, Rule]:
    """Fields of a kind besides those that every entry has."""
    return {name: rule for name, rule in rules(kind).items() if name not in HEAD}


def make(kind: str, **given: Any) -> Entry:
    """An entry of a kind from texts or values; id and time are made where none is given.

    Raises InputError whose ``at`` names the field.
    """
    if kind not in KINDS:
        raise InputError(f'"{kind}" is no kind of entry', f"use {', '.join(KINDS)}", ("kind",))
    known = rules(kind)
    for name, value in given.items():
        if name not in known and value not in ("", None):
            told = f"a {kind} has no {name}"
            raise InputError(told, f"its fields are {', '.join(known)}", (name,))
    stated = {name: value for name, value in given.items() if value not in ("", None)}
    stated = {"id": new_id(), "at": now()} | {n: v for n, v in stated.items() if n in known}
    for item in fields(KINDS[kind]):
        no_default = item.default is MISSING and item.default_factory is MISSING
        if no_default and item.name not in stated:
            told = f"{item.name} of a {kind} is missing"
            raise InputError(told, f"give {item.name}", (item.name,))
    values = {name: _accepted(name, value, known[name]) for name, value in stated.items()}
    return KINDS[kind](**values)


def _accepted(name: str, value: Any, rule: Rule) -> Any:
    try:
        return accept(value, rule)
    except InputError as error:
        raise InputError(f"{name} {error.limit}", error.remedy, (name,)) from None
