"""One calendar of treatment, cure and release, in hours from when all resin is on."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

from mandrelwright.findings.release import in_words
from mandrelwright.job.curing import OFF
from mandrelwright.out import treatment
from mandrelwright.plan import Plan
from mandrelwright.quantities import show
from mandrelwright.stages.release_checks import when
from mandrelwright.stages.states import stays

HEADS = ("hour", "what", "how long, how warm", "go on when")
FINGER = "a nail leaves no dent in a drop kept from the last cup"


class Entry(NamedTuple):
    """One line: hour from the end of the lay-up (s, NaN for never), what, how, check."""

    begins: float
    what: str
    how: str
    check: str


def calendar(plan: Plan) -> list[tuple[str, ...]]:
    """Every treatment, moment of the cure and step of the release under HEADS, in its order.

    Treatments count back from the lay-up by their least waits; the release begins when the
    schedule on the mould has ended and the part may be pulled, whichever is later.
    """
    entries = [*_treatment(plan), *sorted(_cure(plan), key=_late), *_release(plan)]
    return [(_hour(entry.begins), entry.what, entry.how, entry.check) for entry in entries]


def pulled_from(plan: Plan) -> float:
    """When the steps of the release may begin (s), inf where the part stays soft for two weeks."""
    on = sum(stay.stay.value for stay in stays(plan.job) if stay.part != OFF)
    ready = plan.cure.release_after
    return max(on, ready if math.isfinite(ready) else math.inf)


def _late(entry: Entry) -> float:
    return entry.begins if math.isfinite(entry.begins) else math.inf


def _treatment(plan: Plan) -> Iterator[Entry]:
    ready = plan.surface.ready
    hours = [step.begins for step in plan.surface.steps]
    for number, row in enumerate(treatment.rows(plan)):
        begins = hours[number] if number < len(hours) else ready
        wait = "" if row[5] == treatment.NOTHING else f"then wait {row[5]}"
        yield Entry(begins - ready, row[0], wait, row[6])


def _cure(plan: Plan) -> Iterator[Entry]:
    cure = plan.cure
    yield Entry(0.0, "all resin is on", "", "")
    shop, passed = plan.job.shop.temperature.value, 0.0
    for stay in stays(plan.job):
        at = "shop temperature" if isinstance(stay.at, str) else show(stay.at.value, "degC", 0)
        place = "" if stay.part != OFF else ", off the mould"
        around = stay.surroundings(shop)
        where = "" if around == "air" else f", in {around}"
        yield Entry(passed, "stay", f"{stay.stay.value / 3600.0:g} h at {at}{where}{place}", "")
        passed += stay.stay.value
    gels = f"to hour {_hour(cure.gel_last)} along the part"
    yield Entry(cure.gel_first, "gels", gels, "no thread can be drawn from it")
    recoat = "after this hour wash with water, dry and scuff"
    yield Entry(cure.recoat_until, "last hour that another session bonds by itself", "", recoat)
    yield Entry(cure.release_after, "hard enough to be pulled", "", FINGER)
    if cure.cold > passed:
        yield Entry(cure.cold, "mould is cold", "", "within 1 K of the shop")


def _release(plan: Plan) -> Iterator[Entry]:
    made = plan.release
    if made is None:
        return
    begins = pulled_from(plan)
    for step in made.steps if made.moments.times[-1] >= 60.0 else ():
        words = in_words([(step.lasts, step.temperature, step.medium)], made.shop)
        yield Entry(begins, "release", words, "")
        begins += step.lasts
    pull = pulled_from(plan) + made.band[0]
    yield Entry(pull, "pull", when(made), f"{100.0 * made.odds:.0f} of 100 come free")


def _hour(seconds: float) -> str:
    if not math.isfinite(seconds):
        return "later than two weeks"
    return f"{seconds / 3600.0 + 0.0:.1f}".removesuffix(".0").replace("-", "−")
