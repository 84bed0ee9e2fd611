"""Step 10, Lay-up: what to cut, weigh and mix, in which order, by which minute."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.physics import kinetics, wetout
from mandrelwright.quantities import Quantity
from mandrelwright.stages.cups import Cupful, Work, fill_cups
from mandrelwright.stages.mould import Mould
from mandrelwright.stages.pieces import LAYUP, RESIN, Piece, cut_pieces, voids
from mandrelwright.stages.record import derived, result
from mandrelwright.stages.shape import Shape
from mandrelwright.stages.stack import Stack
from mandrelwright.stages.timetable import HANDS, Minutes, Step, minutes, timetable

VISCOSITY_KNOWN_AT = 298.15  # K, what "25 °C" means in the library's viscosity
COVERS = {
    "peel ply": ("peel ply",),
    "shrink tape": ("peel ply", "shrink tape"),
    "vacuum bag": ("peel ply", "bleeder", "bag film"),
}
"""Sheets that a way of pressing asks for, as far as this program knows it."""
OPEN = "open brush"  # presses with nothing

LIFE = ("job.resin.pot_life", "job.shop.temperature", f"{LAYUP}pot_life_energy")
MIXED = ("layup.pieces", f"{LAYUP}mix_share", f"{LAYUP}mix_fixed")
CUPS = (*MIXED, "layup.lasts", "layup.most_cup", *HANDS)
SCALE = ("job.resin.hardener", "job.shop.scale")
WEIGHED = (*CUPS, "layup.least_cup")
SAG = (
    "materials.resins.{resin}.density_liquid",
    "materials.resins.{resin}.viscosity",
    f"{LAYUP}viscosity_energy",
    f"{LAYUP}surface_film",
    "job.shop.temperature",
)


@dataclass(frozen=True)
class Cup:
    """One cup of resin; weights in kg, times in s from the beginning; NaN where not known.

    needed: resin of its layers as laid. mixed: with losses, and no less than can be weighed.
    """

    number: int
    layers: tuple[str, ...]
    needed: float = result("resin of its layers as laid", "g", (), CUPS)
    mixed: float = result("weight to mix", "g", (), WEIGHED)
    raised: bool = result("mixed to the least that can be weighed", "", (), WEIGHED)
    hardener: float = result("hardener in it", "g", (), (*WEIGHED, "job.resin.hardener"))
    hardener_error: float = result(
        "error of the hardener by the scale, at worst",
        "%",
        wetout.hardener_error,
        (*WEIGHED, *SCALE),
    )
    mixed_at: float = result("when mixing begins", "min", (), CUPS)
    empty_at: float = result("when it is empty", "min", (), CUPS)

    @property
    def label(self) -> str:
        """As written on the cup."""
        return f"cup {self.number}"

    @property
    def resin(self) -> float:
        """Resin to weigh into it before the hardener, kg."""
        return self.mixed - self.hardener


@dataclass(frozen=True)
class Consumable:
    """Something used up: how many, or how much in m²."""

    name: str
    amount: float
    unit: str


@dataclass(frozen=True)
class LayUp:
    """The lay-up on paper; SI, times in s from the first hand on the mould, NaN: not known."""

    pieces: tuple[Piece, ...] = result("what every layer takes", "", cut_pieces)
    pot_life: float = result(
        "pot life of a full cup at shop temperature",
        "min",
        wetout.at_temperature,
        LIFE,
        "pot_life_spread",
    )
    pot_life_spread: float = result("its standard uncertainty", "min", (), LIFE)
    lasts: float = result("time a cup is given, mixing included", "min", (), ("layup.pot_life",))
    mixing: float = result("time to weigh and stir one cup", "min", (), HANDS)
    most_cup: float = result(
        "largest cup", "g", (), ("job.shop.batch_most", "job.resin.pot_life.mass")
    )
    least_cup: float = result(
        "smallest honest cup on this scale",
        "g",
        wetout.smallest_batch,
        (*SCALE, f"{LAYUP}hardener_error"),
    )
    cups: tuple[Cup, ...] = result("cups in order", "", fill_cups)
    steps: tuple[Step, ...] = result("what is done when", "", timetable, CUPS)
    film_gels: float = result(
        "time until a thin film gels", "min", (), ("layup.pot_life", f"{LAYUP}film_over_cup")
    )
    sag_speed: float = result("speed of a free film of resin", "", wetout.sag_speed, SAG)
    turn_every: float = result(
        "longest time between two half turns", "min", (), ("layup.sag_speed", f"{LAYUP}run")
    )
    resin_spread: float = result(
        "standard uncertainty of the resin between the trim lines",
        "g",
        (),
        ("layup.pieces", *RESIN),
    )
    consumables: tuple[Consumable, ...] = result(
        "used up",
        "",
        (),
        ("layup.cups", "layup.pieces", "job.compaction.method", f"{LAYUP}cover_share"),
    )

    @property
    @derived("g", None, "layup.pieces")
    def part_mass(self) -> float:
        """Fibre and resin of the part between its trim lines, kg."""
        return sum(piece.trimmed for piece in self.pieces)

    @property
    @derived("g", None, "layup.pieces", "layup.resin_spread")
    def part_mass_spread(self) -> float:
        """Standard uncertainty of that: all fibre heavy or light at once, resin by V_f, V_v; kg."""
        fibre = sum(piece.trimmed * piece.fibre_spread for piece in self.pieces)
        return math.hypot(fibre, self.resin_spread)

    @property
    @derived("g", None, "layup.pieces")
    def laid_mass(self) -> float:
        """Fibre and resin on the whole mould before trimming, kg."""
        return sum(piece.fibre + piece.resin for piece in self.pieces)

    @property
    @derived("g", None, "layup.cups")
    def mixed(self) -> float:
        """All that is mixed, kg."""
        return sum(cup.mixed for cup in self.cups)

    @property
    @derived("min", None, "layup.steps")
    def takes(self) -> float:
        """From the first pull to the last cover, s."""
        return max((step.ends for step in self.steps), default=math.nan)


def plan_layup(job: Job, shape: Shape, stack: Stack, mould: Mould, library: Library) -> LayUp:
    """Cut list, cups, timetable and sheets of the stack as it is laid.

    A cup is given lasts = life·e^(−u/life), u the standard uncertainty of the pot life.
    """
    practice = library.practice["lay-up"]
    pieces = cut_pieces(job, shape, stack, mould, library)
    life = pot_life(job, library)
    lasts = life.value * math.exp(-life.spread / life.value)
    ratio = math.nan if job.resin.hardener is None else job.resin.hardener.value
    least = float(
        wetout.smallest_batch(practice["hardener_error"].value, ratio, job.shop.scale.value)
    )
    most = _most(job)
    hands = minutes(job, library)
    fillings = _fillings(pieces, hands, lasts, most, library)
    steps = timetable(pieces, fillings, hands, job.compaction.method != OPEN)
    cups = tuple(
        _cup(number, filling, pieces, steps, (least, most, ratio), job, library)
        for number, filling in enumerate(fillings, 1)
    )
    speed = _sag_speed(job, library)
    return LayUp(
        pieces,
        life.value,
        life.spread,
        lasts,
        hands.mix,
        most,
        least,
        cups,
        steps,
        life.value * practice["film_over_cup"].value,
        speed,
        practice["run"].value / speed,
        _resin_spread(job, stack, pieces, library),
        _consumables(job, pieces, len(cups), practice["cover_share"].value),
    )


def pot_life(job: Job, library: Library) -> Quantity:
    """The can's pot life at shop temperature (s), NaN when it is not stated.

    u² = t²·[(u0/t0)² + (E u_T/(R T²))²]: the can's own spread and that of the room.
    """
    stated = job.resin.pot_life
    if stated is None:
        return Quantity(math.nan, math.nan)
    energy = library.practice["lay-up"]["pot_life_energy"].value
    room = job.shop.temperature
    time = float(wetout.at_temperature(stated.time.value, energy, room.value, stated.at.value))
    by_room = energy * room.spread / (kinetics.GAS * room.value**2)
    return Quantity(time, time * math.hypot(stated.time.spread / stated.time.value, by_room))


def _most(job: Job) -> float:
    """Largest cup (kg): no larger than the one whose pot life is known."""
    life = job.resin.pot_life
    return min(job.shop.batch_most.value, math.inf if life is None else life.mass.value)


def _fillings(
    pieces: Sequence[Piece], hands: Minutes, lasts: float, most: float, library: Library
) -> list[Cupful]:
    """Layers of every cup; none when a cup is too small or too short-lived to be worth mixing."""
    practice = library.practice["lay-up"]
    left = most - practice["mix_fixed"].value
    wetting = math.inf if math.isnan(lasts) else lasts - hands.mix
    if left < practice["mix_fixed"].value or wetting < hands.mix:
        return []
    work = [
        Work(piece.resin, hands.before(piece), hands.wet * piece.area, hands.squeeze * piece.area)
        for piece in pieces
    ]
    return fill_cups(work, left / practice["mix_share"].value, wetting)


def _cup(
    number: int,
    filling: Cupful,
    pieces: Sequence[Piece],
    steps: Sequence[Step],
    limits: tuple[float, float, float],
    job: Job,
    library: Library,
) -> Cup:
    """One cup: m = needed·k + m0, at least what can be weighed and at most what is allowed."""
    least, most, ratio = limits
    practice = library.practice["lay-up"]
    needed = sum(pieces[share.layer].resin / share.parts for share in filling)
    wanted = needed * practice["mix_share"].value + practice["mix_fixed"].value
    floor = 0.0 if math.isnan(least) else min(least, most)
    mixed = max(wanted, floor)
    own = [step for step in steps if step.cup == number]
    return Cup(
        number,
        tuple(pieces[share.layer].label for share in filling),
        needed,
        mixed,
        floor > wanted,
        mixed * ratio / (1.0 + ratio),
        float(wetout.hardener_error(mixed, ratio, job.shop.scale.value)),
        own[0].at,
        own[-1].ends,
    )


def _sag_speed(job: Job, library: Library) -> float:
    """Speed of the free film at shop temperature before anything has reacted, m/s."""
    resin, practice = library.resins[job.resin.name], library.practice["lay-up"]
    if "viscosity" not in resin:
        return math.nan
    viscosity = wetout.at_temperature(
        resin["viscosity"].value,
        practice["viscosity_energy"].value,
        job.shop.temperature.value,
        VISCOSITY_KNOWN_AT,
    )
    density = resin["density_liquid" if "density_liquid" in resin else "density"].value
    return float(wetout.sag_speed(density, practice["surface_film"].value, viscosity))


def _resin_spread(job: Job, stack: Stack, pieces: Sequence[Piece], library: Library) -> float:
    """Of the resin round a known mass of fibre: m = ρ·V_fibre·((1 − V_v)/V_f − 1), kg."""
    compaction = library.compactions[job.compaction.method]
    stated, fraction = job.compaction.fibre_fraction, stack.fibre_fraction
    by_fibre = compaction["fibre_fraction"].spread if stated is None else stated.spread
    left = 1.0 - voids(job, library)
    share = left / fraction - 1.0
    resin = sum(piece.trimmed_resin for piece in pieces)
    moved = math.hypot(left / fraction**2 * by_fibre, compaction["voids"].spread / fraction)
    return resin * moved / share if share > 0.0 else math.nan


def _consumables(
    job: Job, pieces: Sequence[Piece], cups: int, share: float
) -> tuple[Consumable, ...]:
    """Cups, sticks, brushes, gloves, and the sheets that press the last layer."""
    sheet = share * max(piece.area for piece in pieces)
    people = job.shop.people
    return (
        Consumable("cups", cups, ""),
        Consumable("stirring sticks", cups, ""),
        Consumable("brushes", people, ""),
        Consumable("pairs of gloves", people * (cups + 1), ""),
        *(Consumable(name, sheet, "m^2") for name in COVERS.get(job.compaction.method, ())),
    )
