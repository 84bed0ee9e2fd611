"""What a shop has measured so far, as plain records: whoever keeps them, learning reads these.

Nothing here knows how a log is stored, and nothing is left out: a reading that a later entry
corrected is not handed over, one that looks like a slip of the pen is.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from mandrelwright.job.records import Reading

Outcome = Literal["", "fits", "reworked", "scrapped"]


@dataclass(frozen=True)
class Weight:
    """Something put on the scale, kg: ``what`` is "fibre", "resin", "part", "mould", "ring".

    "part" is the trimmed part, "fibre" all dry textile in it between the trim lines.
    """

    what: str
    value: float
    spread: float = 0.0
    when: str = ""
    entry: int = 0


@dataclass(frozen=True)
class Event:
    """Something that happened: ``what`` in a word ("printed", "mended", "pulled"), and a text."""

    what: str
    text: str = ""
    when: str = ""
    amount: float = 0.0
    entry: int = 0


@dataclass(frozen=True)
class MarkRecord:
    """A caliper mark of one mould as its plan drew it.

    file: diameter in its print file (m); slope dr/dx of the mould there; from_base (m).
    length: from the base to the mark in the print file (m), 0 where it was not kept.
    """

    name: str
    file: float
    slope: float = 0.0
    from_base: float = 0.0
    length: float = 0.0


@dataclass(frozen=True)
class PartRecord:
    """One part laid up on a mould.

    outcome: how it ended, "" while nobody has said. hours: time by hand, s; cost: money spent.
    mate: diameter of the leading mate it was tried on (m), 0 where it is the job's.
    """

    name: str
    laid_on: str = ""
    readings: tuple[Reading, ...] = ()
    weights: tuple[Weight, ...] = ()
    events: tuple[Event, ...] = ()
    outcome: Outcome = ""
    hours: float = 0.0
    cost: float = 0.0
    mate: float = 0.0


@dataclass(frozen=True)
class MouldRecord:
    """One mould from its print file to the parts laid on it, in the order they were laid.

    treatments: change of diameter planned of each treatment, by its label (m). plan: digest of
    the job it was printed for. cost and hours (s) of the mould itself.
    """

    name: str
    plastic: str
    printed_on: str
    plan: str
    marks: tuple[MarkRecord, ...]
    treatments: Mapping[str, float] = field(default_factory=dict)
    readings: tuple[Reading, ...] = ()
    parts: tuple[PartRecord, ...] = ()
    weights: tuple[Weight, ...] = ()
    events: tuple[Event, ...] = ()
    hours: float = 0.0
    cost: float = 0.0


@dataclass(frozen=True)
class RingRecord:
    """A ring (or coupon) printed to be measured: its diameter in the file (m), its readings."""

    name: str
    plastic: str
    printed_on: str
    file: float
    readings: tuple[Reading, ...] = ()


@dataclass(frozen=True)
class Tool:
    """An instrument: what it is called, one standard uncertainty (m, or kg of a scale)."""

    name: str
    spread: float
    checked_on: str = ""


@dataclass(frozen=True)
class History:
    """Everything a shop's log tells of a job's family of moulds, oldest first."""

    moulds: tuple[MouldRecord, ...] = ()
    rings: tuple[RingRecord, ...] = ()
    tools: Mapping[str, Tool] = field(default_factory=dict)

    def mould(self, name: str) -> MouldRecord | None:
        """The mould of that name; None where there is none."""
        return next((mould for mould in self.moulds if mould.name == name), None)
