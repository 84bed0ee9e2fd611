"""What is measured now, and entries checked before they are kept: for terminal and web page."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TypeVar

from mandrelwright.job.values import InputError
from mandrelwright.plan import Plan
from mandrelwright.shop.entries import Coupon, Entry, Mould, Part, Reading, Tool, Weight, make
from mandrelwright.shop.expect import earlier, expected_readings, expected_weight
from mandrelwright.shop.facts import facts_of
from mandrelwright.shop.log import Log, correction, links
from mandrelwright.shop.predicted import PART_STAGES
from mandrelwright.shop.slips import Question, question_reading, question_weight
from mandrelwright.shop.standing import Logged

Measured = TypeVar("Measured", bound=Reading | Weight)


class QuestionedError(InputError):
    """A measure that looks like a slip; kept only when whoever typed it insists."""

    def __init__(self, question: Question) -> None:
        super().__init__(question.text, "read again; --yes keeps it as it is")
        self.question = question

    def __str__(self) -> str:
        return f"{self.limit} If not, {self.remedy}."


@dataclass(frozen=True)
class Measuring:
    """A log and the plan by which readings are judged; who writes, with which tool.

    begun: moulds, parts, rings and tools that are new, kept with the first entry about them, so
    that a refused reading leaves nothing behind.
    """

    log: Log
    plan: Plan
    by: str = ""
    tool: Entry | None = None
    begun: list[Entry] = field(default_factory=list)

    def keep(self, entries: Iterable[Entry]) -> list[int]:
        """Keep entries, with what was begun for them, all or none; their numbers."""
        given = list(entries)
        if not given:
            return []
        numbers = self.log.append([*self.begun, *given])[len(self.begun) :]
        self.begun.clear()
        return numbers

    def rows(self) -> list[Logged]:
        """What stands in the log, and what was begun and is not kept yet."""
        return [*self.log.standing(), *(Logged(0, entry) for entry in self.begun)]

    def moulds(self) -> list[Mould]:
        """Moulds of this job that stand, oldest first."""
        entries = [row.entry for row in self.rows()]
        job = self.plan.job.part.name
        return [entry for entry in entries if isinstance(entry, Mould) and entry.job == job]

    def mould(self, name: str = "", new: bool = False) -> Entry:
        """The mould of a name, the latest where none is given; begun when it is to be.

        The first mould of a log needs no ``new``. Raises InputError for a name not known.
        """
        known = self.moulds()
        wanted = name or (known[-1].name if known and not new else str(len(known) + 1))
        for mould in known:
            if mould.name == wanted:
                return mould
        if known and not new:
            told = f'mould "{wanted}" is not in {self.log.where}'
            names = ", ".join(mould.name for mould in known)
            raise InputError(told, f"known are {names}; add --new to begin it")
        return self._begin("mould", name=wanted, **facts_of(self.plan))

    def part(self, mould: Entry, name: str = "") -> Entry:
        """The part of a name on a mould, the latest where none is given; begun if unknown."""
        entries = [row.entry for row in self.rows()]
        known = [e for e in entries if isinstance(e, Part) and e.mould == mould.id]
        wanted = name or (known[-1].name if known else "1")
        for part in known:
            if part.name == wanted:
                return part
        return self._begin("part", mould=mould.id, name=wanted)

    def ring(self, name: str, file: str = "") -> Entry:
        """The ring of a name; begun with its diameter in the file where that is given."""
        known = [row.entry for row in self.rows() if isinstance(row.entry, Coupon)]
        for ring in known:
            if ring.name == name:
                return ring
        if not file:
            return self.log.named("coupon", name)
        plastic = self.plan.job.mould.plastic
        return self._begin("coupon", name=name, what="ring", plastic=plastic, file=file)

    def _begin(self, kind: str, **given: object) -> Entry:
        entry = make(kind, by=self.by, **given)
        self.begun.append(entry)
        return entry

    def marks(self, about: Entry) -> dict[str, str]:
        """Marks of a mould or part with their purpose, as the mould was printed."""
        if about.kind == "coupon":
            return {"A": "outside diameter"}
        mould = about if isinstance(about, Mould) else self._about(about.mould)
        assert isinstance(mould, Mould)
        facts: Mapping[str, Mapping[str, object]] = mould.facts.get("marks", {})
        return {
            name: f"{mark['purpose']}, {float(str(mark['from_base'])) * 1e3:.0f} mm from the base"
            for name, mark in facts.items()
        }

    def reading(
        self, about: Entry, stage: str, mark: str, reads: str, insist: bool = False, **more: str
    ) -> Reading:
        """A reading ready to be kept; raises QuestionedError for what looks like a slip.

        reads: a diameter; "wall 1.47" and "length 46.9" say so. Insisted on, the reading says
        what was asked. The repeat is counted unless it is given. Raises InputError for a mark
        not there.
        """
        marks = self.marks(about)
        mark = mark.upper() if mark.upper() in marks else mark
        if mark not in marks:
            told = ", ".join(f"{name} ({purpose})" for name, purpose in marks.items())
            raise InputError(f"mark {mark} is not there", f"its marks are {told}")
        tool = {"tool": self.tool.id} if self.tool and "tool" not in more else {}
        rows = self.rows()
        of, reads = _size(reads)
        of = of or "diameter"
        before = len(earlier(about, stage, rows, of).get(mark, []))
        given = {**links(about), "by": self.by, "stage": stage, "mark": mark, "reads": reads}
        given |= {"of": of, "repeat": str(before + 1)}
        entry = make("reading", **{**given, **tool, **more})
        assert isinstance(entry, Reading)
        return self._asked(entry, about, rows, insist)

    def weight(self, about: Entry, what: str, reads: str, insist: bool = False) -> Weight:
        """A weight ready to be kept; raises QuestionedError likewise."""
        given = {**links(about), "by": self.by, "what": what, "reads": reads}
        entry = make("weight", **given)
        assert isinstance(entry, Weight)
        return self._asked(entry, about, (), insist)

    def corrected(self, old: Measured, because: str, reads: str, insist: bool = False) -> Measured:
        """A reading or weight put right, ready to be kept; raises QuestionedError likewise."""
        more: dict[str, str] = {"questioned": "", "by": self.by}
        if isinstance(old, Reading):
            of, reads = _size(reads)
            more["of"] = of or old.of
        entry = correction(old, because, reads=reads, **more)
        assert isinstance(entry, type(old))
        about = self._about(old.part or old.coupon or old.mould)
        return self._asked(entry, about, self.rows(), insist)

    def _about(self, key: str | None) -> Entry:
        """The mould, part or ring of an id, begun or in the log."""
        begun = (entry for entry in self.begun if entry.id == key)
        return next(begun, None) or self.log.found(key)

    def _asked(
        self, entry: Measured, about: Entry, rows: Sequence[Logged], insist: bool
    ) -> Measured:
        """The entry where nothing is odd; insisted on, it holds what was asked."""
        question = question_of(self.plan, entry, about, rows)
        if question is None:
            return entry
        if not insist:
            raise QuestionedError(question)
        return replace(entry, questioned=question.text)


def question_of(plan: Plan, entry: Entry, about: Entry, rows: Sequence[Logged]) -> Question | None:
    """What to ask about an entry before it is kept; None where nothing is odd or known.

    about: what it is of. rows: what stands in the log; what the entry corrects counts no more.
    """
    if isinstance(entry, Weight):
        return question_weight(entry.what, entry.reads, expected_weight(plan, entry.what))
    if not isinstance(entry, Reading) or entry.of != "diameter":
        return None
    others = [row for row in rows if row.entry.id != entry.replaces]
    expected = expected_readings(plan, about, entry.stage, others)
    return question_reading(entry.mark, entry.reads, expected)


def _size(text: str) -> tuple[str, str]:
    """What was read, "" where it is not said, and the measure: "wall 1.47", "98.31"."""
    word, _, rest = text.strip().partition(" ")
    return (word, rest.strip()) if word in ("wall", "length") else ("", text)


def known_tool(log: Log, text: str) -> tuple[Entry, list[Entry]]:
    """The tool of a name, and what is to be kept of it: "caliper = 0.02 mm" begins a new one."""
    name, _, doubt = (part.strip() for part in text.partition("="))
    known = [row.entry for row in log.standing() if isinstance(row.entry, Tool)]
    for tool in known:
        if tool.name == name:
            return tool, []
    if not doubt:
        return log.named("tool", name), []
    heavy = doubt.endswith("g")
    begun = make("tool", name=name, **{"doubt_mass" if heavy else "doubt": doubt})
    return begun, [begun]


def is_of_part(stage: str) -> bool:
    """Whether a stage is one of the part and not of the mould."""
    return stage in PART_STAGES
