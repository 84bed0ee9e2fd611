"""What the builder must know of sun, flight and landing before he trusts the part."""

from __future__ import annotations

import math

import numpy as np

from mandrelwright.findings import flight as say
from mandrelwright.findings.finding import Finding
from mandrelwright.job.flying import Flight as Stated
from mandrelwright.job.spec import Job
from mandrelwright.physics.uncertainty import normal_cdf
from mandrelwright.stages.flight import Case, Flight
from mandrelwright.stages.loads import has_no_front

HALF = 0.5  # of the peak dynamic pressure: a load worth the name
LIKELY = 0.05  # chance of being past the glass transition that is worth a word
HIGHEST_MACH, MOST_ANGLE = 4.0, np.radians(10.0)
LENT = {
    "handling": "handling", "ejection_pressure": "ejection", "zippering": "zippering",
    "cord": "cord_width", "landing": "landing", "sun": "sun", "wind": "wind",
}  # fmt: skip


def check_flight(job: Job, flight: Flight) -> list[Finding]:
    """Sun, loads on a soft wall, skin and bond, guesses, what the history lacked."""
    stated = job.flight
    if stated is None:
        return []
    return [*_sunned(stated, flight), *_warm(flight), *_told(job, stated, flight)]


def _chance(flight: Flight, case: Case) -> float:
    """Chance that the warmest mean is past the glass transition, both as normal."""
    doubt = math.hypot(flight.mean_spread(case), flight.glass_spread)
    return float(normal_cdf((case.warmest("mean") - flight.glass) / max(doubt, 1e-6)))


def _sunned(stated: Stated, flight: Flight) -> list[Finding]:
    surely = stated.colour is not None
    if flight.sun >= flight.glass:
        air = stated.temperature.value
        return [say.soft_in_sun(flight.sun, air, flight.colour, flight.glass, surely)]
    doubt = math.hypot(flight.glass_spread, flight.sun_spread)
    if flight.glass - flight.sun < max(2.0 * doubt, 5.0):
        return [say.warm_in_sun(flight.sun, flight.colour, flight.glass, surely)]
    return []


def _warm(flight: Flight) -> list[Finding]:
    """The laminate against its glass transition at the time of each load, then skin and bond."""
    peak = max(case.dynamic_pressure for case in flight.cases)
    loaded = [case for case in flight.cases if case.id != "sun" and not _idle(case, peak)]
    soft = [case for case in loaded if case.warmest("mean") >= flight.glass]
    found = []
    if soft:
        worst = max(soft, key=lambda case: case.warmest("mean"))
        names = ", ".join(dict.fromkeys(case.name for case in soft))
        mean, spread = worst.warmest("mean"), flight.mean_spread(worst)
        found.append(say.soft_under_load(names, mean, spread, flight.glass))
    else:
        worst = max(loaded, key=lambda case: _chance(flight, case))
        chance = _chance(flight, worst)
        if chance > LIKELY:
            found.append(say.near_glass(worst.name, worst.warmest("mean"), chance, flight.glass))
    hot = flight.case("hottest")
    if hot is not None and hot not in loaded and hot.warmest("mean") >= flight.glass:
        left = hot.dynamic_pressure / max(peak, 1.0)
        found.append(say.soft_after_load(hot.warmest("mean"), hot.time or 0.0, left, flight.glass))
    return [*found, *_skin_and_bond(flight)]


def _idle(case: Case, peak: float) -> bool:
    """Whether the laminate is hottest when less than half of the dynamic pressure is left."""
    return case.id == "hottest" and case.dynamic_pressure < HALF * peak


def _skin_and_bond(flight: Flight) -> list[Finding]:
    """Each told once, at its warmest, where the laminate as a whole is not past it anyway."""
    found = []
    moments = [case for case in flight.cases if case.id != "sun"]
    hard = [case for case in moments if case.warmest("mean") < flight.glass]
    if hard:
        skin = max(hard, key=lambda case: case.warmest("skin"))
        if skin.warmest("skin") >= flight.glass:
            means = skin.warmest("mean")
            found.append(say.skin_soft(skin.name, skin.warmest("skin"), means, flight.glass))
    bonded = [case for case in moments if math.isfinite(case.warmest("bond"))]
    if bonded:
        bond = max(bonded, key=lambda case: case.warmest("bond"))
        if bond.warmest("bond") >= flight.glass:
            found.append(say.bond_soft(bond.name, bond.warmest("bond"), flight.glass))
    return found


def _told(job: Job, stated: Stated, flight: Flight) -> list[Finding]:
    """Guesses, contradictions, and what was judged."""
    course, found = flight.course, []
    if course is None:
        found.append(say.not_flown())
    elif course.steep and stated.altitude is not None:
        found.append(say.burns_above(stated.altitude.value))
    if has_no_front(job, stated):
        found.append(say.nothing_ahead())
    if course is not None and float(course.mach.max()) > HIGHEST_MACH:
        found.append(say.beyond_theory(f"Mach {float(course.mach.max()):.1f}"))
    angle = flight.case("peak-angle")
    if angle is not None and angle.angle > MOST_ANGLE:
        found.append(say.beyond_theory(f"{math.degrees(angle.angle):.0f}° of attack"))
    track = job.track
    if track is not None and (track.gaps or track.moved or track.doubled or track.filled):
        found.append(say.mended(track.gaps, track.moved, track.doubled, track.filled))
    lent = [f"flight.{key}" for key in LENT if getattr(stated, key) is None]
    lent += [] if course is None or course.kind == "history" else _lent_flight(stated)
    if lent:
        found.append(say.assumed(lent))
    return [*found, say.judged(_profile(flight))]


def _lent_flight(stated: Stated) -> list[str]:
    """What an envelope leaves open."""
    lent = [] if stated.burn is not None else ["flight.burn"]
    gust = stated.gust or stated.angle_of_attack
    return lent if gust is not None else [*lent, "flight.gust"]


def _profile(flight: Flight) -> str:
    """The flight that was followed, in words."""
    course = flight.course
    if course is None:
        return "Hands, charge, cord, ground and sun were judged."
    if course.kind == "history":
        return f"The history was followed for {course.ejects - course.times[0]:.1f} s."
    return (
        "The envelope was flown as straight up: even push to top speed, the hold, a coast whose "
        f"drag ends it at {float(course.height.max()):.0f} m after {course.top:.1f} s."
    )
