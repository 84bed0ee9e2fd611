"""What a build sheet is put together from: sections of blocks, as plain data for the typesetter.

A cell that is TICK is printed as a box to tick, an empty one is left to be written in.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from mandrelwright.findings.finding import Finding, Level
from mandrelwright.plan import Plan
from mandrelwright.quantities import show

TICK = "☐"
BLANK = ""
Block = dict[str, Any]
Columns = Sequence[tuple[str, float | str]]
"""Heads and widths of a table: mm, or "rest"."""


def section(title: str, *blocks: Block | None, page: str = "new") -> dict[str, Any]:
    """A section on a ``page`` that is "new", laid "across", or the "same" where it has room."""
    return {"title": title, "page": page, "blocks": [block for block in blocks if block]}


def say(text: str) -> Block:
    """A paragraph."""
    return {"kind": "say", "text": text}


def head(text: str) -> Block:
    """A heading inside a section."""
    return {"kind": "head", "text": text}


def table(columns: Columns, rows: Iterable[Sequence[str]], tall: bool = True) -> Block | None:
    """A table, ``tall`` with room to write in its rows; nothing without rows."""
    cells = [list(row) for row in rows]
    if not cells:
        return None
    heads, widths = [list(part) for part in zip(*columns, strict=True)]
    return {"kind": "table", "heads": heads, "widths": widths, "rows": cells, "tall": tall}


def ticks(items: Iterable[str], columns: int = 2) -> Block | None:
    """Things to tick off, in columns."""
    listed = list(items)
    return {"kind": "ticks", "items": listed, "columns": columns} if listed else None


def blanks(*labels: str) -> Block:
    """Labels, each with a line to write on."""
    return {"kind": "blanks", "labels": list(labels)}


def picture(name: str, tall: float = 0.0) -> Block:
    """A drawing so many mm tall at most, or one that fills the page's width or height."""
    return {"kind": "picture", "name": name, "tall": tall}


def lines(count: int) -> Block:
    """Empty lines for remarks."""
    return {"kind": "lines", "count": count}


def cautions(plan: Plan, *steps: str) -> list[Block]:
    """Cautions and accepted stops that were found in these steps."""
    reasons = {item.finding: item.reason for item in plan.job.accepted}
    return [
        _caution(finding, reasons.get(finding.id, ""))
        for finding in plan.findings
        if finding.step in steps and finding.level is not Level.NOTE
    ]


def _caution(finding: Finding, reason: str) -> Block:
    word = "Stop, accepted by the builder" if reason else finding.level.value
    return {
        "kind": "caution",
        "word": word,
        "what": finding.what,
        "why": f"Accepted because: {reason}" if reason else finding.why,
        "do": list(finding.do),
    }


def from_base(plan: Plan, x: float, digits: int = 0) -> str:
    """Distance of a place from the base trim line, mm."""
    return mm(plan.shape.base - x, digits)


def from_face(plan: Plan, x: float, digits: int = 0) -> str:
    """Distance of a place from the mould's base end, where a flange begins, mm."""
    return mm(plan.shape.stop - x, digits)


def mm(value: float, digits: int = 2) -> str:
    """A length without its unit, which the head of its column tells."""
    return f"{value * 1e3:.{digits}f}".replace("-", "−")


def amount(value: float, unit: str, digits: int = 0) -> str:
    """A value with its unit, or a blank where it is not known."""
    text = show(value, unit, digits)
    return BLANK if text == "not known" else text
