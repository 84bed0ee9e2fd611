"""What the flight tells: what softens when, what stands on guesses, what a history lacked."""

from __future__ import annotations

from collections.abc import Sequence

from mandrelwright.findings.finding import Finding, Level
from mandrelwright.quantities import celsius

_HOTTER = (
    "cure it hotter: a post-cure raises the glass transition (see the cure)",
    "a resin with a higher glass transition",
)
_COOLER = "a thicker wall or filler and paint outside: heat takes longer to get in"


def judged(stated: str) -> Finding:
    """What was judged, and that it is no permission."""
    return Finding(
        "flight.judged",
        Level.NOTE,
        f"{stated} Judgement support, never a certificate.",
        "Loads of a slender rigid body, each peak at its own time, on estimates where none are "
        "stated. Range safety, local codes and licensed practice come before it.",
        ("test what you will fly: hang the load on it, warm",),
    )


def soft_under_load(cases: str, kelvin: float, spread: float, glass: float) -> Finding:
    """The laminate is past its glass transition at the time of a load."""
    return Finding(
        "flight.soft-under-load",
        Level.STOP,
        f"The laminate is {celsius(kelvin)} (± {spread:.0f} K) warm at {cases}: past its glass "
        f"transition, {celsius(glass)}.",
        "Mean through the wall, at the warmest place, at the time of that load. Past its glass "
        "transition resin is rubber: a laminate keeps little of its stiffness under pressure.",
        (*_HOTTER, _COOLER, "a slower flight or a lighter colour"),
    )


def near_glass(case: str, kelvin: float, chance: float, glass: float) -> Finding:
    """The laminate may be past its glass transition at the time of a load."""
    return Finding(
        "flight.near-glass",
        Level.CAUTION,
        f"At {case} the laminate is {celsius(kelvin)} warm; its glass transition is "
        f"{celsius(glass)}. In {_hundred(chance)} such flights it is softer than that.",
        "Film coefficient and glass transition are known to some kelvin only; mean through the "
        "wall at its warmest place. Stiffness falls 10 to 20 K below already.",
        ("measure the glass transition of a sample that was cured along", *_HOTTER),
    )


def soft_after_load(kelvin: float, time: float, left: float, glass: float) -> Finding:
    """The laminate is hottest after the peaks, and then past its glass transition."""
    return Finding(
        "flight.soft-after-load",
        Level.CAUTION,
        f"The laminate is hottest {time:.1f} s into the flight, {celsius(kelvin)}, past its glass "
        f"transition, {celsius(glass)}; {_hundred(left)} of the peak dynamic pressure is left.",
        "Heat needs seconds through the wall and comes after the peaks. Loads that are left then "
        "meet a soft wall; a gust that comes late meets it as well.",
        (*_HOTTER, _COOLER),
    )


def skin_soft(case: str, skin: float, mean: float, glass: float) -> Finding:
    """The skin alone passes the glass transition."""
    return Finding(
        "flight.skin-soft",
        Level.CAUTION,
        f"The skin is {celsius(skin)} warm at {case}, past the glass transition, "
        f"{celsius(glass)}; the laminate as a whole is not ({celsius(mean)}).",
        "The outermost tenths of a millimetre soften: paint and print of the outer layer suffer, "
        "and the outer layer carries less.",
        ("filler and paint that bear it", *_HOTTER),
    )


def bond_soft(case: str, bond: float, glass: float) -> Finding:
    """The bond line inside passes the glass transition of its resin."""
    return Finding(
        "flight.bond-soft",
        Level.CAUTION,
        f"Inside, where something may be bonded, it is {celsius(bond)} warm at {case}, past the "
        f"glass transition, {celsius(glass)}.",
        "The inner face of the wall at the fit. A bond of the same resin, cured the same, lets go; "
        "what the coupler draws off is not counted.",
        ("bond with an adhesive that bears it", *_HOTTER),
    )


def soft_in_sun(kelvin: float, air: float, colour: str, glass: float, surely: bool) -> Finding:
    """The sun alone softens the part before it flies."""
    sure = "" if surely else " The colour is not stated: this is a guess."
    return Finding(
        "flight.soft-in-sun",
        Level.STOP if surely else Level.CAUTION,
        f"Standing in the sun it gets {celsius(kelvin)} warm ({colour}, air {celsius(air)}): "
        f"past its glass transition, {celsius(glass)}.{sure}",
        "Sun taken up, wind and radiation balanced on the side that looks at the sun. It sags or "
        "dents before it flies, and starts the flight hot.",
        ('paint it white: flight.colour = "white"', "shade until launch", *_HOTTER),
    )


def warm_in_sun(kelvin: float, colour: str, glass: float, surely: bool) -> Finding:
    """The sun brings the part near its glass transition."""
    ask = () if surely else ('state flight.colour, like "white"',)
    return Finding(
        "flight.warm-in-sun",
        Level.CAUTION,
        f"Standing in the sun it gets {celsius(kelvin)} warm ({colour}), "
        f"{glass - kelvin:.0f} K below its glass transition, {celsius(glass)}.",
        "Closer than its doubt: calmer air or a lower glass transition take the rest.",
        (*ask, "shade until launch", *_HOTTER),
    )


def assumed(names: Sequence[str]) -> Finding:
    """Loads that stand on estimates because nothing was stated."""
    return Finding(
        "flight.assumed",
        Level.NOTE,
        f"Not stated, taken from practice: {', '.join(names)}.",
        "The library holds each with its spread; such parts fail by these more often than in "
        "flight.",
        ("state what you know in [flight]",),
    )


def not_flown() -> Finding:
    """Neither top speed nor history: only ground, hand, charge and sun are judged."""
    return Finding(
        "flight.not-flown",
        Level.NOTE,
        "No flight is stated: loads and heat of the flight itself are left out.",
        "[flight] holds neither top_speed nor a history.",
        ("state flight.top_speed and flight.altitude, or give a history",),
    )


def burns_above(altitude: float) -> Finding:
    """Top speed is reached above the stated altitude."""
    return Finding(
        "flight.burns-above",
        Level.CAUTION,
        f"With this top speed, burn and hold it passes {altitude:.0f} m before it coasts.",
        "The envelope contradicts itself; a very short coast was taken.",
        ("correct flight.burn, flight.hold, flight.altitude or flight.top_speed",),
    )


def nothing_ahead() -> Finding:
    """A part that is no nose was told without what sits on its tipward end."""
    return Finding(
        "flight.nothing-ahead",
        Level.CAUTION,
        "What sits on its tipward end is not stated: its drag, side force and mass are left out.",
        "All of that passes through this part.",
        ('state it: flight.ahead = { mass = "600 g", length = "500 mm" }',),
    )


def beyond_theory(why: str) -> Finding:
    """The flight leaves the range in which the formulas hold."""
    return Finding(
        "flight.beyond-theory",
        Level.CAUTION,
        f"{why}: beyond what these formulas hold for.",
        "Slender bodies to 10° and Mach 4, a perfect gas; nothing here was compared with "
        "measurements beyond.",
        ("ask somebody who computes such flows",),
    )


def mended(gaps: Sequence[tuple[float, float]], moved: int, doubled: int, filled: int) -> Finding:
    """What was done to the rows of a history."""
    done = [f"{moved} places out of order sorted"] if moved else []
    done += [f"{doubled} rows at a time that was there already dropped"] if doubled else []
    done += [f"{filled} empty cells drawn straight or dropped"] if filled else []
    if gaps:
        wide = max(gaps, key=lambda gap: gap[1] - gap[0])
        done.append(f"{len(gaps)} gaps, the widest from {wide[0]:.2f} s to {wide[1]:.2f} s")
    return Finding(
        "flight.history-mended",
        Level.NOTE,
        f"The flight history was put in order: {'; '.join(done)}.",
        "Between rows everything runs straight: a peak inside a gap is not seen.",
        ("look at the log where it has gaps",) if gaps else (),
    )


def _hundred(share: float) -> str:
    return f"{min(max(round(100.0 * share), 1), 99)} in 100"
