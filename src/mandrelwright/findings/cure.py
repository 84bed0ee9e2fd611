"""What the Cure step tells: heat, softness, when to pull, cups that smoke, damp air."""

from __future__ import annotations

import math

from mandrelwright.findings.finding import Finding, Level
from mandrelwright.quantities import celsius

_WAIT = "keep it warm and wait: cold stops the cure"


def mould_softens(peak: float, limit: float, plastic: str) -> Finding:
    """The schedule takes the mould to where its plastic gives way."""
    return Finding(
        "cure.mould-softens",
        Level.STOP,
        f"The mould reaches {celsius(peak)}; {plastic} gives way under load from {celsius(limit)}.",
        "A mould that yields takes the part with it, out of round and out of size.",
        (
            "cure cooler on the mould, and post-cure the part off it",
            "print a plastic that stands more",
        ),
    )


def mould_near_softening(peak: float, limit: float, plastic: str, margin: float) -> Finding:
    """The mould comes near to where its plastic gives way."""
    return Finding(
        "cure.mould-near-softening",
        Level.CAUTION,
        f"The mould reaches {celsius(peak)}, within {margin:.0f} K of {celsius(limit)} where "
        f"{plastic} gives way.",
        "Plastic creeps before it gives way, and ovens overshoot.",
        (f"keep it below {celsius(limit - margin)}", "measure the oven beside the mould"),
    )


def soft_off_the_mould(margin: float) -> Finding:
    """Off its mould the part is warmer than its glass transition."""
    return Finding(
        "cure.soft-off-the-mould",
        Level.STOP,
        f"Off its mould the part gets {-margin:.0f} K warmer than its glass transition.",
        "Nothing holds it round there, and a soft part sags under its own weight.",
        ("warm it in steps that stay below: see the proposed post-cure",),
    )


def never_sets(stays: float, sets: float) -> Finding:
    """The resin does not turn to glass on the mould within the schedule."""
    later = f" after about {_hours(sets)}" if math.isfinite(sets) else ""
    return Finding(
        "cure.never-sets",
        Level.CAUTION,
        f"After {_hours(stays)} on the mould the resin is not glassy yet; it sets{later} or as it "
        "cools.",
        "The mould's temperature at that moment decides the size of the bore.",
        (_WAIT, "write the stays that follow under [[schedule]]"),
    )


def size_set_again(change: float, temperature: float) -> Finding:
    """A warm stay on the mould softens the laminate and gives it its size again."""
    word = "larger" if change > 0.0 else "smaller"
    return Finding(
        "cure.size-set-again",
        Level.NOTE,
        f"The warm stay on the mould sets the size again, at {celsius(temperature)}: the bore is "
        f"{abs(change) * 1e3:.2f} mm {word} for it.",
        "Above its glass transition the laminate follows the mould; the chain and the sizes count "
        "with it.",
        ("do not skip that stay, or plan again without it",),
    )


def set_unsure(temperature: float, spread: float) -> Finding:
    """It is open at which temperature the part sets."""
    return Finding(
        "cure.set-unsure",
        Level.CAUTION,
        f"Whether a warm stay softens the laminate again is open: it sets at "
        f"{celsius(temperature)} ± {spread:.0f} K.",
        "A small error of rate or room decides it, and with it the size of the bore.",
        (
            "state gel or demould of your resin",
            "make the warm stay 15 K warmer, or post-cure off the mould",
        ),
    )


def heats_itself(peak: float, around: float) -> Finding:
    """The laminate gets much warmer than what is around it."""
    return Finding(
        "cure.heats-itself",
        Level.CAUTION,
        f"The laminate heats itself to {celsius(peak)}, {peak - around:.0f} K above its "
        "surroundings.",
        "A thick wall of a fast resin cannot shed the heat of its cure.",
        ("lay it in two sessions", "use a slower hardener", "start cooler"),
    )


def too_soft_to_release(ends: float, ready: float, glass: float) -> Finding:
    """At the end of the schedule the part is too soft to be pulled."""
    when = f"after about {_hours(ready)}" if math.isfinite(ready) else "not within two weeks"
    return Finding(
        "cure.too-soft-to-release",
        Level.CAUTION,
        f"Still soft, do not pull after {_hours(ends)} on the mould: the glass transition is about "
        f"{celsius(glass)} then; it is 20 K above the shop {when}.",
        "A part that is pulled or frozen before that keeps dents, and cold stops its cure.",
        (
            _WAIT,
            "a few hours at 35 to 40 °C on the mould do it; mind the mould's plastic",
            "state gel or demould of your resin, or the glass transition you measured",
        ),
    )


def blush(humidity: float, dew_point: float) -> Finding:
    """Damp air makes amines bloom on the surface."""
    return Finding(
        "cure.blush",
        Level.CAUTION,
        f"At {100 * humidity:.0f} % humidity amines bloom to a greasy film; surfaces below "
        f"{celsius(dew_point)} are wet.",
        "The next layer and paint do not stick to it; common practice, no source.",
        ("warm mould and room before you mix", "wash it off with water, then scuff"),
    )


def condensation(cold: float, dew_point: float) -> Finding:
    """What comes from the cold is wet until it has warmed up."""
    return Finding(
        "cure.condensation",
        Level.NOTE,
        f"From {celsius(cold)} it comes out wet: dew forms below {celsius(dew_point)}.",
        "Water on fresh epoxy clouds it, and a water-soluble film dissolves in it.",
        ("bag it before it goes in, and open the bag when it is warm",),
    )


def rate_is_generic(name: str, doubt: float) -> Finding:
    """How fast the resin cures is a guess."""
    return Finding(
        "cure.rate-is-generic",
        Level.NOTE,
        f'How fast "{name}" cures is a generic value, known to ±{100 * doubt:.0f} %.',
        "Hardeners differ tenfold. A cup's pot life does not tell it without its heat loss and "
        "the temperature at which it counts as ended.",
        (
            'state a thin film\'s gel time: gel = { time = "4 h", at = "25 degC" }',
            'or the time to demould: demould = { time = "24 h", at = "23 degC" }',
        ),
    )


def _hours(seconds: float) -> str:
    return f"{seconds / 3600.0:.0f} h" if seconds > 35_000.0 else f"{seconds / 3600.0:.1f} h"
