"""Slips of pen and tongue, questioned while the calipers are at hand; never mended unasked."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from mandrelwright.job.values import InputError
from mandrelwright.quantities import show
from mandrelwright.shop.expect import Expected
from mandrelwright.shop.fields import Measure, measure
from mandrelwright.shop.questions import SURPRISE, exchanged

LOOK = 2.5  # standard uncertainties beyond which a slip is looked for
NEAR = 1.5  # within which what was meant must lie


@dataclass(frozen=True)
class Question:
    """What is odd about a measure, and what may have been meant ("" where nobody can say)."""

    text: str
    meant: str = ""


def question_reading(
    mark: str, reads: Measure, expected: Mapping[str, Expected]
) -> Question | None:
    """What to ask about a diameter at a mark; None where it is as expected or nothing is known."""
    own = expected.get(mark)
    asked = _question(f"mark {mark} reads", reads, "length", own)
    if own is None or asked is None or asked.meant or own.off(reads.value) <= SURPRISE:
        return asked
    for name, other in expected.items():
        if name != mark and other.off(reads.value) < NEAR < own.off(other.value):
            return Question(f"{asked.text} It is what mark {name} should read: is it that mark?")
    return asked


def question_weight(what: str, reads: Measure, expected: Expected | None) -> Question | None:
    """What to ask about a weight; None where it is as expected or nothing is known."""
    return _question(f"{what} weighs", reads, "mass", expected)


def _question(said: str, reads: Measure, kind: str, own: Expected | None) -> Question | None:
    if own is None or own.off(reads.value) <= LOOK:
        return None
    unit, digits = ("mm", 2) if kind == "length" else ("g", 1)
    told = (
        f"{said} {show(reads.value, unit, digits)}, {own.off(reads.value):.0f} standard "
        f"uncertainties from {show(own.value, unit, digits)} {own.by}."
    )
    for words, text in _likely(reads.text, kind):
        try:
            meant = measure(text, kind)
        except InputError:
            continue
        if own.off(meant.value) < NEAR:
            return Question(f"{told} {words}: was {text} meant?", text)
    return Question(told) if own.off(reads.value) > SURPRISE else None


def _likely(text: str, kind: str) -> Iterator[tuple[str, str]]:
    """What may have been meant by a text, by the slip that would explain it."""
    yield from (("Two digits exchanged", other) for other in exchanged(text))
    match = re.fullmatch(r"\s*(\d+\.?\d*)\s*([a-z]*)\s*", text)
    if match is None:
        return
    number, unit = match.groups()
    if kind == "length":
        other = "in" if unit in ("", "mm") else "mm"
        yield "The other unit", f"{number} {other}"
        yield "A radius, not a diameter", f"{2.0 * float(number):g} {unit}".strip()
    else:
        yield "The other unit", f"{number} {'oz' if unit in ('', 'g') else 'g'}"
    for factor in (0.1, 10.0):
        yield "The point in the wrong place", f"{factor * float(number):.6g} {unit}".strip()
