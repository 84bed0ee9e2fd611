"""Guided entry for a person with gloves and calipers: mark by mark, each reading kept at once."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import partial

import typer

from mandrelwright.job.values import InputError
from mandrelwright.quantities import show
from mandrelwright.shop.entries import Entry, Part, Reading, Resin, make
from mandrelwright.shop.log import links
from mandrelwright.shop.lots import find_lot, of_part
from mandrelwright.shop.measuring import Measuring, QuestionedError

HELP = (
    "ENTER next mark · b back · q end · a number without a unit is in mm · 98.31 @ 90 says 90° · "
    "wall 1.47 · length 46.9"
)
HAPPENED = {
    "mended": "sanded or filmed after it was read",
    "waxed": "wax and film are on",
    "pulled": "the part is off the mould",
    "fits": "the part was tried on its mate, and fits",
    "reworked": "it fits after honing, a shim or the like",
    "scrapped": "it was given up",
}
OF_PART = ("pulled", "fits", "reworked", "scrapped")
LOT, EVENT = "lot", "event"


def ask(measuring: Measuring, about_of: Callable[[str], Entry], stage: str, at: str) -> list[Entry]:
    """Guided entry: readings of a state, a lot, or what happened; all of it is kept already.

    about_of: the mould, part or ring that is meant, by stage.
    """
    stage = stage or ask_stage()
    if stage == LOT:
        return ask_lot(measuring)
    about = about_of("" if stage == EVENT else stage)
    if stage == EVENT:
        return ask_event(measuring, about)
    name = measuring.plan.job.part.name
    typer.echo(f"\n{name} · {about.kind} {getattr(about, 'name', '')} · {stage}")
    walk = Round(measuring, about, stage, at or ask_temperature())
    kept: list[Entry] = list(walk.run())
    if isinstance(about, Part) and walk.finished:
        kept += ask_of_part(measuring, about)
    return kept


@dataclass
class Round:
    """One walk along the marks: what is read, and what was kept of it, for going back."""

    measuring: Measuring
    about: Entry
    stage: str
    temperature: str
    kept: list[Reading] = field(default_factory=list)
    finished: bool = False

    def run(self) -> list[Reading]:
        """Ask until the last mark, "q" or the end of the input; every reading is kept already."""
        marks = list(self.measuring.marks(self.about).items())
        typer.echo(HELP)
        place = 0
        while place < len(marks):
            mark, purpose = marks[place]
            count = sum(reading.mark == mark for reading in self.kept)
            again = f"   reading {count + 1}" if count else ""
            answer = _asked(f"\n  {mark}   {purpose}{again}\n  >")
            if answer in ("q", None):
                break
            if answer == "b":
                place = self._back(marks, place)
            elif answer == "":
                place += 1
            else:
                self._take(mark, answer)
        self.finished = place >= len(marks)
        return self.kept

    def _take(self, mark: str, answer: str) -> None:
        """Keep one answer, or say why it cannot be read; asked again in both cases."""
        reading = self._checked(partial(self._read, mark), answer)
        if reading is not None:
            number = self.measuring.keep([reading])[0]
            self.kept.append(reading)
            size = f"{mark} {reading.of} " if reading.of != "diameter" else f"{mark} "
            typer.echo(f"  kept: {size}{show(reading.reads.value, 'mm', 2)}  (entry {number})")

    def _read(self, mark: str, answer: str, insist: bool) -> Reading:
        reads, _, angle = (part.strip() for part in answer.partition("@"))
        more = {"angle": angle, "temperature": self.temperature}
        return self.measuring.reading(self.about, self.stage, mark, reads, insist, **more)

    def _checked(
        self, made: Callable[[str, bool], Reading], answer: str, insist: bool = False
    ) -> Reading | None:
        """What an answer makes, once it is no slip or is insisted on; None where it is neither."""
        try:
            return made(answer, insist)
        except QuestionedError as asked:
            typer.echo(f"  ? {asked.question.text}")
            meant = asked.question.meant
            choices = (
                f"y: {meant} · " if meant else ""
            ) + "k: keep it as typed · ENTER: type again"
            said = _asked(f"    {choices}\n  >")
            if said == "y" and meant:
                _, at, angle = answer.partition("@")
                return self._checked(made, f"{meant} {at}{angle}")
            if said == "k":
                return self._checked(made, answer, insist=True)
            typer.echo("  not kept")
        except InputError as error:
            typer.echo(f"  {error}")
        return None

    def _back(self, marks: list[tuple[str, str]], place: int) -> int:
        """Correct or take back the last reading, or go to the mark before."""
        if not self.kept:
            return max(place - 1, 0)
        last = self.kept[-1]
        answer = _asked(
            f"\n  {last.mark}   was {last.reads.text}: type it right, x takes it back\n  >"
        )
        if answer == "x":
            self.measuring.log.withdraw(last, "taken back at the bench", by=self.measuring.by)
            self.kept.pop()
            typer.echo("  taken back")
        elif answer:
            right = self._checked(partial(self._put_right, last), answer)
            if right is None:
                return place
            self.measuring.keep([right])
            self.kept[-1] = right
            typer.echo(f"  kept: {last.mark} {show(right.reads.value, 'mm', 2)}")
        return next(i for i, (name, _) in enumerate(marks) if name == last.mark)

    def _put_right(self, last: Reading, answer: str, insist: bool) -> Reading:
        reads = answer.partition("@")[0].strip()
        return self.measuring.corrected(last, "corrected at the bench", reads, insist)


def ask_stage() -> str:
    """Which stage the thing is in, by number or word; LOT or EVENT for what is no reading."""
    typer.echo("In which state is it? Or what else is to be entered?")
    more = {LOT: "no reading: a lot of resin or sleeve", EVENT: "no reading: something happened"}
    return _chosen({**WORDS, **more}, "ready")


def _chosen(words: Mapping[str, str], usual: str) -> str:
    """One of the words by its number or itself; ``usual`` for an empty answer."""
    names = list(words)
    for number, name in enumerate(names, start=1):
        typer.echo(f"  {number:>2}  {words[name]}")
    while True:
        answer = _asked("  >") or usual
        if answer in names:
            return answer
        if answer.isdecimal() and 1 <= int(answer) <= len(names):
            return names[int(answer) - 1]
        typer.echo(f"  a number from 1 to {len(names)}")


WORDS = {
    "ring": "ring, off the printer",
    "printed": "printed: the mould off the printer",
    "sanded": "sanded",
    "smoothed": "smoothed",
    "filled": "filled",
    "ready": "ready to wax",
    "filmed": "filmed: wax and film on",
    "set": "set: laminate on the mould",
    "part": "part, off the mould",
    "finished": "finished: after primer and paint",
}


def ask_temperature() -> str:
    """Temperature of the thing, as typed; "" for the reference of the job."""
    return _asked("Its temperature, in °C (ENTER: that of the job's reference)\n  >") or ""


def _asked(question: str) -> str | None:
    """An answer without its spaces; None at the end of the input."""
    try:
        answer = typer.prompt(question, default="", show_default=False, prompt_suffix=" ")
    except typer.Abort:
        return None
    return str(answer).strip()


def ask_lot(measuring: Measuring) -> list[Entry]:
    """A lot of resin or sleeve with its dates; one that is known gets what is new."""
    kind = _chosen({"resin": "resin and hardener", "sleeve": "sleeve or cloth"}, "resin")
    name = _asked("Its name, as in the job\n  >")
    if not name:
        return []
    told = [_asked("The number of its lot (ENTER: none)\n  >") or ""]
    asked = {"bought": "Bought on", "opened": "Opened on", "use by": "Use by"}
    for word in asked if kind == "resin" else ("bought",):
        day = _asked(f"{asked[word]}, a day like 2026-10-05 (ENTER: not told)\n  >")
        told += [f"{word} {day}"] if day else []
    text = f"{name} = {', '.join(told)}"
    return _kept(measuring, lambda: find_lot(measuring.log, kind, text, measuring.by)[1])


def ask_event(measuring: Measuring, about: Entry) -> list[Entry]:
    """What happened to a mould or its part, what it changed and cost."""
    typer.echo("What happened?")
    what = _chosen({word: f"{word}: {text}" for word, text in HAPPENED.items()}, "mended")
    if what in OF_PART and about.kind == "mould":
        about = measuring.part(about)
    given = {"what": what, "by": measuring.by}
    if what == "mended":
        question = "What it changed on the diameter, in mm (-0.05; ENTER: not told)\n  >"
        given["amount"] = _asked(question) or ""
    given["cost"] = _asked("What it cost (ENTER: nothing)\n  >") or ""
    given["text"] = _asked("In your words (ENTER: none)\n  >") or ""
    return _kept(measuring, lambda: [make("event", **links(about), **given)])


def ask_of_part(measuring: Measuring, part: Part) -> list[Entry]:
    """Lot of resin and mate of a part that has none yet."""
    standing = (row.entry for row in measuring.log.standing())
    lots = {entry.id: entry for entry in standing if isinstance(entry, Resin)}
    resin, mate = None, ""
    if part.resin is None and lots:
        typer.echo("Of which resin?")
        names = {key: f"{lot.name} {lot.lot} {lot.opened_on}" for key, lot in lots.items()}
        resin = lots.get(_chosen({**names, "none": "not told"}, "none"))
    if part.mate is None:
        mate = _asked("The mate it is tried on, in mm (ENTER: as in the job)\n  >") or ""
    return _kept(measuring, lambda: list(of_part(part, resin, [], mate, measuring.by)))


def _kept(measuring: Measuring, made: Callable[[], list[Entry]]) -> list[Entry]:
    """Entries once they are on the disk; none, with the reason told, where they cannot be."""
    try:
        entries = made()
        measuring.keep(entries)
    except InputError as error:
        typer.echo(f"  {error}\n  not kept")
        return []
    return entries
