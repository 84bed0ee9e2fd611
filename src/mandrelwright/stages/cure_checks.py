"""What can go wrong while the resin cures and the mould warms."""

from __future__ import annotations

import math

from mandrelwright.findings import cure as say
from mandrelwright.findings.finding import Finding
from mandrelwright.job.curing import OFF
from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.stages.cure import Cure
from mandrelwright.stages.states import stays

EXOTHERM = 15.0  # K above the warmest surroundings, from which a laminate heats itself
DAMP = 0.70  # relative humidity from which amines bloom; common practice, no source
UNSURE = 5.0  # K: more than a shop varies
RESET = 0.02e-3  # m of bore that calipers see


def check_cure(job: Job, cure: Cure, library: Library) -> list[Finding]:
    """Mould and laminate against heat, the hour of release, damp air."""
    return [
        *_mould(job, cure, library),
        *_laminate(job, cure),
        *_release(job, cure),
        *_air(job, cure),
    ]


def _mould(job: Job, cure: Cure, library: Library) -> list[Finding]:
    margin = library.practice["cure"]["mould_margin"].value
    limit = library.plastics[job.mould.plastic]["deflection_low"].value
    if cure.mould_margin <= 0.0:
        return [say.mould_softens(cure.mould_peak, limit, job.mould.plastic)]
    if cure.mould_margin < margin:
        return [say.mould_near_softening(cure.mould_peak, limit, job.mould.plastic, margin)]
    return []


def _laminate(job: Job, cure: Cure) -> list[Finding]:
    found = []
    if cure.free_margin < 0.0:
        found.append(say.soft_off_the_mould(cure.free_margin))
    if not any(place.sets <= _on_mould(job) for place in cure.places):
        found.append(say.never_sets(_on_mould(job), max(place.sets for place in cure.places)))
    elif abs(cure.regrown) > RESET:
        found.append(say.size_set_again(cure.regrown, cure.set_temperature))
    if cure.set_spread > UNSURE and job.stated.set_temperature is None:
        found.append(say.set_unsure(cure.set_temperature, cure.set_spread))
    shop = job.shop.temperature.value
    warmest = max(stay.kelvin(shop) for stay in stays(job))
    if cure.peak > max(warmest, shop) + EXOTHERM:
        found.append(say.heats_itself(cure.peak, max(warmest, shop)))
    return found


def _on_mould(job: Job) -> float:
    """How long the schedule leaves the part on its mould (s)."""
    return sum(stay.stay.value for stay in stays(job) if stay.part != OFF)


def _release(job: Job, cure: Cure) -> list[Finding]:
    """Whether the schedule is long enough to pull the part, and how well its rate is known."""
    ends, found = _on_mould(job), []
    if job.stated.glass_transition is None and not cure.release_after <= ends:
        found.append(say.too_soft_to_release(ends, cure.release_after, cure.glass))
    if cure.rate_told_by == "library":
        found.append(say.rate_is_generic(job.resin.name, cure.rate_doubt))
    return found


def _air(job: Job, cure: Cure) -> list[Finding]:
    """Blush and dew, where the humidity is stated."""
    found = []
    humidity, shop = job.shop.humidity, job.shop.temperature.value
    if humidity is not None and humidity.value > DAMP:
        found.append(say.blush(humidity.value, cure.dew_point))
    cold = min(stay.kelvin(shop) for stay in stays(job))
    if not math.isnan(cure.dew_point) and cold < cure.dew_point:
        found.append(say.condensation(cold, cure.dew_point))
    return found
