"""One result explained: what it is, its value, its equations, and what it follows from."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, field
from typing import Any

from mandrelwright.why.docstrings import Equation

ENDS = {"job": "the job", "material": "the library"}
WIDEST = 84


@dataclass(frozen=True)
class Row:
    """One line of an array: at the leading fit, smallest, largest, and where; SI.

    Places count from the base (m). None where the line does not exist.
    """

    label: str
    at_fit: float | None
    smallest: float
    smallest_from_base: float
    largest: float
    largest_from_base: float
    text: str


@dataclass(frozen=True)
class Shown:
    """A value as text; in numbers, SI: value and spread; line by line if it is an array."""

    text: str
    numbers: Mapping[str, float] = field(default_factory=dict)
    rows: tuple[Row, ...] = ()


@dataclass(frozen=True)
class Explanation:
    """A result, input, key of the job, number of the library, finding or the verdict, explained.

    ``place`` is where it stands: file and line, or place in its source; ``source`` the key of
    that, ``cited`` its title. ``repeated``: told in full further up, not here.
    """

    name: str
    kind: str
    what: str
    shown: Shown
    equations: tuple[Equation, ...] = ()
    place: str = ""
    basis: str = ""
    source: str = ""
    cited: str = ""
    weak: bool = False
    repeated: bool = False
    inputs: tuple[Explanation, ...] = ()


def text_lines(explanation: Explanation, depth: int = 2) -> list[str]:
    """Plain lines: the result, what it follows from to a depth, what all of it rests on."""
    every = list(_walk(explanation))
    shown = [(level, item) for level, item in every if level <= depth and item.kind not in ENDS]
    lines = _head(explanation)
    if len(shown) > 1:
        told = {equation.by for equation in explanation.equations}
        lines += ["follows from", *(line for entry in shown[1:] for line in _short(*entry, told))]
    for kind, where in ENDS.items():
        ends = {item.name: item for level, item in every if item.kind == kind and level}
        if ends:
            lines += [f"rests on {where}", *(_end(item) for item in ends.values())]
    return lines + _sources(shown, every)


def _walk(item: Explanation, level: int = 0) -> Iterator[tuple[int, Explanation]]:
    yield level, item
    for part in item.inputs:
        yield from _walk(part, level + 1)


def _head(item: Explanation) -> list[str]:
    """The result itself, in full."""
    lines = [f"{item.name}{_value(item)}{_origin(item)}"]
    lines += [f"  {text}" for text in (item.what, *(row.text for row in item.shown.rows)) if text]
    for equation in item.equations:
        lines.append(f"  by {equation.by}: {equation.says}")
        lines += [f"     {formula}" for formula in equation.formulas]
        lines += [f"     valid: {equation.validity}"] if equation.validity else []
    return lines


def _short(level: int, item: Explanation, told: set[str]) -> Iterator[str]:
    """A result on the way, with its formulas where they come up first."""
    margin = "  " * level
    yield f"{margin}{item.name}{_value(item)}{_origin(item)}"
    for equation in item.equations:
        if equation.by in told:
            continue
        told.add(equation.by)
        yield f"{margin}  by {equation.by}: {'; '.join(equation.formulas) or equation.says}"


def _end(item: Explanation) -> str:
    text = f"  {item.name}{_value(item)}"
    text = text if len(text) <= WIDEST else text[: WIDEST - 1] + "…"
    place = item.place if item.kind == "job" else ""
    return text + (f"  ({place})" if place else _origin(item))


def _value(item: Explanation) -> str:
    return f" = {item.shown.text}" if item.shown.text else ""


def _origin(item: Explanation) -> str:
    """How good a value is, and the key of its source."""
    marks = [item.basis, "weak" if item.weak else "", f"[{item.source}]" if item.source else ""]
    text = ", ".join(mark for mark in marks if mark)
    return f"  ({text})" if text else ""


def _sources(
    shown: list[tuple[int, Explanation]], every: list[tuple[int, Explanation]]
) -> list[str]:
    """Sources of the numbers by key, of the equations by name, each once."""
    cited = {f"[{item.source}]": item.cited for _, item in every if item.cited}
    lines = [f"  {key} {text}" for key, text in cited.items()]
    if place := every[0][1].place:
        lines = [f"  stands in {place}", *lines]
    users: dict[str, dict[str, None]] = {}
    for equation in (equation for _, item in shown for equation in item.equations):
        users.setdefault(equation.source, {})[equation.by] = None
    users.pop("", None)
    lines += [f"  {', '.join(names)}: {text}" for text, names in users.items()]
    return ["sources", *lines] if lines else []


def to_dict(explanation: Explanation) -> dict[str, Any]:
    """The same for a program: nested, SI, None for what is not finite; nothings left out."""
    return {
        "name": explanation.name,
        "kind": explanation.kind,
        **_kept(
            what=explanation.what,
            value=explanation.shown.text,
            numbers=_finite(explanation.shown.numbers),
            rows=[_finite(asdict(row)) for row in explanation.shown.rows],
            equations=[asdict(equation) for equation in explanation.equations],
            place=explanation.place,
            basis=explanation.basis,
            source=explanation.source,
            cited=explanation.cited,
            weak=explanation.weak,
            repeated=explanation.repeated,
            inputs=[to_dict(part) for part in explanation.inputs],
        ),
    }


def _kept(**values: Any) -> dict[str, Any]:
    return {key: value for key, value in values.items() if value}


def _finite(numbers: Mapping[str, Any]) -> dict[str, Any]:
    return {
        key: None if isinstance(value, float) and not math.isfinite(value) else value
        for key, value in numbers.items()
    }
