"""The steps of the job in order, once: a Job in, a Plan of frozen records and findings out."""

from __future__ import annotations

from dataclasses import dataclass

from mandrelwright.draft import Draft, gravest_first, make_draft
from mandrelwright.findings.finding import Finding, Level
from mandrelwright.job.corrections import Corrections
from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.stages.aids import Aids, make_aids
from mandrelwright.stages.flight import Flight, fly
from mandrelwright.stages.flight_checks import check_flight
from mandrelwright.stages.joint_checks import check_joints
from mandrelwright.stages.joints import Joints, join
from mandrelwright.stages.layup import LayUp, plan_layup
from mandrelwright.stages.layup_checks import check_layup
from mandrelwright.stages.pattern_checks import check_patterns
from mandrelwright.stages.patterns import Patterns, cut_patterns
from mandrelwright.stages.radio import Radio, hear
from mandrelwright.stages.radio_checks import check_radio
from mandrelwright.stages.release import Release, can_be_judged, plan_release
from mandrelwright.stages.release_checks import check_release
from mandrelwright.stages.segment_checks import check_segments
from mandrelwright.stages.segments import Segments, cut_segments
from mandrelwright.stages.stack import PLACES
from mandrelwright.stages.strength import Strength, judge_strength
from mandrelwright.stages.strength_checks import check_strength
from mandrelwright.stages.supplies import Supplies, check_supplies, count_supplies
from mandrelwright.stages.wall import read_constituents
from mandrelwright.stages.whole import Whole, as_shell
from mandrelwright.verdict import give_verdict, unaccepted


@dataclass(frozen=True)
class Plan(Draft):
    """What follows from a job: one record per step, and everything its user must know."""

    segments: Segments
    aids: Aids
    layup: LayUp
    patterns: Patterns
    supplies: Supplies
    release: Release | None  # None where no sound wall lies to be released
    joints: Joints
    flight: Flight | None  # None where the job has no [flight] or no wall lies
    strength: Strength | None  # None where nothing loads the part
    whole: Whole | None  # None where nothing loads the part
    radio: Radio | None  # None where the job states no antenna


def make_plan(
    job: Job, library: Library, places: int = PLACES, *, corrections: Corrections | None = None
) -> Plan:
    """The draft, then every other record of the plan, in the order of its fields; then its checks.

    ``corrections``: what this shop's readings taught.
    """
    draft = make_draft(job, library, places, corrections)
    shape, stack, mould, surface = draft.shape, draft.stack, draft.mould, draft.surface
    cure, fit, form, assembly = draft.cure, draft.fit, draft.print, draft.assembly
    parts = read_constituents(job, stack.layers, library)
    segments = cut_segments(job, shape, mould, fit, form, library)
    aids = make_aids(job, shape, stack, fit, form, segments, library)
    layup = plan_layup(job, shape, stack, mould, library)
    patterns = cut_patterns(job, shape, stack, mould, layup, library)
    supplies = count_supplies(job, layup, patterns)
    release = None
    if can_be_judged(stack):
        release = plan_release(job, stack, parts, surface, cure, fit.chain, library)
    flight = fly(job, shape, stack, cure, assembly, library)
    joints = join(job, shape, stack, draft.wall, fit, assembly, flight, library)
    local = judge_strength(job, stack, parts, cure, flight, library)
    strength, whole = as_shell(shape, stack, parts, cure, flight, local, library)
    radio = hear(job, shape, stack, cure, strength, library) if job.antennas else None
    findings = [*draft.findings, *check_segments(job, shape, form, segments, library)]
    findings += check_layup(job, layup, cure, library)
    findings += check_patterns(job, patterns, library) + check_supplies(supplies)
    findings += check_release(job, shape, release, library) if release else []
    findings += check_joints(shape, stack, assembly, joints, library)
    findings += check_flight(job, flight) if flight else []
    if strength is not None and flight is not None:
        findings += check_strength(shape, strength, flight, library)
    findings += check_radio(radio, assembly, library) if radio else []
    findings = gravest_first(findings)
    stops = unaccepted(findings, [item.finding for item in job.accepted])
    accepted = _accepted_stops(findings, stops)
    told = {
        "findings": tuple(findings),
        "verdict": give_verdict(fit, mould, release, assembly, strength, stops, accepted),
    }
    return Plan(
        **{**vars(draft), **told},
        segments=segments,
        aids=aids,
        layup=layup,
        patterns=patterns,
        supplies=supplies,
        release=release,
        joints=joints,
        flight=flight,
        strength=strength,
        whole=whole,
        radio=radio,
    )


def _accepted_stops(findings: list[Finding], stops: list[Finding]) -> int:
    return sum(finding.level is Level.STOP for finding in findings) - len(stops)
