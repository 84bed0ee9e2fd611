"""What the Surface step refuses or warns of."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from mandrelwright.findings import surface as say
from mandrelwright.findings import vapour as warn
from mandrelwright.findings.finding import Finding
from mandrelwright.job.curing import OFF, Stay
from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.job.tooling import Smooth, Wax
from mandrelwright.physics.solvent import saturated_share
from mandrelwright.quantities import celsius
from mandrelwright.stages.films import comes_flat, pleats, stretch, widest_strip
from mandrelwright.stages.mould import Mould
from mandrelwright.stages.shape import Shape
from mandrelwright.stages.solvents import LIMITS, SURE, solvent_of
from mandrelwright.stages.surface import LABELS, Surface

HOT = 15.0  # K above the shop: an oven, a hot box, the sun
COLD = 278.15  # K: a refrigerator's end and a freezer
BOXES = ("oven", "hot box", "freezer")  # whose thermostats switch, however warm they are


def check_surface(
    job: Job, shape: Shape, mould: Mould, surface: Surface, peak: float, library: Library
) -> list[Finding]:
    """Treatments that cannot work, solvent, what nobody measured, films that do not lie.

    peak: the warmest that the mould gets while the resin cures (K).
    """
    return [
        *_solvents(job, library),
        *_amounts(surface, job, library),
        *_order(job, library),
        *_softening(job, library),
        *_drying(job, surface, library),
        *_rings(job, surface),
        *_film(job, shape, mould, peak, library),
    ]


def _smooths(job: Job) -> list[Smooth]:
    return [step for step in job.surface if isinstance(step, Smooth)]


def _solvents(job: Job, library: Library) -> Iterator[Finding]:
    """A solvent that does not touch the plastic; the cautions that go with each."""
    dissolves = library.plastics[job.mould.plastic].words["smooths_with"].words
    for step in _smooths(job):
        if not any(solvent in step.agent for solvent in dissolves):
            yield say.does_not_smooth(step.agent, job.mould.plastic, dissolves)
        if "hot" in step.agent:
            yield warn.hot_solvent(step.agent)
    for name in dict.fromkeys(map(solvent_of, _smooths(job))):
        if name not in library.solvents:
            yield warn.unknown_solvent(name)
            continue
        entry = library.solvents[name]
        low, high = entry["explosive_least"].value, entry["explosive_most"].value
        exposure, danger = entry["exposure_limit"].value, entry["danger"].value
        saturated = float(saturated_share(entry["vapour_pressure"].value))
        yield warn.solvent_vapour(name, exposure, danger, (low, high), saturated)


def _amounts(surface: Surface, job: Job, library: Library) -> Iterator[Finding]:
    """Millilitres for the exposure limit, for danger to life and for the explosive limit."""
    for name in dict.fromkeys(hazard.substance for hazard in surface.hazards):
        these = [hazard for hazard in surface.hazards if hazard.substance == name]
        exposure, danger, explosive = (library.solvents[name][key].value for key in LIMITS)
        yield warn.solvent_amounts(
            name,
            [(hazard.label.rpartition(" ")[2], hazard.volume) for hazard in these],
            [(hazard.exposure, hazard.danger, hazard.explosive) for hazard in these],
            (exposure, danger, explosive),
        )
    spaces = {"room": job.shop.room, "box": job.shop.box}
    missing = tuple(name for name, size in spaces.items() if size is None)
    if missing and _smooths(job):
        yield warn.spaces_not_stated(missing)


def _order(job: Job, library: Library) -> Iterator[Finding]:
    """Wax before bare-plastic work, wax under a film that it repels, wax on wet solvent."""
    for before, after in pairwise(job.surface):
        if isinstance(before, Wax) and not isinstance(after, Wax):
            yield say.out_of_order("wax", LABELS[after.do])
    system = job.release.system
    waxed = any(isinstance(step, Wax) for step in job.surface)
    if waxed and "wax" in library.releases[system].words["repelled_by"].words:
        yield say.repelled(system, "wax")
    least = _least(library, "dry_before_wax")
    for before, after in pairwise(job.surface):
        dries = before.dries if isinstance(before, Smooth) and isinstance(after, Wax) else None
        if dries is not None and dries.value < least:
            yield say.wax_on_solvent(dries.value, least)


def _least(library: Library, key: str) -> float:
    """The shortest wait of the library that is still usual, s."""
    datum = library.practice["smoothing"][key]
    return datum.value - SURE * datum.spread


def _softening(job: Job, library: Library) -> Iterator[Finding]:
    """Walls that the solvent may soften right through."""
    core = job.mould.core
    wall = core.hollow.value if core.hollow else (core.walls or 0) * job.printer.line.value
    if core.hollow is None and core.walls is None:
        return  # solid
    depth = library.practice["smoothing"]["softened_depth"]
    most = depth.value + SURE * depth.spread
    for step in _smooths(job)[:1]:
        if wall <= most:
            yield say.wall_softens(step.agent, wall, most)


def _drying(job: Job, surface: Surface, library: Library) -> Iterator[Finding]:
    """Dry by its weight or not; solvent taken into an oven or a freezer."""
    least = _least(library, "dry_before_epoxy")
    extremes = list(_extremes(job))
    for step, drying in zip(_smooths(job), surface.drying, strict=True):
        dries = step.dries.value if step.dries else math.nan
        fresh = drying.dry in ("no", "not resolved") or (
            drying.dry == "not weighed" and dries < least
        )
        if fresh and extremes:
            yield say.solvent_in_heat(extremes[0], dries, least, drying.dry)
        if drying.dry == "no":
            yield say.not_dry(drying.rate, drying.spread, drying.limit)
        elif drying.dry != "yes":
            yield say.dryness_not_told(drying.dry, drying.soonest, drying.latest)


def _on_mould(job: Job) -> list[Stay]:
    """Every stay of mould and film: those of the cure, then the release steps."""
    return [stay for stay in (*job.schedule, *job.release_steps) if stay.part != OFF]


def _extremes(job: Job) -> Iterator[str]:
    """Stays of cure and release that are hot, freezing or in a box that switches, in words."""
    shop = job.shop.temperature.value
    for stay in _on_mould(job):
        warm, around = stay.kelvin(shop), stay.medium
        degrees = celsius(warm)
        if around in BOXES:
            yield f"{'a' if around != 'oven' else 'an'} {around} at {degrees}"
        elif warm > shop + HOT:
            yield f"heat of {degrees}"
        elif warm < COLD:
            yield f"cold of {degrees}"


def _rings(job: Job, surface: Surface) -> Iterator[Finding]:
    """What rings told, or which ones to smooth."""
    times = {s.label: s.takes for s in surface.steps}
    for fit in surface.rings:
        if times[fit.label] > fit.longest:
            yield say.beyond_rings(times[fit.label], fit.longest)
        if fit.loss < 0.0:
            yield say.rings_grew(fit.loss)
        if fit.told == "library":
            yield say.time_constant_guessed(fit.time_constant)
    for plan in surface.plans:
        yield say.loss_not_measured(
            plan.times, plan.each, plan.readings, plan.diameter, plan.now, plan.expected
        )


def _film(job: Job, shape: Shape, mould: Mould, peak: float, library: Library) -> Iterator[Finding]:
    """A flat film where the mould curves both ways, a loose sleeve, heat, water."""
    system, width = job.release.system, job.release.width
    entry = library.releases[system]
    if comes_flat(job, library):
        wide = width.value if width else math.inf
        place = pleats(job, mould, library, wide)
        if place is not None:
            widest = widest_strip(job, mould, library)
            yield say.film_pleats(system, wide, widest, shape.base, place)
    opens = stretch(job, mould)
    if opens <= 1.0:
        yield say.sleeve_is_loose(opens)
    shop = job.shop.temperature.value
    hottest = max([peak, *(stay.kelvin(shop) for stay in _on_mould(job))])
    if "highest_temperature" in entry and hottest > entry["highest_temperature"].value:
        yield say.release_too_hot(system, entry["highest_temperature"].value, hottest)
    if "water" in entry.words["dissolved_by"].words:
        yield say.film_dissolves("water")
