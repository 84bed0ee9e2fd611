"""What is measured now, and entries checked before they are kept: for terminal and web page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from mandrelwright.job.values import InputError
from mandrelwright.plan import Plan
from mandrelwright.shop.entries import Coupon, Entry, Mould, Part, Reading, Tool, Weight, make
from mandrelwright.shop.expect import earlier, expected_readings, expected_weight
from mandrelwright.shop.log import Log, links
from mandrelwright.shop.predicted import PART_STAGES
from mandrelwright.shop.slips import Question, question_reading, question_weight
from mandrelwright.shop.standing import Logged


class QuestionedError(InputError):
    """A measure that looks like a slip; kept only when whoever typed it insists."""

    def __init__(self, question: Question) -> None:
        super().__init__(question.text, "read again; --yes keeps it as it is")
        self.question = question

    def __str__(self) -> str:
        return f"{self.limit} If not, {self.remedy}."


@dataclass(frozen=True)
class Measuring:
    """A log and the plan by which readings are judged; who writes, with which tool."""

    log: Log
    plan: Plan
    by: str = ""
    tool: Entry | None = None

    def moulds(self) -> list[Mould]:
        """Moulds of this job that stand, oldest first."""
        entries = [row.entry for row in self.log.standing()]
        job = self.plan.job.part.name
        return [entry for entry in entries if isinstance(entry, Mould) and entry.job == job]

    def mould(self, name: str = "", new: bool = False) -> Entry:
        """The mould of a name, the latest where none is given; kept anew when it is to be.

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
        return self.log.add_mould(self.plan, wanted, by=self.by)

    def part(self, mould: Entry, name: str = "") -> Entry:
        """The part of a name on a mould, the latest where none is given; kept anew if unknown."""
        entries = [row.entry for row in self.log.standing()]
        known = [e for e in entries if isinstance(e, Part) and e.mould == mould.id]
        wanted = name or (known[-1].name if known else "1")
        for part in known:
            if part.name == wanted:
                return part
        return self.log.add_part(mould, wanted, by=self.by)

    def ring(self, name: str, file: str = "") -> Entry:
        """The ring of a name; kept anew with its diameter in the file where that is given."""
        known = [row.entry for row in self.log.standing() if isinstance(row.entry, Coupon)]
        for ring in known:
            if ring.name == name:
                return ring
        if not file:
            return self.log.named("coupon", name)
        plastic = self.plan.job.mould.plastic
        return self.log.add("coupon", name=name, what="ring", plastic=plastic, file=file)

    def marks(self, about: Entry) -> dict[str, str]:
        """Marks of a mould or part with their purpose, as the mould was printed."""
        if about.kind == "coupon":
            return {"A": "outside diameter"}
        mould = about if isinstance(about, Mould) else self.log.found(about.mould)
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
        rows = self.log.standing()
        of, reads = _size(reads)
        before = len(earlier(about, stage, rows, of).get(mark, []))
        given = {**links(about), "by": self.by, "stage": stage, "mark": mark, "reads": reads}
        given |= {"of": of, "repeat": str(before + 1)}
        entry = make("reading", **{**given, **tool, **more})
        assert isinstance(entry, Reading)
        question = question_of(self.plan, entry, about, rows)
        if question is None:
            return entry
        if not insist:
            raise QuestionedError(question)
        kept = make("reading", **{**given, **tool, **more}, id=entry.id, questioned=question.text)
        assert isinstance(kept, Reading)
        return kept

    def weight(self, about: Entry, what: str, reads: str, insist: bool = False) -> Weight:
        """A weight ready to be kept; raises QuestionedError likewise."""
        given = {**links(about), "by": self.by, "what": what, "reads": reads}
        entry = make("weight", **given)
        assert isinstance(entry, Weight)
        question = question_of(self.plan, entry, about, ())
        if question is None:
            return entry
        if not insist:
            raise QuestionedError(question)
        kept = make("weight", **given, id=entry.id, questioned=question.text)
        assert isinstance(kept, Weight)
        return kept


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
    """What was read, and the measure: "wall 1.47" is a wall, "98.31" a diameter."""
    word, _, rest = text.strip().partition(" ")
    return (word, rest.strip()) if word in ("wall", "length") else ("diameter", text)


def known_tool(log: Log, text: str) -> Entry:
    """The tool of a name; "caliper = 0.02 mm" keeps one that is not known yet."""
    name, _, doubt = (part.strip() for part in text.partition("="))
    known = [row.entry for row in log.standing() if isinstance(row.entry, Tool)]
    for tool in known:
        if tool.name == name:
            return tool
    if not doubt:
        return log.named("tool", name)
    heavy = doubt.endswith("g")
    return log.add("tool", name=name, **{"doubt_mass" if heavy else "doubt": doubt})


def is_of_part(stage: str) -> bool:
    """Whether a stage is one of the part and not of the mould."""
    return stage in PART_STAGES
