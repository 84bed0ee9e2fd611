"""What the Surface step tells of solvent vapour: dangers first, never an allowance."""

from __future__ import annotations

from collections.abc import Sequence

from mandrelwright.findings.finding import Finding, Level
from mandrelwright.quantities import show

ALLOWS_NOTHING = "None of these is an allowance: over the liquid, in corners and along the floor "
ALLOWS_NOTHING += "a tenth of it is too much."


def solvent_vapour(
    solvent: str, exposure: float, danger: float, explosive: tuple[float, float], saturated: float
) -> Finding:
    """Solvent vapour burns and harms; the usual cautions."""
    low, high = explosive
    rich = (
        f"Saturated air holds {100.0 * saturated:.1f} %, above the range, so that opening the box "
        "passes through all of it"
        if saturated > high
        else f"Saturated air, {100.0 * saturated:.1f} %, lies within the range"
    )
    return Finding(
        "surface.solvent-vapour",
        Level.CAUTION,
        f"{solvent.capitalize()} vapour harms who breathes it, burns, and explodes in the wrong "
        "mixture.",
        f"No more than {show(exposure, 'ppm', 0)} over a working day is recommended, "
        f"{show(danger, 'ppm', 0)} is at once dangerous to life or health, {100.0 * low:.1f} to "
        f"{100.0 * high:.1f} % explodes. {rich}; the vapour is heavier than air and creeps along "
        "the floor.",
        (
            "outdoors, cold, as little as wets the wick; no spark, flame, switch or motor near",
            "gloves and eye protection; read the safety data sheet; follow local codes",
            "let it dry until it no longer loses weight before wax, epoxy, an oven or a freezer",
        ),
    )


def hot_solvent(agent: str) -> Finding:
    """A solvent is to be heated."""
    return Finding(
        "surface.hot-solvent",
        Level.CAUTION,
        f"{agent}: a heated solvent fills its box past the explosive range in seconds.",
        "A hot plate, a printer's bed and a kettle have sparks in them; a boil-over burns at once.",
        ("use cold vapour: it takes minutes longer and nothing is near that can light it",),
    )


def solvent_amounts(
    solvent: str,
    spaces: Sequence[tuple[str, float]],
    liquid: Sequence[tuple[float, float, float]],
    shares: tuple[float, float, float],
) -> Finding:
    """How little solvent makes the room or the box dangerous.

    spaces: name and volume (m³); liquid (m³) of each for exposure limit, danger, explosion.
    """
    names = [f"a {name} of {_size(volume)}" for name, volume in spaces]
    exposure, danger, explosive = (
        [_millilitres(amount) for amount in column] for column in zip(*liquid, strict=True)
    )
    first, *rest = (f"the still air of {name}" for name in names)
    brings = "; ".join(
        [f"{exposure[0]} of {solvent} bring {first} to the exposure limit of "
         f"{show(shares[0], 'ppm', 0)}"]
        + [f"{amount} bring {name} there" for amount, name in zip(exposure[1:], rest, strict=True)]
    )  # fmt: skip
    tenth = " (a tenth of the lower explosive limit)" if _is_tenth(shares) else ""
    return Finding(
        "surface.solvent-amounts",
        Level.CAUTION,
        f"{brings}.",
        f"{' and '.join(danger)} make it at once dangerous to life or health{tenth}, "
        f"{' and '.join(explosive)} make it explode. {ALLOWS_NOTHING}",
        ("work outdoors; a window is no extractor", "keep the bottle closed and outside"),
    )


def _size(volume: float) -> str:
    """A room in cubic metres, a box in litres."""
    if volume >= 1.0:
        return show(volume, "m^3", 0)
    return show(volume, "L", 0 if volume >= 0.01 else 1)


def _millilitres(volume: float) -> str:
    """Volume of liquid with two digits that tell."""
    amount = volume * 1e6
    digits = 0 if amount >= 10.0 else 1 if amount >= 1.0 else 2 if amount >= 0.1 else 3
    return show(volume, "mL", digits)


def _is_tenth(shares: tuple[float, float, float]) -> bool:
    return abs(shares[1] / (0.1 * shares[2]) - 1.0) < 0.02


def spaces_not_stated(missing: tuple[str, ...]) -> Finding:
    """The room or the box of the solvent is not stated."""
    keys = " and ".join(missing)
    return Finding(
        "surface.spaces-not-stated",
        Level.NOTE,
        f"How little solvent is dangerous here is not said: the {keys} is not stated.",
        "The figures depend on nothing but the volume of still air.",
        ('write room = "20 m^3" and box = "10 L" under [shop]',),
    )


def unknown_solvent(solvent: str) -> Finding:
    """The library knows no limit of this solvent."""
    return Finding(
        "surface.unknown-solvent",
        Level.CAUTION,
        f"No limit of {solvent} is known here: nothing is said of what its vapour does.",
        "Exposure and explosive limits stand on its safety data sheet.",
        (
            "read the sheet before the bottle is opened; outdoors, cold, no spark",
            "add it to a material file of your own, under [solvents]",
        ),
    )
