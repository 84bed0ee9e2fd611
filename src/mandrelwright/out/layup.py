"""The lay-up plan as rows and sentences for the bench: cut list, cups, steps, what it takes."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator

from mandrelwright.quantities import show, show_about, show_spread, show_weighed
from mandrelwright.stages.layup import LayUp
from mandrelwright.stages.pieces import Piece
from mandrelwright.stages.supplies import Supplies, Supply
from mandrelwright.stages.timetable import Step

CUT_HEADS = (
    "layer",
    "cut",
    "dry",
    "tie",
    "free end grows",
    "fibre, laid",
    "resin, laid",
    "in part",
)
CUP_HEADS = ("cup", "for", "resin", "hardener", "together", "scale's error", "begin", "empty by")
STEP_HEADS = ("from minute", "do")
NOTHING = "–"
TELLS = 0.5e-3  # m: less growth than this is not seen


def rows(layup: LayUp, scale: float) -> Iterator[tuple[str, ...]]:
    """The cut list, one row per layer, under CUT_HEADS; weights to the scale's step, kg."""
    for piece in layup.pieces:
        masses = (piece.fibre, piece.resin, piece.trimmed)
        yield (
            piece.label,
            NOTHING if math.isnan(piece.cut) else show(piece.cut, "mm", 0),
            show_weighed(piece.dry, scale),
            f"{piece.tied}ward" if piece.tied else NOTHING,
            show(piece.grows, "mm", 1),
            *(show(mass, "g", 1) for mass in masses),
        )


def cups(layup: LayUp, scale: float) -> Iterator[tuple[str, ...]]:
    """What to weigh into every cup, one row each, under CUP_HEADS."""
    for cup in layup.cups:
        known = not math.isnan(cup.hardener)
        yield (
            str(cup.number),
            ", ".join(cup.layers),
            show_weighed(cup.resin, scale) if known else NOTHING,
            show_weighed(cup.hardener, scale) if known else NOTHING,
            show_weighed(cup.mixed, scale),
            f"± {100.0 * cup.hardener_error:.1f} %" if known else NOTHING,
            _minute(cup.mixed_at),
            _minute(cup.empty_at),
        )


def steps(layup: LayUp, scale: float) -> Iterator[tuple[str, ...]]:
    """What to do from which minute, under STEP_HEADS."""
    pieces = {piece.label: piece for piece in layup.pieces}
    for step in layup.steps:
        yield _minute(step.at), _sentence(step, layup, pieces.get(step.layer), scale)
    if layup.steps and not math.isnan(layup.turn_every):
        until = layup.cups[-1].mixed_at + layup.film_gels
        end = "it no longer runs" if math.isnan(until) else f"{show_about(until)} after minute 0"
        every = show(layup.turn_every, "min", 0 if layup.turn_every > 120.0 else 1)
        turn = f"Give the mould half a turn every {every}, or let a slow drive turn it"
        yield _minute(layup.takes), f"{turn}, until {end}."


def facts(layup: LayUp, supplies: Supplies) -> Iterator[tuple[str, str]]:
    """What it takes altogether, by name: what is not known is left out."""
    yield "part, trimmed", show_spread(layup.part_mass, layup.part_mass_spread, "g", 0)
    yield "laid before trimming", show(layup.laid_mass, "g", 0)
    if layup.cups:
        yield "resin and hardener to mix", show(layup.mixed, "g", 0)
        yield "from the first pull to the last cover", show(layup.takes, "min", 0)
    if not math.isnan(layup.pot_life):
        life = show_spread(layup.pot_life, layup.pot_life_spread, "min", 0)
        yield "pot life in this shop", f"{life}; a cup is given {show(layup.lasts, 'min', 0)}"
    for supply in supplies.items:
        yield supply.name, length_of(supply)
    if not math.isnan(supplies.cost):
        yield "textiles and resin cost, in the job's currency", f"{supplies.cost:.2f}"
    for item in layup.consumables:
        yield item.name, f"{item.amount:.2f} m²" if item.unit else f"{item.amount:.0f}"


def length_of(supply: Supply) -> str:
    """How much of a textile is taken and how much lies on the shelf."""
    roll = " of roll" if supply.kind == "cloth" else ""
    shelf = "" if math.isnan(supply.on_shelf) else f", {supply.on_shelf:.2f} m on the shelf"
    return f"{supply.needed:.2f} m{roll}{shelf}"


def strips(supplies: Supplies) -> Iterator[tuple[str, str, str]]:
    """How patterns lie on each roll: roll, length of the strip, what lies side by side."""
    for supply in supplies.items:
        for strip in supply.strips:
            beside = " | ".join(
                f"{count} × {label}" if count > 1 else label
                for label, count in Counter(strip.labels).items()
            )
            yield supply.name, show(strip.length, "mm", 0), beside


def _sentence(step: Step, layup: LayUp, piece: Piece | None, scale: float) -> str:
    """One step in words."""
    if step.verb == "mix":
        cup = layup.cups[step.cup - 1]
        weights = (
            f"{show_weighed(cup.mixed, scale)} by the can's ratio"
            if math.isnan(cup.hardener)
            else f"{show_weighed(cup.resin, scale)} resin, "
            f"{show_weighed(cup.hardener, scale)} hardener"
        )
        return f"Mix cup {step.cup}: {weights}. Stir, scrape the walls, pour into a flat tray."
    if step.verb == "cover" or piece is None:
        sheets = [item.name for item in layup.consumables if item.unit]
        return (
            f"Cover all with {', then '.join(sheets) or 'what presses it'} and squeeze once more."
        )
    if step.verb == "pull" and not piece.tied:
        return f"Lay {piece.label} by its pattern, to its marks."
    if step.verb == "pull":
        return f"Pull {piece.label} on, {show(piece.cut, 'mm', 0)}, to its marks."
    if step.verb == "tie":
        return _tie(piece)
    if step.verb == "squeeze":
        way = "from the tied end to the free one" if piece.tied else "from its middle outwards"
        cut = "".join(f" Cut its {side}ward end square on its mark." for side in piece.inner)
        return f"Squeeze {piece.label} {way}; wipe off what gathers.{cut}"
    part = f", part {step.part + 1} of {step.parts}" if step.parts > 1 else ""
    tails = "; keep its tails dry" if piece.tied else ""
    return f"Wet {piece.label} through from cup {step.cup}{part}{tails}."


def _tie(piece: Piece) -> str:
    """Which end is tied, where, and what the other one does."""
    where = "with a thread on its mark" if piece.tied in piece.inner else "beyond the trim line"
    grows = ""
    if piece.grows >= TELLS:
        grows = f"; the free end will creep {show(piece.grows, 'mm', 0)}, leave it free"
    return f"Tie its {piece.tied}ward end {where}{grows}."


def _minute(time: float) -> str:
    return f"{time / 60.0:.0f}"
