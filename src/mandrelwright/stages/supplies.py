"""Step 11, Patterns, continued: what is taken of every sleeve and roll, the shelf and the cost."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from mandrelwright.findings import supplies as say
from mandrelwright.findings.finding import Finding
from mandrelwright.job.layup import Cloth, Sleeve
from mandrelwright.job.spec import Job
from mandrelwright.stages.layup import LayUp
from mandrelwright.stages.patterns import ClothPiece, Patterns
from mandrelwright.stages.pieces import Piece
from mandrelwright.stages.record import derived, result

ROLLS = ("patterns.pieces", "job.cloth[*]")
TAKEN = ("layup.pieces", *ROLLS)


@dataclass(frozen=True)
class Strip:
    """Patterns that lie side by side across a roll, m; each stands in ``labels`` as it is cut."""

    labels: tuple[str, ...]
    length: float = result("length of roll it takes", "mm", (), ROLLS)


@dataclass(frozen=True)
class Supply:
    """What the job takes of one sleeve or roll of cloth, and what lies there; m, NaN: unstated."""

    name: str
    kind: str
    strips: tuple[Strip, ...]
    needed: float = result("length the cut list takes", "m", (), TAKEN)
    on_shelf: float = result("length on the shelf", "m", (), ("job.sleeve[*]", "job.cloth[*]"))
    cost: float = result("its cost in the job's currency", "", (), ("job.sleeve[*]", *TAKEN))

    @property
    def lacking(self) -> float:
        """Length still to buy, m; 0 where the shelf was not stated."""
        return max(self.needed - self.on_shelf, 0.0) if self.on_shelf >= 0.0 else 0.0

    @property
    def parts(self) -> float:
        """Whole parts that the shelf gives of it, cut from one length; NaN: not stated."""
        return math.floor(self.on_shelf / self.needed) if self.on_shelf >= 0.0 else math.nan


@dataclass(frozen=True)
class Supplies:
    """Textiles to buy or at hand, and the cost of textiles and resin."""

    items: tuple[Supply, ...] = result("sleeves and cloth to buy or at hand", "", ())
    laid_from_shelf: int = result(
        "layers that the shelf gives in their order, where it was stated",
        "",
        (),
        (*TAKEN, "supplies.items"),
    )
    resin_cost: float = result(
        "cost of all that is mixed", "", (), ("layup.cups", "job.resin.price")
    )

    @property
    @derived("", None, "supplies.items", "supplies.resin_cost")
    def cost(self) -> float:
        """Cost of textiles and resin in the job's currency, not known unless each has a price."""
        return sum(supply.cost for supply in self.items) + self.resin_cost


def count_supplies(job: Job, layup: LayUp, patterns: Patterns) -> Supplies:
    """Length taken of each sleeve and roll, against the shelf, and priced.

    A sleeve is cut length after length. Of a roll the patterns lie in strips across it, longest
    first, side by side as long as its width holds them (see ``strips_across``): length of roll
    L = Σ over strips of the length of each one's first; cost = price·L + price of resin·all mixed.
    """
    used = {piece.textile for piece in layup.pieces}
    items = tuple(
        _supply(textile, layup.pieces, patterns.pieces)
        for textile in _shelf(job)
        if textile.name in used
    )
    price = math.nan if job.resin.price is None else job.resin.price.value
    mixed = layup.mixed if layup.cups else math.nan
    return Supplies(items, _from_shelf(job, layup, patterns), mixed * price)


def strips_across(pieces: Sequence[ClothPiece], width: float) -> tuple[Strip, ...]:
    """Patterns laid in strips on a roll of a width (m): next fit by decreasing length.

    Each counts as the rectangle around it, warp along the roll, never turned. Longest first, the
    next one begins a new strip where it does not fit beside the last; a strip is as long as its
    first. A wider roll never takes more: every strip then begins at the same piece or at a later,
    shorter one. A piece wider than the roll has a strip of its own.
    """
    strips: list[list[ClothPiece]] = []
    left = -math.inf
    for piece in sorted(pieces, key=lambda piece: -piece.length):
        for _ in range(piece.count):
            if piece.width > left:
                strips.append([])
                left = width
            strips[-1].append(piece)
            left -= piece.width
    return tuple(Strip(tuple(piece.label for piece in strip), strip[0].length) for strip in strips)


def _shelf(job: Job) -> list[Sleeve | Cloth]:
    """Every textile of the job."""
    return [*job.sleeves, *job.cloths]


def _supply(
    textile: Sleeve | Cloth, cut: Sequence[Piece], patterns: Sequence[ClothPiece]
) -> Supply:
    """What these layers take of one textile."""
    strips: tuple[Strip, ...] = ()
    if isinstance(textile, Cloth):
        own = [piece for piece in patterns if piece.textile == textile.name]
        strips = strips_across(own, textile.width.value)
        needed = sum(strip.length for strip in strips)
    else:
        needed = sum(piece.cut for piece in cut if piece.textile == textile.name)
    return Supply(
        textile.name,
        "cloth" if isinstance(textile, Cloth) else "sleeve",
        strips,
        needed,
        math.nan if textile.on_shelf is None else textile.on_shelf.value,
        math.nan if textile.price is None else textile.price.value * needed,
    )


def _from_shelf(job: Job, layup: LayUp, patterns: Patterns) -> int:
    """The most layers, in their order, of which no textile is lacking."""
    stated = [each for each in _shelf(job) if each.on_shelf is not None]
    for number in range(1, len(layup.pieces) + 1):
        cut = layup.pieces[:number]
        flat = [piece for piece in patterns.pieces if piece.layer <= number]
        if any(_supply(textile, cut, flat).lacking > 0.0 for textile in stated):
            return number - 1
    return len(layup.pieces)


def check_supplies(supplies: Supplies) -> list[Finding]:
    """Textiles of which the shelf holds too little."""
    lacking = [supply for supply in supplies.items if supply.lacking > 0.0]
    if not lacking:
        return []
    names = [supply.name for supply in lacking]
    return [say.short(names, [each.lacking for each in lacking], supplies.laid_from_shelf)]
