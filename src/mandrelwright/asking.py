"""Guided entry for a person with gloves and calipers: mark by mark, each reading kept at once."""

from __future__ import annotations

from dataclasses import dataclass, field

import typer

from mandrelwright.job.records import STAGES
from mandrelwright.job.values import InputError
from mandrelwright.quantities import show
from mandrelwright.shop.entries import Entry, Reading
from mandrelwright.shop.measuring import Measuring, QuestionedError

HELP = "ENTER next mark · b back · q end · a number without a unit is in mm · 98.31 @ 90 says 90°"


@dataclass
class Round:
    """One walk along the marks: what is read, and what was kept of it, for going back."""

    measuring: Measuring
    about: Entry
    stage: str
    temperature: str
    kept: list[Reading] = field(default_factory=list)

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
        return self.kept

    def _take(self, mark: str, answer: str) -> None:
        """Keep one answer, or say why it cannot be read; asked again in both cases."""
        reading = self._checked(mark, answer)
        if reading is not None:
            number = self.measuring.log.append([reading])[0]
            self.kept.append(reading)
            typer.echo(f"  kept: {mark} {show(reading.reads.value, 'mm', 2)}  (entry {number})")

    def _checked(self, mark: str, answer: str, insist: bool = False) -> Reading | None:
        reads, _, angle = (part.strip() for part in answer.partition("@"))
        more = {"angle": angle, "temperature": self.temperature}
        try:
            return self.measuring.reading(self.about, self.stage, mark, reads, insist, **more)
        except QuestionedError as asked:
            typer.echo(f"  ? {asked.question.text}")
            meant = asked.question.meant
            choices = (
                f"y: {meant} · " if meant else ""
            ) + "k: keep it as typed · ENTER: type again"
            said = _asked(f"    {choices}\n  >")
            if said == "y" and meant:
                return self._checked(mark, f"{meant} @ {angle}" if angle else meant)
            if said == "k":
                return self._checked(mark, answer, insist=True)
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
            reads = answer.partition("@")[0].strip()
            try:
                right = self.measuring.log.correct(last, "corrected at the bench", reads=reads)
            except InputError as error:
                typer.echo(f"  {error}")
                return place
            assert isinstance(right, Reading)
            self.kept[-1] = right
            typer.echo(f"  kept: {last.mark} {show(right.reads.value, 'mm', 2)}")
        return next(i for i, (name, _) in enumerate(marks) if name == last.mark)


def ask_stage() -> str:
    """Which stage the thing is in, by number or word."""
    typer.echo("In which state is it?")
    for number, stage in enumerate(STAGES, start=1):
        typer.echo(f"  {number:>2}  {WORDS[stage]}")
    while True:
        answer = _asked("  >") or "ready"
        if answer in STAGES:
            return answer
        if answer.isdecimal() and 1 <= int(answer) <= len(STAGES):
            return STAGES[int(answer) - 1]
        typer.echo(f"  a number from 1 to {len(STAGES)}")


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
