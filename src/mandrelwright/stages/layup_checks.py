"""What can go wrong with resin and hands."""

from __future__ import annotations

import math

from mandrelwright.findings import layup as say
from mandrelwright.findings.finding import Finding
from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.stages.cure import Cure
from mandrelwright.stages.layup import LayUp

COLD = 288.15  # K: the source of say.cold
NEAR = 1e-9  # relative: a cup made to measure is not too small


def check_layup(job: Job, layup: LayUp, cure: Cure, library: Library) -> list[Finding]:
    """Cups against pot life and scale, sag, and what wet epoxy does."""
    found = [say.epoxy(job.shop.batch_most.value, cure.cup_peak, cure.cup_time)]
    found += [*_unknown(job), *_cups(job, layup, library)]
    if job.shop.temperature.value < COLD:
        found.append(say.cold(job.shop.temperature.value))
    if layup.cups and layup.takes > layup.cups[0].mixed_at + layup.film_gels:
        found.append(say.sets_early(layup.takes, layup.film_gels))
    if layup.cups and not math.isnan(layup.sag_speed):
        until = layup.cups[-1].mixed_at + layup.film_gels
        found.append(say.runs(layup.sag_speed, layup.turn_every, until))
    return found


def _unknown(job: Job) -> list[Finding]:
    """What only the can says."""
    life, batch = job.resin.pot_life, job.shop.batch_most.value
    found = [say.no_pot_life()] if life is None else []
    if life is not None and life.mass.value < batch:
        found.append(say.smaller_than_allowed(life.mass.value, batch))
    return found + ([say.no_hardener()] if job.resin.hardener is None else [])


def _cups(job: Job, layup: LayUp, library: Library) -> list[Finding]:
    """Cups that cannot be, that do not last for a layer, that the scale cannot weigh."""
    practice = library.practice["lay-up"]
    if not layup.cups:
        lost = practice["mix_fixed"].value
        if layup.most_cup < 2.0 * lost:
            return [say.cup_too_small(layup.most_cup, lost)]
        return [say.pot_life_too_short(layup.lasts, layup.mixing)]
    limit = practice["hardener_error"].value
    found = []
    split = dict.fromkeys(step.layer for step in layup.steps if step.parts > 1)
    if split:
        lasts = math.inf if math.isnan(layup.lasts) else layup.lasts
        found.append(say.layer_split(list(split), lasts, layup.most_cup))
    worst = max(cup.hardener_error for cup in layup.cups)
    if worst > limit * (1.0 + NEAR):
        found.append(say.scale_too_coarse(worst, limit, layup.least_cup))
    raised = [cup.label for cup in layup.cups if cup.raised]
    if raised:
        found.append(say.more_than_needed(raised, min(layup.least_cup, layup.most_cup), limit))
    return found
