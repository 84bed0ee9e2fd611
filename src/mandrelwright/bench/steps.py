"""The steps of the face in the order of the shop: what each asks for and what judges it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from mandrelwright.findings.finding import Finding, Level


class Step(NamedTuple):
    """One step: tables of the job that it edits, finding prefixes that judge it, page of docs."""

    key: str
    title: str
    does: str
    tables: tuple[str, ...]
    judges: tuple[str, ...]
    page: str


STEPS = (
    Step("shape", "Shape", "The part as drawn, from its tip to its base.",
         ("part", "section", "materials"), ("job", "shape"), "shape"),
    Step("layers", "Layers", "Sleeves and cloth on the shelf, and where each layer lies.",
         ("sleeve", "cloth", "layer", "compaction"), ("stack", "wall"), "stack"),
    Step("mould", "Mould", "What the layers are laid on, and how the part leaves it.",
         ("mould",), ("mould",), "mould"),
    Step("print", "Print", "The printer, its bed, and what is known of its errors.",
         ("printer",), ("print",), "print"),
    Step("surface", "Surface", "What is done to the print before anything is laid on it.",
         ("surface",), ("surface",), "surface"),
    Step("gate", "Gate", "Read the finished mould before the first wet layer.",
         ("fit",), ("fit",), "gate"),
    Step("layup", "Lay-up", "Resin, cups, hands and room.",
         ("resin", "shop"), ("layup", "patterns", "supplies"), "layup"),
    Step("cure", "Cure", "How long it stays how warm.",
         ("schedule", "stated"), ("cure",), "cure"),
    Step("release", "Release", "What keeps it from sticking, and how it is pulled.",
         ("release", "release_steps"), ("release",), "release"),
    Step("measure", "Measure", "Read the part, and let the reading decide.",
         (), (), "gate"),
    Step("finish", "Finish", "Trim, fair, paint; what is fixed to the part.",
         ("assembly",), ("assembly", "joints"), "assembly"),
    Step("flight", "Flight", "How fast and how high, roughly.",
         ("flight",), ("flight", "strength"), "flight"),
    Step("radio", "Radio", "Antennas behind the wall, and where they sit.",
         ("antenna",), ("radio",), "radio"),
)  # fmt: skip
AT_ONCE = {"job", "shape", "stack", "wall", "mould", "surface", "cure", "fit"}  # by a draft
WAITING = tuple(step.key for step in STEPS if not AT_ONCE.issuperset(step.judges))
_OF_TABLE = {table: step.key for step in STEPS for table in step.tables}
_OF_FINDING = {prefix: step.key for step in STEPS for prefix in step.judges}
_OWN_STEP = {"mould.ridges": "finish", "fit.follows-badly": "measure", "fit.measure-next": "print"}


def step_of_table(table: str) -> str:
    """Key of the step that edits a table; what no step claims comes with the shape."""
    return _OF_TABLE.get(table, STEPS[0].key)


def step_of(finding: Finding) -> str:
    """Key of the step at which a finding is told."""
    return _OWN_STEP.get(finding.id) or _OF_FINDING.get(finding.step, STEPS[0].key)


def verdicts(findings: Iterable[Finding], stops: Iterable[Finding]) -> dict[str, list[int]]:
    """Stops that stand, cautions and notes of every step."""
    told = {step.key: [0, 0, 0] for step in STEPS}
    standing = list(stops)
    for finding in findings:
        level = list(Level).index(finding.level)
        accepted = finding.level is Level.STOP and finding not in standing
        told[step_of(finding)][1 if accepted else level] += 1
    return told
