"""What the Surface step tells of treatments: what cannot work, what nobody measured, what to do."""

from __future__ import annotations

import math
from collections.abc import Sequence

from mandrelwright.findings.finding import Finding, Level
from mandrelwright.quantities import show, show_spread


def does_not_smooth(agent: str, plastic: str, known: Sequence[str]) -> Finding:
    """The solvent does not soften the mould's plastic."""
    remedy = f"for {plastic} use {', '.join(known)}" if known else "sand and fill instead"
    return Finding(
        "surface.does-not-smooth",
        Level.STOP,
        f"{agent} does not smooth {plastic}.",
        "A solvent levels layer lines only where it dissolves the plastic.",
        (remedy, "use a plastic that this solvent smooths"),
    )


def wall_softens(agent: str, wall: float, depth: float) -> Finding:
    """The mould's wall is no thicker than the skin that the solvent softens."""
    return Finding(
        "surface.wall-softens",
        Level.STOP,
        f"The mould's wall of {show(wall)} may soften right through in {agent}.",
        f"The solvent is taken to reach {show(depth)} deep at most; a wall softened through "
        "sags and keeps no size.",
        ("print more or wider walls", "sand and fill instead of smoothing"),
    )


def out_of_order(before: str, after: str) -> Finding:
    """A treatment of bare plastic comes after wax."""
    return Finding(
        "surface.out-of-order",
        Level.STOP,
        f"{after.capitalize()} comes after {before}.",
        "Wax keeps filler off, clogs paper, and dissolves in solvent vapour, which carries it "
        "into the plastic.",
        (f"put {before} last", "wash the wax off before anything but polishing"),
    )


def repelled(system: str, what: str) -> Finding:
    """The release system will not lie on what is put under it."""
    return Finding(
        "surface.repelled",
        Level.STOP,
        f"{system.capitalize()} does not hold over {what}.",
        f"It crawls into beads on {what} and leaves bare spots, where the part sticks.",
        (f"leave {what} out", "or keep it and use a release system that goes over it"),
    )


def wax_on_solvent(dries: float, least: float) -> Finding:
    """Wax goes on a mould that still holds solvent."""
    return Finding(
        "surface.wax-on-solvent",
        Level.CAUTION,
        f"Wax goes on {show(dries, 'h', 0)} after the vapour; {show(least, 'h', 0)} is the least "
        "that is usual.",
        "Solvent on its way out dissolves the wax from below.",
        ("wait, and weigh the mould until it stays the same",),
    )


def solvent_in_heat(where: str, dries: float, least: float, weighed: str) -> Finding:
    """A mould that still holds solvent is to go into heat or cold."""
    known = {
        "no": "its own weighings say that it still loses solvent",
        "not resolved": "its weighings do not tell that it is dry",
    }.get(weighed, f"it has dried {show(dries, 'h', 0)}, less than {show(least, 'h', 0)}")
    return Finding(
        "surface.solvent-in-heat",
        Level.STOP,
        f"The smoothed mould goes into {where}, and {known}.",
        "Solvent boils out, blisters the skin, and burns or explodes at a heater, a thermostat "
        "or a spark.",
        (
            "dry it at room temperature in moving air until it loses no more weight",
            "weigh it a day apart on a scale that tells a tenth of a gram, and write weighings",
        ),
    )


def not_dry(rate: float, spread: float, limit: float) -> Finding:
    """The weighings say that the mould still loses solvent."""
    return Finding(
        "surface.not-dry",
        Level.CAUTION,
        f"The smoothed mould is not dry: it loses {show_spread(rate, spread, '%/d', 3)}.",
        f"Dry is taken as less than {show(limit, '%/d', 2)}. What is left softens the skin and "
        "blisters under curing epoxy.",
        ("no wax, no epoxy yet: weigh again tomorrow",),
    )


def dryness_not_told(dry: str, soonest: float, latest: float) -> Finding:
    """Nobody can say yet whether the mould is dry."""
    band = f"{show(soonest, 'd', 0)} to {show(latest, 'd', 0)}"
    what = (
        "The weighings do not tell whether the smoothed mould is dry."
        if dry == "not resolved"
        else "Nobody has weighed whether the smoothed mould is dry."
    )
    return Finding(
        "surface.dryness-not-told",
        Level.NOTE,
        what,
        f"Solvent takes {band} to leave the skin, by a diffusivity known to a decade: longer than "
        "the waits in use. The scale knows, the clock does not.",
        (
            "weigh it as it leaves the vapour and every day, on a scale finer than a two "
            "thousandth of its weight",
            'write weighings = [["0 h", "212.40 g +- 0.01 g"], ["24 h", "212.21 g +- 0.01 g"]]',
        ),
    )


def loss_not_measured(times: Sequence[float], each: int, readings: int, diameter: float,
                      now: float, expected: float) -> Finding:  # fmt: skip
    """Nobody has measured what smoothing takes off this print."""
    digits = 0 if times[0] >= 300.0 else 1
    minutes = ", ".join(f"{time / 60.0:.{digits}f}" for time in times)
    group = "one" if each == 1 else str(each)
    gain = f"would bring its spread from {show(now, digits=3)} to about {show(expected, digits=3)}"
    if expected >= now:
        gain = f"would leave {show(expected, digits=3)} with this caliper: read finer first"
    return Finding(
        "surface.loss-not-measured",
        Level.NOTE,
        f"What smoothing takes off the diameter is a guess here, ± {show(now, digits=3)}: no "
        "coupon is stated.",
        "No published table of size against exposure could be found; run-off differs by printer "
        f"and box. {each * len(times)} rings {gain}.",
        (
            f"print {each * len(times)} rings of {diameter * 1e3:.0f} mm as the mould is printed, "
            f"smooth {group} each for {minutes} min in the same box, and read each "
            f"of them {readings} times around, before and a week after",
            'write the means to a file, head "minutes, before (mm), after (mm)", and coupon = '
            '"rings.csv"; or loss = "0.04 mm +- 0.02 mm"',
        ),
    )


def beyond_rings(time: float, longest: float) -> Finding:
    """The mould is smoothed for longer than any ring was."""
    return Finding(
        "surface.beyond-rings",
        Level.CAUTION,
        f"The mould stays {show(time, 'min', 0)} in the vapour, the longest ring "
        f"{show(longest, 'min', 0)}.",
        "Beyond the rings the loss is drawn out, not measured; drips begin late.",
        ("smooth a ring for as long as the mould", "or the mould for as long as a ring"),
    )


def rings_grew(loss: float) -> Finding:
    """Smoothed rings came out larger than they went in."""
    return Finding(
        "surface.rings-grew",
        Level.CAUTION,
        f"By the rings, smoothing adds {show(-loss, digits=3)} to the diameter.",
        "Solvent swells a skin for days; nothing else makes a ring larger.",
        ("let the rings dry until they lose no more weight, and read them again",),
    )


def time_constant_guessed(constant: float) -> Finding:
    """The rings do not tell the time constant of levelling."""
    return Finding(
        "surface.time-constant-guessed",
        Level.NOTE,
        f"The rings do not tell how fast they level: {show(constant, 'min', 1)} is the library's.",
        "Four different times, early ones among them, are needed to fit it. At the mould's own "
        "time it hardly matters.",
        ("smooth rings for a half, one, one and a half and two of the mould's time",),
    )


def release_too_hot(system: str, stands: float, meets: float) -> Finding:
    """Cure or release is hotter than the release system stands."""
    return Finding(
        "surface.release-too-hot",
        Level.CAUTION,
        f"{system.capitalize()} stands {show(stands, 'degC', 0)}; on the mould it gets to "
        f"{show(meets, 'degC', 0)}.",
        "Past that it softens or hardens, and the part sticks.",
        ("cure cooler while on the mould", "use a release system that stands it"),
    )


def film_pleats(system: str, width: float, widest: float, base: float,
                place: tuple[float, float]) -> Finding:  # fmt: skip
    """A flat film cannot lie on a surface that is curved both ways."""
    wide = show(width, digits=0) if math.isfinite(width) else "one piece"
    narrower = (
        (
            f"lay it in strips no wider than {show(widest, digits=0)}, and write "
            f'width = "{widest * 1e3:.0f} mm"',
        )
        if math.isfinite(widest)
        else ()
    )
    ends = " to ".join(f"{(base - x) * 1e3:.0f}" for x in reversed(place))
    return Finding(
        "surface.film-pleats",
        Level.STOP,
        f"{system.capitalize()}, laid in {wide}, pleats within {ends} mm from the base.",
        "A flat film lies on a cylinder or a cone; where the mould curves both ways it must "
        "stretch, or the pleats print into the bore and lock the part.",
        (*narrower, "wax, or wax and a brushed film, follow any shape"),
        place,
    )


def sleeve_is_loose(opens: float) -> Finding:
    """The release sleeve is wider than the mould and hangs in folds."""
    return Finding(
        "surface.sleeve-is-loose",
        Level.STOP,
        f"The release sleeve is as wide as {100.0 / opens:.0f} % of the mould and hangs in folds.",
        "Only a sleeve that stretches hugs the mould; a fold prints into the bore and locks.",
        ("use a sleeve narrower than the slimmest place it covers",),
    )


def film_dissolves(liquid: str) -> Finding:
    """The release film is washed off by something that is about."""
    return Finding(
        "surface.film-dissolves",
        Level.NOTE,
        f"The release film dissolves in {liquid}, and dries as slowly as the air is damp.",
        "No figure of its drying against humidity was found: only the touch tells. Dew on a mould "
        "fresh from the cold, or breath, opens holes in it.",
        (
            "lay up when it no longer feels cool or tacky anywhere, and leaves no mark of a nail",
            "let a cold mould come to the room's temperature in a closed bag first",
            f"{liquid} run into the joint later helps the part off",
        ),
    )
