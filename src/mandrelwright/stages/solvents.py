"""What a solvent means for the room, the box and the days after: dangers, never permissions."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from mandrelwright.job.materials import Entry, Library
from mandrelwright.job.spec import Job
from mandrelwright.job.tooling import Smooth
from mandrelwright.physics import solvent
from mandrelwright.stages.record import result
from mandrelwright.stages.smoothing import SMOOTHING

SURE = 2.0  # standard uncertainties on either side of "dry"
EACH = ("job.surface[*]",)
LIMITS = ("exposure_limit", "danger", "explosive_least")


@dataclass(frozen=True)
class Hazard:
    """Liquid that brings the still air of a space to each limit; the gravest danger last."""

    label: str
    substance: str
    volume: float = result("air of the space", "L")
    exposure: float = result("liquid for the exposure limit", "mL", solvent.liquid_for_share)
    danger: float = result("liquid for at once dangerous to life", "mL", solvent.liquid_for_share)
    explosive: float = result("liquid that makes it explode", "mL", solvent.liquid_for_share)
    uses: tuple[str, ...] = ()


@dataclass(frozen=True)
class Drying:
    """How dry a smoothed mould is by its weight, and how long its solvent takes to leave."""

    label: str
    soonest: float = result("solvent leaves the skin, at the soonest", "d", solvent.diffusion_time)
    latest: float = result("and at the latest", "d", solvent.diffusion_time)
    weighed: float = result("last weighing, since it left the vapour", "h")
    rate: float = result("weight it loses", "%/d", solvent.loss_rate, spread="spread")
    spread: float = result("its standard uncertainty", "%/d", solvent.loss_rate)
    limit: float = result("loss of weight below which it is dry", "%/d")
    dry: str = result("dry by its weight: yes, no, not resolved, not weighed")
    uses: tuple[str, ...] = ()


def solvent_of(stated: Smooth) -> str:
    """The solvent of a vapour: "acetone" of "acetone vapour, cold"."""
    return stated.agent.partition(" vapour")[0]


def find_hazards(job: Job, library: Library) -> Iterator[Hazard]:
    """For every solvent of the job and every space that it states: millilitres to each limit."""
    names = [solvent_of(step) for step in job.surface if isinstance(step, Smooth)]
    for name in dict.fromkeys(names):
        if name not in library.solvents:
            continue
        entry = library.solvents[name]
        shares = np.array([entry[key].value for key in LIMITS])
        for space, size in (("room", job.shop.room), ("box", job.shop.box)):
            if size is not None:
                exposure, danger, explosive = solvent.liquid_for_share(
                    shares,
                    size.value,
                    job.shop.temperature.value,
                    entry["molar_mass"].value,
                    entry["density"].value,
                )
                yield Hazard(
                    label=f"{name} in the {space}",
                    substance=name,
                    volume=size.value,
                    exposure=float(exposure),
                    danger=float(danger),
                    explosive=float(explosive),
                    uses=(f"job.shop.{space}", "job.shop.temperature", *EACH, *_numbers(entry)),
                )


def _numbers(entry: Entry) -> tuple[str, ...]:
    """Numbers of a solvent that a hazard follows from."""
    return tuple(f"materials.{entry[key].path}" for key in (*LIMITS, "molar_mass", "density"))


def judge_drying(stated: Smooth, label: str, key: str, scale: float, library: Library) -> Drying:
    """Whether a mould is dry by its last two weighings: rate + 2u ≤ limit, and not: rate − 2u ≥ it.

    A weighing without a spread counts as read to one step of the shop's ``scale`` (kg), evenly
    within it.
    """
    practice = library.practice["smoothing"]
    depth, limit = practice["softened_depth"].value, practice["dry_rate"].value
    soonest, latest = (
        float(solvent.diffusion_time(depth, practice[f"diffusivity_{end}"].value))
        for end in ("most", "least")
    )
    names = ("softened_depth", "diffusivity_least", "diffusivity_most", "dry_rate")
    known = Drying(
        label=label,
        soonest=soonest,
        latest=latest,
        weighed=math.nan,
        rate=math.nan,
        spread=math.nan,
        limit=limit,
        dry="not weighed",
        uses=(f"{key}.weighings", "job.shop.scale", *(f"{SMOOTHING}{name}" for name in names)),
    )
    if stated.weighings is None:
        return known
    time, mass = zip(*stated.weighings, strict=True)
    doubts = [weight.spread or scale / math.sqrt(12.0) for weight in mass]
    rate, spread = solvent.loss_rate(
        [moment.value for moment in time], [weight.value for weight in mass], doubts
    )
    dry = "not resolved"
    if rate + SURE * spread <= limit:
        dry = "yes"
    elif rate - SURE * spread >= limit:
        dry = "no"
    return replace(known, weighed=time[-1].value, rate=rate, spread=spread, dry=dry)
