"""Whether the wall bears what it meets."""

from __future__ import annotations

import math

import numpy as np

from mandrelwright.findings import strength as say
from mandrelwright.findings.finding import Finding
from mandrelwright.job.materials import Library
from mandrelwright.physics.strength import RUBBERY
from mandrelwright.physics.uncertainty import normal_cdf
from mandrelwright.stages.flight import Flight
from mandrelwright.stages.shape import Shape
from mandrelwright.stages.strength import Failure, Strength

HANGS = 0.3  # of a load factor, by heat alone: worth a word
ON_THE_GROUND = ("handling", "landing")  # a part that cracks there is lost, nobody below it


def check_strength(
    shape: Shape, strength: Strength, flight: Flight, library: Library
) -> list[Finding]:
    """Cases past their strength or near it, and the one that fails first."""
    wanted = library.practice["strength"]["reserve_wanted"].value
    short = [one for one in _worst_of_each(strength) if one.reserve < wanted]
    found = [_short(one, shape.base, wanted) for one in short]
    found += _near_glass(strength, flight, wanted)
    if strength.worst is not None:
        found.append(_first(shape, strength, flight))
    return found + [say.not_known(name) for name in strength.unknown]


def _short(one: Failure, base: float, wanted: float) -> Finding:
    """A case that fails or leaves little; apart where only the shell of revolution finds it."""
    how, place = one.least.how, base - one.least.x
    flies = one.id not in ON_THE_GROUND
    if one.reserve < 1.0:
        if one.alone >= 1.0:
            return say.shell_fails(one.name, *one.binding, one.alone, how, place, flies)
        return say.fails(one.name, *one.binding, how, place, flies, one.kept)
    if one.alone >= wanted:
        return say.shell_little_reserve(one.name, one.reserve, one.alone, wanted, how, place)
    return say.little_reserve(one.name, one.reserve, wanted, how, place, one.kept)


def _worst_of_each(strength: Strength) -> list[Failure]:
    """Cases that share load and place are told once."""
    seen: dict[tuple[float, float, bool], Failure] = {}
    for one in strength.failures:
        key = round(one.reserve, 3), round(one.least.x, 4), one.id in ON_THE_GROUND
        seen.setdefault(key, one)
    return list(seen.values())


def _near_glass(strength: Strength, flight: Flight, wanted: float) -> list[Finding]:
    """The case whose load factor hangs most on the glass transition, told once."""
    hanging = [one for one in strength.failures if one.heat_share > HANGS and one.kept > RUBBERY]
    if not hanging:
        return []
    one = max(hanging, key=lambda failure: failure.heat_share)
    case = next(item for item in flight.cases if item.id == one.id)
    warm = float(np.interp(one.x, strength.x, case.mean))
    doubt = math.hypot(flight.mean_spread(case), flight.glass_spread)
    chance = float(normal_cdf((warm - flight.glass) / max(doubt, 1e-6)))
    near = one.reserve < 2.0 * wanted
    return [say.near_glass(one.name, one.factor, one.heat_share, flight.glass - warm, doubt,
                           chance, near)]  # fmt: skip


def _first(shape: Shape, strength: Strength, flight: Flight) -> Finding:
    """The case with the least load factor, and its load when it fails."""
    one = min(strength.failures, key=lambda failure: failure.factor)
    axial, moment = load_at(strength, flight, one)
    load = say.load_of(one.factor * axial, one.factor * moment)
    return say.first_failure(one.name, one.factor, one.how, one.by, shape.base - one.x, load)


def load_at(strength: Strength, flight: Flight, failure: Failure) -> tuple[float, float]:
    """Axial force (N) and moment (N·m) of a case where it first fails."""
    case = next(item for item in flight.cases if item.id == failure.id)
    at = int(np.argmin(np.abs(strength.x - failure.x)))
    return float(case.axial[at]), float(case.moment[at])
