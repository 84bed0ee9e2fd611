"""What the builder must know before he pulls."""

from __future__ import annotations

from typing import Literal

import numpy as np

from mandrelwright.findings import release as say
from mandrelwright.findings.finding import Finding
from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.job.tooling import Smooth
from mandrelwright.physics.contact import ATMOSPHERE
from mandrelwright.stages.judge import soluble
from mandrelwright.stages.release import Release
from mandrelwright.stages.shape import Shape

PUSH_MOST = 1000.0  # N, a ring and three screws turned by hand; assumed
EVEN = 0.5
LIKELY, HOPELESS = 0.8, 0.05  # odds that are called yes, and no where force does not help either
AIR = 2e5 / ATMOSPHERE  # 2 bar of a workshop's line
UNITS = {
    "braid angle": (np.pi / 180.0, "°"),
    "mould expansion": (1e-6, " ppm/K"),
    "cure shrinkage": (1e-2, " %"),
    "fibre fraction": (1e-2, " %"),
    "lines left": (1.0, " times what was calculated"),
}


def comes_off(release: Release) -> Literal["yes", "no", "not known"]:
    """Whether the part comes off by what is known: yes, no, or not known."""
    if release.glass_margin < 0.0 or (
        release.odds <= HOPELESS and release.push - release.push_doubt > PUSH_MOST
    ):
        return "no"
    return "yes" if release.odds >= LIKELY else "not known"


def check_release(job: Job, shape: Shape, release: Release, library: Library) -> list[Finding]:
    """Steps and moment, what grips or keys, force, air, solvent, glass transition."""
    return [
        *_heat(release),
        *_told(job, release),
        *_hold(job, shape, release),
        *_safety(job, release, library),
    ]


def _heat(release: Release) -> list[Finding]:
    found = []
    if release.glass_margin < 0.0:
        found.append(say.past_glass(-release.glass_margin, release.glass))
    if release.soft_margin < 0.0:
        found.append(say.mould_softens(-release.soft_margin))
    return found


def _told(job: Job, release: Release) -> list[Finding]:
    """How and when to pull, and what to measure when the odds are open."""
    if release.glass_margin < 0.0:
        return []
    kinds = _kinds(release)
    words = say.in_words(kinds, release.shop)
    found = [say.how(words, when(release), release.odds, release.odds_as_it_stands, release.travel)]
    if not release.resolved and len(release.steps) > 1:
        found.append(say.not_resolved())
    return found


def when(release: Release) -> str:
    """The moment to pull, in words, counted from the start of its step."""
    if untouched(release):
        return "once it has cured"
    step, low, high = _moment(release)
    if step == len(release.steps):
        return "at the end"
    if not release.resolved:
        return "at the end" if step == len(release.steps) - 1 else "when handy"
    return say.moment(low, high, _kinds(release)[step], release.shop)


def after(release: Release) -> str:
    """What has gone before the moment to pull, and the moment, as one phrase."""
    if untouched(release):
        return "as it stands, " + when(release)
    step, low, high = _moment(release)
    kinds = _kinds(release)
    if step == len(kinds) or not release.resolved:
        return "after " + say.in_words(kinds, release.shop)
    before = [say.in_words(kinds[:step], release.shop)] if step else []
    return "after " + " and ".join([*before, say.moment(low, high, kinds[step], release.shop)])


def _kinds(release: Release) -> list[tuple[float, float, str]]:
    """The steps as lasts (s), temperature (K), medium."""
    return [(step.lasts, step.temperature, step.medium) for step in release.steps]


def untouched(release: Release) -> bool:
    """Whether no step is taken at all."""
    return bool(release.moments.times[-1] < 60.0)


def _moment(release: Release) -> tuple[int, float, float]:
    """The step of the moment to pull and its band (s) since that began; at an end the next one."""
    step = int(release.moments.step[release.best])
    begins = sum(item.lasts for item in release.steps[:step])
    ends = begins + release.steps[step].lasts
    if release.band[0] > ends - 1.0:
        step, begins = step + 1, ends
    low, high = (max(moment - begins, 0.0) for moment in release.band)
    return step, low, high


def _hold(job: Job, shape: Shape, release: Release) -> list[Finding]:
    """What keeps the part on."""
    found = []
    if job.release.system == "none":
        found.append(say.bare_mould("none"))
    if release.odds < EVEN:
        found.append(say.grips(release.odds, release.tightest, shape.base, release.push))
    gap = release.gap[release.best]
    keyed = release.straight & (gap > 0.0) & (gap < release.asked)
    key = np.where(keyed, release.asked, 0.0)
    if key.max() > 0.0:
        worst = int(np.argmax(key - gap))
        x = float(release.x[worst])
        found.append(say.keyed(float(key[worst]), float(gap[worst]), x, shape.base))
    if release.push > 0.3 * PUSH_MOST:
        found.append(say.hard_to_pull(release.push, release.pull, PUSH_MOST))
    decides = release.deciding
    if decides is not None:
        unit, letter = UNITS.get(decides.name, (1.0, ""))
        at = say.place(decides.x, shape.base)
        grip, free = decides.grips, decides.frees
        found.append(say.measure(decides.name, at, unit, letter, grip, free, decides.spacing))
    return found


def _safety(job: Job, release: Release, library: Library) -> list[Finding]:
    """Air behind and under the part, vapour in a freezer, films that water takes."""
    found = []
    if release.vacuum > 0.0:
        found.append(say.vacuum(release.vacuum))
    if release.odds < LIKELY:
        found.append(say.compressed_air(AIR * release.air))
    media = {step.medium for step in release.steps}
    if media & {"freezer", "hot box", "oven"} and any(
        isinstance(item, Smooth) for item in job.surface
    ):
        found.append(say.freezer_with_solvent())
    if "water" in media and soluble(job, library):
        found.append(say.film_dissolves(job.release.system))
    if "water" in media and job.mould.core.infill is not None:
        found.append(say.water_in_infill())
    return found
