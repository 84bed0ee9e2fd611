"""The resin at hand: its kinetics, from the library or from the one time that its can states."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.layup import PotLife
from mandrelwright.job.materials import Datum, Library
from mandrelwright.job.spec import Job
from mandrelwright.physics.conduction import Grid
from mandrelwright.physics.kinetics import Glass, Kinetics, crossing
from mandrelwright.physics.reaction import Ambient, History, Source, stepped

Array = NDArray[np.float64]

GENERIC = "medium"  # lends what a builder's own resin does not state
SCALES = np.exp(np.linspace(math.log(0.02), math.log(50.0), 81))  # of the generic rate
CUP_LASTS = 3.0 * 86400.0  # s, a cup is watched that long
KEYS = (
    *("rate", "rate_share", "energy_first", "energy", "power", "order", "gel_conversion"),
    *("heat_of_reaction", "specific_heat", "specific_heat_liquid", "conductivity", "density"),
    *("glass_fresh", "glass_full", "glass_curvature", "cut_off", "cut_off_width"),
    "density_liquid",
)
TIMED = ("job.resin.gel", "job.resin.demould", "job.resin.pot_life")
RATE = (*TIMED, *(f"materials.resins.{{resin}}.{key}" for key in KEYS))
CUP = "materials.practice.cure.cup_loss"


@dataclass(frozen=True)
class Resin:
    """Kinetics and heat (J/kg) of the resin, its gel, and the relative doubt of its rate."""

    kinetics: Kinetics
    heat: float
    gel: float
    doubt: float
    reach_doubt: float
    told_by: str
    specific_heat: float
    cup_heat: float
    conductivity: float
    density: float
    liquid: float


def read_resin(job: Job, library: Library) -> Resin:
    """Rate constants from the library, scaled as one to the gel, demould or pot life stated.

    k = k_library t_library/t_stated; for a cup the k whose simulated cup takes the time stated.
    """
    row = _rows(job, library)
    k2 = row["rate"].value
    kinetics = Kinetics(
        k1=row["rate_share"].value * k2,
        k2=k2,
        E1=row["energy_first"].value,
        E2=row["energy"].value,
        m=row["power"].value,
        n=row["order"].value,
        glass=Glass(*(row[f"glass_{key}"].value for key in ("fresh", "full", "curvature"))),
        reach=row["cut_off"].value,
        width=row["cut_off_width"].value,
    )
    generic = Resin(
        kinetics,
        row["heat_of_reaction"].value,
        row["gel_conversion"].value,
        row["rate"].spread / k2,
        row["cut_off"].spread,
        "library",
        row["specific_heat"].value,
        row["specific_heat_liquid"].value,
        row["conductivity"].value,
        row["density"].value,
        row["density_liquid"].value,
    )
    return _timed(generic, job, library)


def _rows(job: Job, library: Library) -> dict[str, Datum]:
    entry, generic = library.resins[job.resin.name], library.resins[GENERIC]
    return {key: entry[key] if key in entry else generic[key] for key in KEYS}


def _timed(resin: Resin, job: Job, library: Library) -> Resin:
    """The resin made faster or slower until it takes the time that the can states."""
    can, kinetics = job.resin, resin.kinetics
    if can.gel is not None or can.demould is not None:
        told, word = (can.gel, "gel") if can.gel is not None else (can.demould, "demould")
        assert told is not None
        at = told.at.value
        until = resin.gel if word == "gel" else float(kinetics.glass.conversion(at))
        scale = kinetics.time_to(until, at) / told.time.value
        unsure = (told.at.spread * float(kinetics.E2)) / (8.314462618 * at**2)
        doubt = math.hypot(told.time.spread / told.time.value, unsure, 0.1)
        return scaled(resin, scale, doubt, word)
    life = can.pot_life
    if life is not None and life.ends is not None and life.loss is not None:
        scale = _of_cup(resin, life)
        return scaled(resin, scale, math.hypot(life.time.spread / life.time.value, 0.2), "pot life")
    return resin


def scaled(resin: Resin, by: float | Array, doubt: float, told_by: str) -> Resin:
    """The same resin with both rate constants multiplied."""
    kinetics = replace(resin.kinetics, k1=by * resin.kinetics.k1, k2=by * resin.kinetics.k2)
    return replace(resin, kinetics=kinetics, doubt=doubt, told_by=told_by)


def _of_cup(resin: Resin, life: PotLife) -> float:
    """The factor on the rate with which a cup of this mass and heat loss ends when stated."""
    assert life.ends is not None
    assert life.loss is not None
    history = cup(
        scaled(resin, SCALES, 0.0, ""), life.mass.value, life.loss.value, life.at.value, len(SCALES)
    )
    T = history.temperature[:, :, 0]
    ends = crossing(history.times, T, np.gradient(T, history.times, axis=0), life.ends.value)
    known = np.isfinite(ends)
    if not known.any():
        return 1.0
    order = np.argsort(ends[known])
    at, factor = np.log(ends[known][order]), np.log(SCALES[known][order])
    return float(np.exp(np.interp(math.log(life.time.value), at, factor)))


def cup(resin: Resin, mass: float, loss: float, room: float, count: int = 1) -> History:
    """A cup left standing: m c dT/dt = m H dα/dt − UA (T − T_room), one cell for each cup.

    mass (kg), loss UA (W/K), room (K); ``count`` cups where the rate is an array.
    """
    shape, radius = (count, 1), 0.025
    area = math.pi * radius**2
    grid = Grid(
        np.tile([0.0, radius], (count, 1)),
        np.full(shape, 1e9),
        np.full(shape, mass * resin.cup_heat / area),
    )
    source = Source(resin.kinetics, np.full(shape, mass * resin.heat / area), 0, 1)
    film = loss / (2.0 * math.pi * radius)
    return stepped(grid, [Ambient(CUP_LASTS, room, film)], room, source, tolerance=0.1)


def cup_loss(mass: float, density: float, film: float) -> float:
    """Heat that a cup as high as wide loses per kelvin (W/K): UA = h·1.5π d², d³ = 4m/(πρ)."""
    width = math.cbrt(4.0 * mass / (math.pi * density))
    return film * 1.5 * math.pi * width**2
