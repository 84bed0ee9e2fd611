"""The steps of the job in order, once: a Job in, a Plan of frozen records and findings out."""

from __future__ import annotations

from dataclasses import dataclass, replace

from mandrelwright.findings.finding import Finding, Level
from mandrelwright.job.corrections import Corrections
from mandrelwright.job.materials import Library
from mandrelwright.job.remarks import remarks
from mandrelwright.job.spec import Job
from mandrelwright.stages.aids import Aids, make_aids
from mandrelwright.stages.assembly import Assembly, assemble
from mandrelwright.stages.corrected import check_corrections
from mandrelwright.stages.cure import Cure, follow_cure
from mandrelwright.stages.cure_checks import check_cure
from mandrelwright.stages.fit import Fit, close_fits
from mandrelwright.stages.fit_checks import check_fit
from mandrelwright.stages.flight import Flight, fly
from mandrelwright.stages.flight_checks import check_flight
from mandrelwright.stages.joint_checks import check_joints
from mandrelwright.stages.joints import Joints, join
from mandrelwright.stages.layup import LayUp, plan_layup
from mandrelwright.stages.layup_checks import check_layup
from mandrelwright.stages.mould import Mould, check_mould, want_mould
from mandrelwright.stages.pattern_checks import check_patterns
from mandrelwright.stages.patterns import Patterns, cut_patterns
from mandrelwright.stages.print import PrintForm, check_print, form_print
from mandrelwright.stages.radio import Radio, hear
from mandrelwright.stages.radio_checks import check_radio
from mandrelwright.stages.release import Release, can_be_judged, plan_release
from mandrelwright.stages.release_checks import check_release
from mandrelwright.stages.segment_checks import check_segments
from mandrelwright.stages.segments import Segments, cut_segments
from mandrelwright.stages.shape import Shape, draw_shape
from mandrelwright.stages.stack import PLACES, Stack, lay_stack
from mandrelwright.stages.stack_checks import check_stack
from mandrelwright.stages.strength import Strength, judge_strength
from mandrelwright.stages.strength_checks import check_strength
from mandrelwright.stages.supplies import Supplies, check_supplies, count_supplies
from mandrelwright.stages.surface import Surface, treat_surface
from mandrelwright.stages.surface_checks import check_surface
from mandrelwright.stages.wall import Wall, assess_wall, read_constituents
from mandrelwright.stages.whole import Whole, judge_whole
from mandrelwright.verdict import Verdict, give_verdict, unaccepted

LEVELS = tuple(Level)  # gravest first


@dataclass(frozen=True)
class Plan:
    """What follows from a job: one record per step, and everything its user must know."""

    job: Job
    library: Library
    corrections: Corrections | None  # what this shop's readings taught, where it has any
    shape: Shape
    stack: Stack
    wall: Wall
    mould: Mould
    surface: Surface
    cure: Cure
    fit: Fit
    print: PrintForm
    segments: Segments
    aids: Aids
    layup: LayUp
    patterns: Patterns
    supplies: Supplies
    release: Release | None  # None where no sound wall lies to be released
    assembly: Assembly
    joints: Joints
    flight: Flight | None  # None where the job has no [flight] or no wall lies
    strength: Strength | None  # None where nothing loads the part
    whole: Whole | None  # None until it is asked for: with_whole
    radio: Radio | None  # None where the job states no antenna
    findings: tuple[Finding, ...]
    verdict: Verdict

    @property
    def stops(self) -> list[Finding]:
        """Stops that stand, accepted ones left out."""
        return unaccepted(self.findings, [item.finding for item in self.job.accepted])


def make_plan(
    job: Job,
    library: Library,
    places: int = PLACES,
    *,
    corrections: Corrections | None = None,
    skim: bool = False,
) -> Plan:
    """Every record of the plan, in the order of its fields; then every check.

    ``corrections``: what this shop's readings taught. ``skim`` leaves out what nothing before it
    waits for: the release, so that ``comes_off`` stays "not known" wherever the shape alone does
    not decide it.
    """
    shape = draw_shape(job)
    stack = lay_stack(job, shape, library, places)
    parts = read_constituents(job, stack.layers, library)
    wall = assess_wall(parts, stack.fibre_fraction, *stack.pairs, stack.jammed)
    mould = want_mould(job, shape, stack, library)
    surface = treat_surface(job, mould, library)
    cure = follow_cure(job, shape, stack, wall, library)
    fit = close_fits(job, shape, stack, wall, parts, mould, surface, cure, library, corrections)
    form = form_print(job, fit)
    segments = cut_segments(job, shape, mould, fit, form, library)
    aids = make_aids(job, shape, stack, fit, form, segments, library)
    layup = plan_layup(job, shape, stack, mould, library)
    patterns = cut_patterns(job, shape, stack, mould, layup, library)
    supplies = count_supplies(job, layup, patterns)
    release = None
    if not skim and can_be_judged(stack):
        release = plan_release(job, stack, parts, surface, cure, fit.chain, library)
    assembly = assemble(job, shape, stack, library)
    flight = fly(job, shape, stack, cure, assembly, library)
    joints = join(job, shape, stack, wall, fit, assembly, flight, library)
    strength = judge_strength(job, stack, parts, cure, flight, library)
    radio = hear(job, shape, stack, cure, strength, library) if job.antennas else None
    findings = check_stack(shape, stack) + check_mould(job, shape, stack, mould, library)
    findings += check_surface(job, shape, mould, surface, cure.mould_peak, library)
    findings += check_cure(job, cure, library)
    findings += check_print(job, form)
    findings += check_segments(job, shape, form, segments, library)
    findings += check_corrections(fit.chain, corrections)
    findings += check_fit(shape, stack, fit, library) + check_layup(job, layup, cure, library)
    findings += check_patterns(job, patterns, library) + check_supplies(supplies)
    findings += check_release(job, shape, release, library) if release else []
    findings += check_joints(shape, stack, assembly, joints, library)
    findings += check_flight(job, flight) if flight else []
    if strength is not None and flight is not None:
        findings += check_strength(shape, strength, flight, library)
    findings += check_radio(radio, assembly, library) if radio else []
    findings += remarks(job, library)
    findings.sort(key=lambda finding: LEVELS.index(finding.level))
    accepted = [item.finding for item in job.accepted]
    stops = unaccepted(findings, accepted)
    verdict = give_verdict(fit, mould, release, assembly, stops, _accepted_stops(findings, stops))
    return Plan(
        job,
        library,
        corrections,
        shape,
        stack,
        wall,
        mould,
        surface,
        cure,
        fit,
        form,
        segments,
        aids,
        layup,
        patterns,
        supplies,
        release,
        assembly,
        joints,
        flight,
        strength,
        None,
        radio,
        tuple(findings),
        verdict,
    )


def with_whole(plan: Plan) -> Plan:
    """The plan with the part judged as one shell of revolution, which takes a second or so."""
    parts = read_constituents(plan.job, plan.stack.layers, plan.library)
    return replace(plan, whole=judge_whole(plan.stack, parts, plan.flight, plan.library))


def _accepted_stops(findings: list[Finding], stops: list[Finding]) -> int:
    return sum(finding.level is Level.STOP for finding in findings) - len(stops)
