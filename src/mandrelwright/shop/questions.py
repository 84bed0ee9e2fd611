"""Slips of the pen: a reading that cannot be is questioned, never dropped in silence."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from mandrelwright.job.records import Reading

PLAUSIBLE = 0.05  # relative distance from the prediction beyond which a reading is a slip
SURPRISE = 4.0  # standard uncertainties beyond which a reading is questioned
NEAR = 3.0  # standard uncertainties within which another reading of the digits would be ordinary


@dataclass(frozen=True)
class Questioned:
    """A reading to be looked at again: its entry in the log, where, and the question."""

    entry: int
    where: str
    question: str
    counted: bool


def is_slip(value: float, expected: float) -> bool:
    """Whether a reading lies further from its prediction than any mould can."""
    return abs(value / expected - 1.0) > PLAUSIBLE


def question(reading: Reading, where: str, expected: float, spread: float) -> list[Questioned]:
    """What to ask about a reading: a slip it can only be, or two digits that may have swapped."""
    slip = is_slip(reading.value, expected)
    if not slip and abs(reading.value - expected) <= SURPRISE * spread:
        return []
    meant = [v for v in _otherwise(reading.value) if abs(v - expected) <= NEAR * spread]
    if not slip and not meant:
        return []
    reads, far = f"{reading.value * 1e3:.2f} mm", f"{expected * 1e3:.2f} mm"
    ask = f"{reads} where {far} is expected"
    if meant:
        nearest = min(meant, key=lambda v: abs(v - expected))
        ask += f": was {nearest * 1e3:.2f} mm meant?"
    else:
        ask += ": the wrong mark, or a slip of the pen?"
    if slip:
        ask += " Not counted until it is corrected"
    return [Questioned(reading.entry, where, ask, not slip)]


def _otherwise(value: float) -> Iterator[float]:
    """The same digits read otherwise: neighbours swapped, the point moved by one place (m)."""
    yield from (float(text) * 1e-3 for text in exchanged(f"{value * 1e3:.2f}"))
    yield from (value * 10.0, value / 10.0)


def exchanged(text: str) -> Iterator[str]:
    """The text with two neighbouring digits exchanged, the point apart: 92.8 for 98.2."""
    places = [place for place, letter in enumerate(text) if letter.isdigit()]
    for first, second in pairwise(places):
        if text[first] != text[second] and text[first + 1 : second] in ("", "."):
            letters = list(text)
            letters[first], letters[second] = letters[second], letters[first]
            yield "".join(letters)
