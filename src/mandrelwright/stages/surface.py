"""Step 6, Surface: every treatment with its size, roughness and wait, until the mould is ready."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.job.tooling import Smooth
from mandrelwright.job.tooling import Treatment as Stated
from mandrelwright.physics import roughness, solvent
from mandrelwright.stages.films import lay_films
from mandrelwright.stages.mould import Mould
from mandrelwright.stages.record import result
from mandrelwright.stages.rings import RingPlan, plan_rings
from mandrelwright.stages.size_change import SizeChange
from mandrelwright.stages.smoothing import FACE, SMOOTHING, RingFit, Smoothed, smooth
from mandrelwright.stages.solvents import EACH, Drying, Hazard, find_hazards, judge_drying

Array = NDArray[np.float64]

PRACTICE = "materials.practice.roughness."
LINES = ("wall", "stair", "floor")
LABELS = {"sand": "sanding", "fill": "filler", "smooth": "smoothing", "wax": "wax"}
PRINTED = ("job.printer.layer", "mould.slope", *(f"{PRACTICE}{key}" for key in LINES))


@dataclass(frozen=True)
class Treatment:
    """One step until the mould is ready: when it begins, what it leaves, the wait after it."""

    label: str
    does: str
    begins: float = result("when it may begin, from the first treatment", "h")
    takes: float = result("time in the vapour", "h")
    waits: float = result("wait after it; not known here: as the can says", "h")
    roughness: Array = result(
        "Ra that it leaves",
        "um",
        (roughness.sanded_roughness, roughness.remaining_roughness),
    )
    uses: tuple[str, ...] = ()


@dataclass(frozen=True)
class Surface:
    """Size changes in order (before wax: ``treatments``; wax and film: ``films``), and the plan."""

    treatments: tuple[SizeChange, ...] = result("change of diameter by treatment")
    films: tuple[SizeChange, ...] = result("wax and release film on the diameter")
    roughness: Array = result(
        "Ra of the print before any treatment", "um", roughness.layer_line_roughness, PRINTED
    )
    steps: tuple[Treatment, ...] = result("treatments in order", uses=EACH)
    ready: float = result(
        "earliest lay-up, from the first treatment; what the can says comes on top",
        "h",
        uses=("surface.steps.*", *EACH),
    )
    rings: tuple[RingFit, ...] = result("losses that smoothed rings predict", by=smooth, uses=EACH)
    plans: tuple[RingPlan, ...] = result("rings to smooth first", by=plan_rings, uses=EACH)
    hazards: tuple[Hazard, ...] = result(
        "solvent in still air", by=solvent.liquid_for_share, uses=EACH
    )
    drying: tuple[Drying, ...] = result("dryness by weight", by=judge_drying, uses=EACH)


def treat_surface(job: Job, mould: Mould, library: Library) -> Surface:
    """Size change and spread of each treatment and film, roughness and wait after each.

    change = −2·off by sanding, 2·adds by filling, −loss by smoothing, 2·coats·coat by wax,
    2·wraps·film by a film; all on diameter, m. Each treatment finds the roughness that the
    one before it left; smoothing levels what is left of the layer lines.
    """
    printed = _roughness(job, mould, library)
    works = list(_works(job, printed, library))
    smoothed = [(item, item.smoothed) for item in works if item.smoothed is not None]
    plans = (
        _ring_plan(job, mould, item, told, library)
        for item, told in smoothed
        if told.basis != "measured"
    )
    drying = [
        judge_drying(item.stated, item.label, item.key, job.shop.scale.value, library)
        for item in works
        if isinstance(item.stated, Smooth)
    ]
    steps, ready = _calendar(works, drying, library)
    return Surface(
        tuple(item.change for item in works if item.change is not None),
        tuple(lay_films(job, mould, library)),
        printed,
        steps,
        ready,
        tuple(told.fit for _, told in smoothed if told.fit is not None),
        tuple(plans),
        tuple(find_hazards(job, library)),
        tuple(drying),
    )


@dataclass(frozen=True)
class _Work:
    """One treatment of the job, what it does to the diameter and the face it leaves."""

    stated: Stated
    label: str
    key: str
    change: SizeChange | None
    roughness: Array
    smoothed: Smoothed | None = None


def _works(job: Job, ra: Array, library: Library) -> Iterator[_Work]:
    """Every treatment in order; Ra passes from one to the next."""
    for row, stated in enumerate(job.surface):
        before = sum(other.do == stated.do for other in job.surface[:row])
        label = LABELS[stated.do] + (f" {before + 1}" if before else "")
        work = _work(job, stated, label, f"job.surface[{row + 1}]", ra, library)
        ra = work.roughness
        yield work


def _work(job: Job, stated: Stated, label: str, key: str, ra: Array, library: Library) -> _Work:
    """One treatment of a face of roughness ``ra`` (m); ``key`` is its place in the job."""
    practice, finished = library.practice["smoothing"], library.practice["roughness"]["finished"]
    if stated.do == "sand":
        off = stated.off
        cut = roughness.sanded_roughness(roughness.scallop_height(ra), off.value)
        left = np.minimum(ra, np.hypot(cut, finished.value))
        change = SizeChange(
            label, -2.0 * off.value, 2.0 * off.spread, "stated", "job", (f"{key}.off",)
        )
        return _Work(stated, label, key, change, left)
    if stated.do == "fill":
        adds = stated.adds
        change = SizeChange(
            label, 2.0 * adds.value, 2.0 * adds.spread, "stated", "job", (f"{key}.adds",)
        )
        return _Work(stated, label, key, change, np.minimum(ra, finished.value))
    if stated.do == "wax":
        return _Work(stated, label, key, None, ra)
    coupons = job.coupons[stated.coupon] if stated.coupon is not None else None
    smoothed = smooth(stated, label, key, float(ra.min()), coupons, library)
    share = roughness.levelled_share(stated.time.value, smoothed.time_constant.value)
    left = roughness.remaining_roughness(ra, practice["roughness_left"].value, share)
    told = smoothed.basis, smoothed.source, smoothed.uses
    change = SizeChange(label, -smoothed.loss, smoothed.spread, *told)
    return _Work(stated, label, key, change, left, smoothed)


def _ring_plan(
    job: Job, mould: Mould, work: _Work, smoothed: Smoothed, library: Library
) -> RingPlan:
    """Rings of the leading mark's diameter, to the millimetre, that would tell the loss."""
    assert isinstance(work.stated, Smooth)
    diameter = round(mould.marks[0].diameter, 3)
    time, caliper = work.stated.time.value, job.shop.caliper.value
    return plan_rings(work.label, time, smoothed, caliper, diameter, library)


def _calendar(
    works: list[_Work], drying: list[Drying], library: Library
) -> tuple[tuple[Treatment, ...], float]:
    """Each treatment with its hours; the earliest lay-up, s from the first treatment."""
    dried = {item.label: item for item in drying}
    clock, ready = 0.0, 0.0
    steps: list[Treatment] = []
    for work in works:
        takes = work.stated.time.value if isinstance(work.stated, Smooth) else 0.0
        waits = 0.0 if work.stated.do == "sand" else math.nan
        if isinstance(work.stated, Smooth):
            waits, until = _drying_time(work.stated, dried[work.label], library)
            ready = max(ready, clock + takes + until)
        before = tuple(f"surface.steps.{step.label}" for step in steps[-1:])
        uses = (*EACH, *before, *_leaves(work), "surface.drying")
        steps.append(
            Treatment(work.label, work.stated.do, clock, takes, waits, work.roughness, uses)
        )
        clock += takes + (0.0 if math.isnan(waits) else waits)
    return tuple(steps), max(ready, clock)


def _drying_time(stated: Smooth, drying: Drying, library: Library) -> tuple[float, float]:
    """Wait before the next treatment and before epoxy, s: weighed dry, stated, or the library's."""
    if drying.dry == "yes":
        return drying.weighed, drying.weighed
    practice = library.practice["smoothing"]
    epoxy = practice["dry_before_epoxy"].value
    if stated.dries is not None:
        return stated.dries.value, max(stated.dries.value, epoxy)
    return practice["dry_before_wax"].value, epoxy


def _leaves(work: _Work) -> tuple[str, ...]:
    """Numbers of the library behind the roughness and the wait that a treatment leaves."""
    waits = ("dry_before_wax", "dry_before_epoxy")
    told = (*FACE, *(f"{SMOOTHING}{name}" for name in waits))
    return told + ((work.smoothed.levels_by, *work.smoothed.uses) if work.smoothed else ())


def _roughness(job: Job, mould: Mould, library: Library) -> Array:
    """Ra of the print at every place of the mould (m), printed upright."""
    practice = library.practice["roughness"]
    return roughness.layer_line_roughness(
        job.printer.layer.value,
        np.abs(np.arctan(mould.slope)),
        *(practice[key].value for key in LINES),
    )
