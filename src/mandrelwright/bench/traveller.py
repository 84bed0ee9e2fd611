"""The build sheet one step at a time: what is done, what is written, which clock it starts.

The paper and the phone say the same, because the steps are walked out of the sheet's own
sections: a list to tick is one step, a row to fill in is one, a caution stands before them.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

from mandrelwright.out import layup as bench
from mandrelwright.out import sheet_cure, sheet_layup, sheet_mould, sheet_part, sheet_print
from mandrelwright.out.build_sheet import sheet_data
from mandrelwright.out.sheet import BLANK, TICK, Block, Columns
from mandrelwright.plan import Plan
from mandrelwright.quantities import show
from mandrelwright.shop.recall import OUTCOMES

About = Literal["mould", "part"]
Keeps = Literal["note", "weight", "reading", "ring"]

GATES = {"Gate: as printed": "printed", "Gate: ready to wax": "ready", "Gate: the part": "part"}
FIRST_OF_PART = "Gate: ready to wax"  # from here on every part goes through it again
ON_PAPER_ONLY = ("Section", "Ladder", "Log", "Calendar: treatment, cure, release")
AT_A_DESK = "With a computer at hand"
ANGLES = ("0°", "60°", "120°")


@dataclass(frozen=True)
class Field:
    """Something to write down: what the log keeps it as, of what, where round the axis (deg).

    need: the step is not done without it.
    """

    label: str
    keeps: Keeps = "note"
    what: str = ""
    angle: float | None = None
    need: bool = False


@dataclass(frozen=True)
class Cup:
    """A cup to weigh, g: planned resin, hardener per gram of resin (NaN: see the can), the scale's
    step."""

    number: int
    resin: float
    ratio: float
    scale: float


@dataclass(frozen=True)
class Step:
    """One step: title, what to know, what to tick, what to write.

    about: of the mould, or of each part laid on it. gate: stage whose reading must be in before
    the next step. ring: the ring's diameter in its file. choices: events of which one is logged.
    starts: a clock and its seconds; stops: the clock that ends here.
    """

    id: str
    chapter: str
    about: About
    title: str
    text: tuple[str, ...] = ()
    cautions: tuple[Block, ...] = ()
    table: Block | None = None
    ticks: tuple[str, ...] = ()
    fields: tuple[Field, ...] = ()
    gate: str = ""
    cup: Cup | None = None
    ring: str = ""
    choices: tuple[str, ...] = ()
    starts: tuple[str, float] | None = None
    stops: str = ""


@dataclass
class _Walk:
    """Steps of one section as they are found, and what is told before the next of them."""

    chapter: str
    about: About
    steps: list[Step] = field(default_factory=list)
    text: list[str] = field(default_factory=list)
    cautions: list[Block] = field(default_factory=list)
    table: Block | None = None
    heading: str = ""

    def step(self, title: str, **given: Any) -> None:
        """Append a step that carries what has been told since the last."""
        name = re.sub(r"[^a-z]+", "-", self.chapter.lower()).strip("-")
        number = len(self.steps) + 1
        text = (*self.text, *given.pop("text", ()))
        self.steps.append(
            Step(f"{name}.{number}", self.chapter, self.about, title[:1].upper() + title[1:], text,
                 tuple(self.cautions), self.table, **given)
        )  # fmt: skip
        self.text, self.cautions, self.table = [], [], None


def travel(plan: Plan) -> tuple[Step, ...]:
    """Every step from the first caution to the finished part, in the order of the shop."""
    about: About = "mould"
    steps: list[Step] = []
    for section in sheet_data(plan)["sections"]:
        if section["title"] in ON_PAPER_ONLY:
            continue
        if section["title"] == FIRST_OF_PART:
            about = "part"
        walk = _Walk(section["title"], about)
        for block in section["blocks"]:
            _take(plan, walk, block)
        if walk.text or walk.cautions or walk.table:
            walk.step(walk.heading or walk.chapter)
        steps += walk.steps
    end = _Walk("The end", "part")
    end.step("How did it end?", text=("On its mate, after what finishing there was.",),
             choices=OUTCOMES)  # fmt: skip
    return (*steps, *end.steps)


def _take(plan: Plan, walk: _Walk, block: Block) -> None:
    """One block of the sheet becomes steps, or is told with the next one."""
    kind = block["kind"]
    if kind == "head":
        walk.heading = block["text"]
    elif kind == "say" and not block["text"].startswith(AT_A_DESK):
        walk.text.append(block["text"])
    elif kind == "caution":
        walk.cautions.append(block)
    elif kind == "ticks":
        walk.step(walk.heading or walk.chapter, ticks=tuple(block["items"]))
    elif kind == "blanks" and not _is_of_gate(walk, block):
        walk.step("Write down", fields=tuple(map(_blank, block["labels"])))
    elif kind == "table":
        _table(plan, walk, block)


def _is_of_gate(walk: _Walk, block: Block) -> bool:
    """The blanks for the mean of a gate, which the program takes itself."""
    return walk.chapter in GATES and "mean at A" in block["labels"]


def _blank(label: str, name: str = "") -> Field:
    """A line to write on: a weight where its unit is g (of what the row names), else a note."""
    weight = re.fullmatch(r"(.+?) g|(.+) weighs \(plan .+ g.*\)", label)
    if weight is None:
        return Field(label)
    what = weight[1] or weight[2]
    return Field(label, "weight", {"weighs": name, "trimmed part": "part"}.get(what, what)[:60])


def _heads(columns: Columns) -> list[str]:
    return [head for head, _ in columns]


def _table(plan: Plan, walk: _Walk, block: Block) -> None:
    heads = block["heads"]
    if heads[: len(sheet_mould.DO)] == _heads(sheet_mould.DO):
        return  # the program reads the gate's table
    if heads == _heads(sheet_layup.CUPS):
        walk.step("Weigh each cup when the plan asks for it", ticks=("cups stand ready",))
    elif heads == _heads(sheet_layup.STEPS):
        _lay(plan, walk)
    elif heads == _heads(sheet_mould.GATE):
        _gate(walk, block["rows"])
    elif heads == _heads(sheet_part.FITS):
        names = {mark.purpose: mark.name for mark in plan.mould.marks}
        _part_gate(walk, block["rows"], names)
    elif heads == _heads(sheet_print.RINGS):
        for row in block["rows"]:
            fields = tuple(Field(a, "ring", row[1], float(a[:-1]), a == "0°")
                           for a in ANGLES)  # fmt: skip
            told = (f"{row[2]} mm in its file, {row[3]} mm expected.",)
            walk.step(f"Measure {row[1]}", text=told, fields=fields, ring=f"{row[2]} mm")
    elif heads == _heads(sheet_cure.STAYS):
        _stays(plan, walk)
    elif heads != _heads(sheet_cure.SOAKS) and any(TICK in row for row in block["rows"]):
        _rows(walk, heads, block["rows"])
    else:
        walk.table = block


def _rows(walk: _Walk, heads: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    """Rows to tick: with blanks a step each, without one list."""
    listed = [row for row in rows if row[0] == TICK]
    if not any(_to_write(heads, row) for row in listed):
        told = tuple(": ".join((row[1], ", ".join(_known(heads, row)))) for row in listed)
        walk.step(walk.heading or walk.chapter, ticks=told)
        return
    for row in listed:
        pairs = list(zip(heads, row, strict=True))[1:]
        fields = tuple(_blank(head, row[1]) for head in _to_write(heads, row))
        ticks = tuple(head for head, cell in pairs[1:] if cell == TICK)
        name = f"{heads[1]} {row[1]}" if row[1].isdecimal() else row[1]
        walk.step(name, text=tuple(_known(heads, row)), fields=fields, ticks=ticks)


def _to_write(heads: Sequence[str], row: Sequence[str]) -> list[str]:
    """Heads of a row's blanks; a blank for remarks alone asks for nothing."""
    blank = [head for head, cell in zip(heads, row, strict=True) if cell == BLANK]
    return [] if all("remark" in head for head in blank) else blank


def _known(heads: Sequence[str], row: Sequence[str]) -> list[str]:
    """What a row states after its name: head and value."""
    pairs = list(zip(heads, row, strict=True))[2:]
    plain = len(heads) == 3
    return [cell if plain else f"{head} {cell}" for head, cell in pairs
            if cell not in (BLANK, TICK, "–")]  # fmt: skip


def _gate(walk: _Walk, rows: Iterable[Sequence[str]]) -> None:
    """Readings of the mould's marks; A must be read, the others may."""
    stage = GATES[walk.chapter]
    marks = list(rows)
    for mark, what, from_base, from_face, aim, good, *_ in marks:
        fields = tuple(Field(a, "reading", mark, float(a[:-1]), mark == "A" and a == "0°")
                       for a in ANGLES)  # fmt: skip
        told = (f"{what}: {from_base} mm from base, {from_face} mm from face. Aim {aim} mm"
                + (f", good {good}." if mark == "A" else "."),)  # fmt: skip
        last = mark == marks[-1][0]
        title = f"Read mark {mark}"
        walk.step(title, text=told, fields=fields, gate=stage if last else "")


def _part_gate(walk: _Walk, rows: Iterable[Sequence[str]], names: Mapping[str, str]) -> None:
    """The part's own diameters at its fits, each at its mark; the leading one is read at A."""
    listed = list(rows)
    for number, (name, which, from_base, expected, limits, *_) in enumerate(listed):
        mark = "A" if number == 0 else names.get(name, name)
        fields = tuple(Field(a, "reading", mark, float(a[:-1]), number == 0 and a == "0°")
                       for a in ANGLES)  # fmt: skip
        told = (f"Its {which}, {from_base} mm from base: {expected} mm expected, {limits} good.",)
        gate = "part" if number == len(listed) - 1 else ""
        walk.step(f"Read {name}", text=told, fields=fields, gate=gate)


def _lay(plan: Plan, walk: _Walk) -> None:
    """The timed steps; mixing starts a cup's clock, its last wetting stops it."""
    layup = plan.layup
    last = {step.cup: step.number for step in layup.steps if step.cup}
    ratio = math.nan if plan.job.resin.hardener is None else plan.job.resin.hardener.value
    scale = plan.job.shop.scale.value
    told = list(bench.steps(layup, scale))
    for (minute, sentence), step in zip(told, layup.steps, strict=False):
        takes = "under a minute" if step.lasts < 30.0 else show(step.lasts, "min", 0)
        more: dict[str, Any] = {}
        text = [f"Planned from minute {minute}, takes {takes}."]
        if step.verb == "mix":
            cup = layup.cups[step.cup - 1]
            resin = cup.mixed if math.isnan(cup.hardener) else cup.resin
            weighed = 1e3 * scale * round(resin / scale)
            more["cup"] = Cup(cup.number, round(weighed, 3), ratio, 1e3 * scale)
            if math.isnan(layup.lasts):
                text.append("No clock runs for it: how long a cup lasts is not stated.")
            else:
                more["starts"] = (cup.label, layup.lasts)
        elif step.number == last.get(step.cup):
            more["stops"] = f"cup {step.cup}"
        walk.step(sentence, text=tuple(text), **more)
    for minute, sentence in told[len(layup.steps) :]:
        walk.step(sentence, text=(f"From minute {minute}.",))


def _stays(plan: Plan, walk: _Walk) -> None:
    """Each stay of the schedule, with its clock."""
    for number, stay in enumerate(plan.job.schedule, 1):
        at = "shop temperature" if isinstance(stay.at, str) else show(stay.at.value, "degC", 0)
        fields = (Field("°C in"),)
        walk.step(f"Begin stay {number}: {stay.stay.value / 3600.0:g} h at {at}", fields=fields,
                  starts=(f"stay {number}", stay.stay.value))  # fmt: skip
        walk.step(f"End stay {number}", fields=(Field("°C out"),), stops=f"stay {number}")


def listed(steps: Iterable[Step]) -> Iterator[dict[str, Any]]:
    """Steps as plain data for a page; what is not known as null."""
    for step in steps:
        cup = step.cup
        yield {
            **{name: getattr(step, name) for name in
               ("id", "chapter", "about", "title", "text", "ticks", "gate", "ring", "choices",
                "stops")},
            "stage": GATES.get(step.chapter, ""),
            "cautions": step.cautions,
            "table": step.table and {key: step.table[key] for key in ("heads", "rows")},
            "fields": [vars(each) for each in step.fields],
            "starts": step.starts and {"name": step.starts[0], "lasts": step.starts[1]},
            "cup": cup and {"number": cup.number, "resin": cup.resin, "scale": cup.scale,
                            "ratio": None if math.isnan(cup.ratio) else cup.ratio},
        }  # fmt: skip
