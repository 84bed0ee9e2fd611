"""The lay-up minute by minute: pull, tie, mix, wet, squeeze, cover."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.stages.cups import Cupful
from mandrelwright.stages.pieces import LAYUP, Piece
from mandrelwright.stages.record import result

NAMES = ("mix", "pull", "tie", "wet", "squeeze", "cover")
HANDS = (*(f"{LAYUP}{name}" for name in (*NAMES, "helper")), "job.shop.people")


@dataclass(frozen=True)
class Minutes:
    """How long each thing takes these hands: s, or s/m² for wet, squeeze and cover."""

    mix: float
    pull: float
    tie: float
    wet: float
    squeeze: float
    cover: float

    def before(self, piece: Piece) -> float:
        """Pulling a layer on, and tying its end where it is a sleeve, s."""
        return self.pull + (self.tie if piece.tied else 0.0)


def minutes(job: Job, library: Library) -> Minutes:
    """The library's times; two people share all of them."""
    practice = library.practice["lay-up"]
    share = practice["helper"].value if job.shop.people > 1 else 1.0
    return Minutes(*(share * practice[name].value for name in NAMES))


@dataclass(frozen=True)
class Step:
    """One line of the plan: what is done (a verb), to which layer, from which cup; s.

    ``layer`` is empty where it concerns all; ``cup`` 0 where no resin is used. ``part`` of
    ``parts``: the share of the layer that this cup wets.
    """

    number: int
    verb: str
    layer: str
    cup: int
    at: float = result("when it begins", "min")
    lasts: float = result("how long it takes", "min")
    part: int = 0
    parts: int = 1

    @property
    def label(self) -> str:
        """Number and verb."""
        return f"{self.number} {self.verb}"

    @property
    def ends(self) -> float:
        """When it is done, s from the beginning."""
        return self.at + self.lasts


def timetable(
    pieces: Sequence[Piece], fillings: Sequence[Cupful], hands: Minutes, covered: bool
) -> tuple[Step, ...]:
    """Steps one after another; a cup is mixed when the layer it begins with has been pulled.

    wet = time per area·area/parts, squeeze = time per area·area; covering goes by the largest.
    """
    table = _Table()
    for cup, filling in enumerate(fillings, 1):
        for share in filling:
            piece = pieces[share.layer]
            if share.part == 0:
                table.add("pull", piece.label, 0, hands.pull)
                if piece.tied:
                    table.add("tie", piece.label, 0, hands.tie)
            if share is filling[0]:
                table.add("mix", "", cup, hands.mix)
            wet = hands.wet * piece.area / share.parts
            table.add("wet", piece.label, cup, wet, share.part, share.parts)
            if share.part == share.parts - 1:
                table.add("squeeze", piece.label, 0, hands.squeeze * piece.area)
    if fillings and covered:
        table.add("cover", "", 0, hands.cover * max(piece.area for piece in pieces))
    return tuple(table.steps)


class _Table:
    """Steps as they are added, and the clock."""

    def __init__(self) -> None:
        self.steps: list[Step] = []
        self.clock = 0.0

    def add(
        self, verb: str, layer: str, cup: int, lasts: float, part: int = 0, parts: int = 1
    ) -> None:
        """Append a step at the clock's time and move the clock on."""
        number = len(self.steps) + 1
        self.steps.append(Step(number, verb, layer, cup, self.clock, lasts, part, parts))
        self.clock += lasts
