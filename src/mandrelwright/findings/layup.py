"""What the lay-up plan tells: cups too small or too short-lived, sleeves short, resin that runs."""

from __future__ import annotations

import math
from collections.abc import Sequence

from mandrelwright.findings.finding import Finding, Level
from mandrelwright.quantities import celsius, show_about

_SLOWER = "use a slower hardener, a cooler room, or a second pair of hands (shop.people = 2)"
_DATA_SHEET = "the resin's data sheet goes before anything said here; follow local codes"


def epoxy(mass: float, peak: float, after: float) -> Finding:
    """Wet epoxy sensitises skin, and a full cup heats itself."""
    return Finding(
        "layup.epoxy",
        Level.CAUTION,
        f"Wet resin and hardener sensitise skin for life, and a cup of {mass * 1e3:.0f} g left "
        f"standing heats itself to about {celsius(peak)} within {after / 3600.0:.1f} h.",
        "Of 135 exposed workers 27 reacted in a patch test, 13 without an earlier sign (Contact "
        "Dermatitis 10 (1984) 146). The more a cup holds the less heat it sheds: a resin maker "
        "warns that 100 g may reach 204 °C, and its smoke is poisonous.",
        (
            "thick nitrile gloves, changed at each cup, sleeves, eye protection, fresh air; "
            "never cotton inside, never solvent on skin",
            "pour each cup into a flat tray at once; never leave it full, never put liquid "
            "leftovers into a bin: spread them thin outdoors",
            _DATA_SHEET,
        ),
    )


def no_pot_life() -> Finding:
    """The job does not say how long a cup lasts."""
    return Finding(
        "layup.no-pot-life",
        Level.NOTE,
        "How long a cup lasts is not stated: cups are planned by their size alone.",
        "Pot life differs tenfold between hardeners and has no default.",
        ('copy it from the can: pot_life = { time = "30 min", mass = "150 g", at = "25 degC" }',),
    )


def no_hardener() -> Finding:
    """The job does not say how much hardener the resin takes."""
    return Finding(
        "layup.no-hardener",
        Level.NOTE,
        "The hardener's share is not stated: cups are given as a whole, their error is not known.",
        "Ratios run from 20 to 60 g and more per 100 g, and have no default.",
        ('copy it from the can, by weight: hardener = "30 g per 100 g"',),
    )


def cup_too_small(most: float, lost: float) -> Finding:
    """The largest cup hardly holds more than what stays in it."""
    return Finding(
        "layup.cup-too-small",
        Level.STOP,
        f"The largest cup is {_grams(most)}, and about {_grams(lost)} stay in it and on the brush.",
        "Cups are no larger than shop.batch_most and than the mass whose pot life is stated.",
        ("allow a larger cup", "state the pot life of a larger mass"),
    )


def pot_life_too_short(lasts: float, mixing: float) -> Finding:
    """A cup sets before anything could be wetted with it."""
    return Finding(
        "layup.pot-life-too-short",
        Level.STOP,
        f"A cup is good for {_minutes(lasts)} here and mixing takes {_minutes(mixing)} of them.",
        "Less time would be left for wetting than for mixing; a cup that sets in the hand burns.",
        (_SLOWER,),
    )


def layer_split(labels: Sequence[str], lasts: float, most: float) -> Finding:
    """A layer asks for more than one cup."""
    return Finding(
        "layup.layer-split",
        Level.CAUTION,
        f"One cup is not enough for a layer: {', '.join(labels)}.",
        f"A cup holds at most {_grams(most)}"
        + (f" and is good for {_minutes(lasts)} here." if math.isfinite(lasts) else "."),
        ("mix each next cup when the last is empty, and wet on from its edge", _SLOWER),
    )


def scale_too_coarse(error: float, limit: float, least: float) -> Finding:
    """A cup's hardener cannot be weighed well enough on this scale."""
    return Finding(
        "layup.scale-too-coarse",
        Level.CAUTION,
        f"On this scale a cup's hardener may be wrong by {100 * error:.0f} %.",
        f"For {100 * limit:.0f} % a cup needs at least {_grams(least)}, more than is allowed.",
        ("weigh on a finer scale: 0.1 g is cheap", "allow a larger cup in a flat tray"),
    )


def more_than_needed(labels: Sequence[str], least: float, limit: float) -> Finding:
    """Cups are mixed larger than needed because the scale is coarse."""
    return Finding(
        "layup.more-than-needed",
        Level.NOTE,
        f"More than is needed is mixed in {', '.join(labels)}: {_grams(least)}.",
        f"In a smaller cup the scale's step moves the hardener by more than {100 * limit:.0f} %.",
        ("weigh on a finer scale to waste less",),
    )


def smaller_than_allowed(mass: float, batch: float) -> Finding:
    """Cups are kept to the mass whose pot life is known."""
    return Finding(
        "layup.kept-to-the-can",
        Level.NOTE,
        f"Cups are kept to {_grams(mass)}, below the {_grams(batch)} that you allow.",
        "A larger cup heats itself faster, so the stated pot life does not hold for it.",
        ("look for the pot life of a larger mass in the data sheet",),
    )


def sets_early(takes: float, gels: float) -> Finding:
    """The first layer gels before the last is covered."""
    return Finding(
        "layup.sets-early",
        Level.CAUTION,
        f"The lay-up takes {_minutes(takes)}; a thin film of the first cup gels after about "
        f"{_minutes(gels)}.",
        "Layers that have gelled cannot be squeezed: the wall comes out thick below and dry above.",
        (_SLOWER, "lay it in two sessions, washed and scuffed between them"),
    )


def runs(speed: float, every: float, until: float) -> Finding:
    """Surface resin runs until it gels, so the mould has to be turned."""
    known = math.isfinite(until)
    end = f"until {show_about(until)} after the start" if known else "until it no longer runs"
    return Finding(
        "layup.runs",
        Level.NOTE,
        f"Free resin runs about {speed * 60e3:.0f} mm a minute: give the mould half a turn every "
        f"{_minutes(every)}, {end}.",
        "v = ρ g h²/(2 μ) of a film on an upright wall, with a guessed film and viscosity.",
        (
            "turn it by a slow drive, level in two cradles",
            "squeeze once more: half the film runs a quarter",
        ),
    )


def cold(temperature: float) -> Finding:
    """The room is too cold for a thin laminate to cure."""
    return Finding(
        "layup.cold",
        Level.CAUTION,
        f"The shop is at {celsius(temperature)}.",
        "Below 15 °C a thin laminate may not cure in days (construction manual of an amateur-built "
        "aircraft), and thick resin wets badly.",
        ("warm the room and the resin to 20 °C or more, and keep it so for a day",),
    )


def _grams(mass: float) -> str:
    return f"{mass * 1e3:.0f} g"


def _minutes(time: float) -> str:
    return f"{time / 60.0:.1f} min" if time < 600.0 else f"{time / 60.0:.0f} min"
