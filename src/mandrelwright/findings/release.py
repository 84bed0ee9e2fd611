"""What the release tells: how and when to pull, what keeps the part on, what would ruin it."""

from __future__ import annotations

from collections.abc import Sequence

from mandrelwright.findings.finding import Finding, Level
from mandrelwright.quantities import celsius

LINES = "there its layer lines hold it."
_RING = "push with a ring and screws on the laminate's end, evenly, a turn at a time"


def how(steps: str, moment: str, odds: float, before: float, travel: float) -> Finding:
    """The sequence that was followed, when to pull, and how likely it is to come free."""
    return Finding(
        "release.how",
        Level.NOTE,
        f"{steps}; pull {moment}. {_percent(odds)} of such parts come free, {_percent(before)} "
        "without any step.",
        f"Free: a gap larger than the layer lines left, after {_mm(travel)} of travel. From draws "
        "over what is not known of mould, laminate and heat; whoever measures narrows it.",
        (_RING,),
    )


def not_resolved() -> Finding:
    """Which moment is best cannot be told."""
    return Finding(
        "release.moment-open",
        Level.NOTE,
        "Which moment is best is not resolved: it moves the odds less than they are known.",
        "The odds at the moments of the last step lie within two in a hundred of each other.",
        ("pull as soon as it is handy, before frost melts on it",),
    )


def grips(odds: float, x: float, base: float, push: float) -> Finding:
    """No sequence that was tried frees the part with even odds."""
    return Finding(
        "release.grips",
        Level.CAUTION,
        f"It comes free in {_percent(odds)} parts only, last {place(x, base)}; "
        + (f"starting it takes about {push:.0f} N on its end." if push >= 1.0 else LINES),
        "The mould shrinks too little against the part there: low braid angles and shrinkage of "
        "the resin draw the part in, and a straight place gains nothing by travel.",
        (
            "a taper of half a degree or more, a plastic that shrinks more in the cold, "
            "or a steeper braid there",
            "let it set warmer than it is pulled, below the mould's softening",
            _RING,
        ),
    )


def keyed(asked: float, gap: float, x: float, base: float) -> Finding:
    """Layer lines ask for more gap than there is at a straight place."""
    return Finding(
        "release.keyed",
        Level.CAUTION,
        f"Layer lines of {_um(asked)} key the part {place(x, base)}, where the gap is {_um(gap)}.",
        "Epoxy copies every line; on a straight mould each of them locks in its own copy.",
        ("sand or fill and sand until a fingernail feels nothing", "smooth it, where the "
         "plastic allows it", "a thinner layer height"),
    )  # fmt: skip


def hard_to_pull(push: float, pull: float, most: float) -> Finding:
    """Starting the part takes much force, and pulling more than pushing."""
    ratio = f", pulling {pull / push:.1f} times that" if push > 0.0 else ""
    return Finding(
        "release.force",
        Level.CAUTION,
        f"Starting it takes about {push:.0f} N by pushing on its end{ratio}.",
        "A braid that is pulled narrows and grips harder, one that is pushed widens. More than "
        f"about {most:.0f} N asks for a press and care.",
        (_RING, "never pull on a rope or pry with a blade; nobody in line with the part"),
    )


def measure(
    name: str, where: str, unit: float, letter: str, grip: float, free: float, spacing: float
) -> Finding:
    """The measurement that decides, and the values that part grip from free."""
    thing, how_to = _DECIDES[name]
    values = f"{_side(grip, free)} {abs(grip) / unit:.3g}{letter} it grips, "
    values += f"{_side(free, grip)} {abs(free) / unit:.3g}{letter} it frees"
    ten = f" (ten crossings in {_mm(spacing)} at the middle of that)" if spacing else ""
    return Finding(
        "release.measure",
        Level.NOTE,
        f"Whether it comes free {where}, the last place, hangs most on {thing}. "
        f"{values[0].upper()}{values[1:]}{ten}.",
        "It has the largest share of what is not known and can be measured; each value leaves one "
        "standard uncertainty of all the rest.",
        (how_to,),
    )


_DECIDES = {
    "braid angle": (
        "the braid angle there",
        "measure the length of ten crossings along the part there, or photograph it with a "
        "protractor",
    ),
    "mould expansion": (
        "how much the plastic shrinks in the cold",
        "measure a printed ring of 98 mm in the freezer and in the room",
    ),
    "cure shrinkage": (
        "how much the resin shrinks in setting, along a line",
        "measure the bore of one part against its mould, both at one temperature",
    ),
    "lines left": (
        "how much of the layer lines is left there",
        "drag a fingernail along the mould, or read it with a roughness comparator",
    ),
    "fibre fraction": (
        "the share of fibre",
        "weigh the part: its fibre weight is known",
    ),
}


def past_glass(over: float, glass: float) -> Finding:
    """A step warms the laminate past its glass transition: the part is scrap."""
    return Finding(
        "release.past-glass",
        Level.STOP,
        f"A release step warms the laminate {over:.0f} K past its glass transition, "
        f"{celsius(glass)}: the part is scrap.",
        "Above it the resin gives way and the part takes the shape of whatever holds it.",
        (
            "stay 10 K below it, or cool instead: a warmer mould grips harder until it softens",
            "cure the laminate hotter first, where the mould bears it",
        ),
    )


def mould_softens(over: float) -> Finding:
    """A step softens the mould."""
    return Finding(
        "release.mould-softens",
        Level.CAUTION,
        f"A release step warms the mould {over:.0f} K past its softening.",
        "Until it softens it grips harder with every degree; then it lets go and is lost.",
        ("only for a mould that is given up, and a laminate that bears the heat",),
    )


def bare_mould(system: str) -> Finding:
    """Nothing is put between epoxy and plastic."""
    return Finding(
        "release.bare",
        Level.CAUTION,
        f'With the release system "{system}" the part bonds to the mould.',
        "Epoxy holds bare plastic with 0.3 to 5 MPa (from memory); cold does not undo a bond.",
        ("wax and a film of PVA, or film that is wrapped round",),
    )


def vacuum(force: float) -> Finding:
    """A closed tip without a vent draws a vacuum."""
    return Finding(
        "release.vacuum",
        Level.CAUTION,
        f"Pulled quickly, air behind the closed tip holds it back with up to {force:.0f} N.",
        "p0 π r²: no vent and no pull rod lets air in.",
        ('print a vent: mould.vent = "3 mm"', "pull slowly, turning"),
    )


def compressed_air(force: float) -> Finding:
    """Compressed air makes a projectile."""
    return Finding(
        "release.air",
        Level.CAUTION,
        f"Compressed air is no default: 2 bar push with {force:.0f} N, and the part flies.",
        "p π r² on the largest bore; the energy is in the air, and it does not stop when the part "
        "starts.",
        (
            "screws first; if air at all: a regulator under 0.5 bar, a tether, nobody in line, "
            "eyes and ears covered",
        ),
    )


def freezer_with_solvent() -> Finding:
    """A mould that smelt of solvent goes into a freezer."""
    return Finding(
        "release.freezer-with-solvent",
        Level.CAUTION,
        "The mould was smoothed with solvent: nothing that still gives off vapour goes into a "
        "freezer or a hot box.",
        "A household freezer switches with sparks inside or below its box (common practice, from "
        "memory), a hot box at its thermostat, and vapour gathers there.",
        (
            "wait until the mould no longer loses weight from day to day",
            "a freezer that holds no food",
        ),
    )


def film_dissolves(system: str) -> Finding:
    """A water step dissolves the film."""
    return Finding(
        "release.film-dissolves",
        Level.NOTE,
        f'Water dissolves the film of "{system}": where it has come the film holds no more, and '
        "the gap is larger by it.",
        "It creeps in from the open ends along the film, hours for the length of a hand (common "
        "practice, no source).",
        ("ends open and under water, turned now and then; look how far it has come",),
    )


def water_in_infill() -> Finding:
    """A printed mould with infill takes up water."""
    return Finding(
        "release.water-in-infill",
        Level.NOTE,
        "Water finds its way into the infill, through holes and between the lines.",
        "It runs out for days, and steams in the next oven; common practice, no source.",
        ("tape holes shut, let the mould stand and weigh it before it is used again",),
    )


def in_words(steps: Sequence[tuple[float, float, str]], shop: float) -> str:
    """Steps (s, K, medium) as one phrase."""
    told = [f"{_time(step[0])} {_around(step, shop)}" for step in steps]
    if len(steps) == 1 and steps[0][0] < 60.0:
        return "No step is needed"
    words = ", then ".join(told)
    return words[0].upper() + words[1:]


def moment(low: float, high: float, step: tuple[float, float, str], shop: float) -> str:
    """Moments (s) since a step (s, K, medium) began: "4 to 11 min on the bench"."""
    unit, name = (3600.0, "h") if high >= 7200.0 else (60.0, "min")
    start, stop = low / unit, max(high, low + unit) / unit
    return f"{start:.0f} to {stop:.0f} {name} {_around(step, shop)}"


def _around(step: tuple[float, float, str], shop: float) -> str:
    """Where a step is, and how warm where that is not the shop's air."""
    _, temperature, medium = step
    warm = "" if abs(temperature - shop) < 0.5 and medium == "air" else _degrees(temperature)
    return _where(medium) + warm


def _where(medium: str) -> str:
    return {
        "air": "on the bench",
        "freezer": "in a freezer",
        "oven": "in an oven",
        "hot box": "in a hot box",
    }.get(medium, f"in {medium}")


def _degrees(kelvin: float) -> str:
    return f" at {celsius(kelvin)}"


def _time(seconds: float) -> str:
    if seconds < 90.0:
        return f"{seconds:.0f} s"
    return f"{seconds / 60.0:.0f} min" if seconds < 5400.0 else f"{seconds / 3600.0:.3g} h"


def _percent(share: float) -> str:
    return f"{min(max(round(100.0 * share), 1), 99)} in 100"


def _side(value: float, other: float) -> str:
    return "under" if abs(value) < abs(other) else "over"


def place(x: float, base: float) -> str:
    """A place by its distance from the base, in words."""
    way = "from" if x < base + 0.5e-3 else "beyond"
    return f"{abs(base - x) * 1e3:.0f} mm {way} the base"


def _mm(value: float) -> str:
    return f"{value * 1e3:.3g} mm"


def _um(value: float) -> str:
    return f"{value * 1e6:.0f} µm".replace("-", "−")
