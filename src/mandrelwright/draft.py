"""What answers a key at once: the records up to the fit, and what they alone have found."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from mandrelwright.findings.finding import Finding, Level
from mandrelwright.job.corrections import Corrections
from mandrelwright.job.materials import Library
from mandrelwright.job.remarks import remarks
from mandrelwright.job.spec import Job
from mandrelwright.stages.assembly import Assembly, assemble
from mandrelwright.stages.corrected import check_corrections
from mandrelwright.stages.cure import Cure, follow_cure
from mandrelwright.stages.cure_checks import check_cure
from mandrelwright.stages.fit import Fit, close_fits
from mandrelwright.stages.fit_checks import check_fit
from mandrelwright.stages.mould import Mould, check_mould, want_mould
from mandrelwright.stages.print import PrintForm, check_print, form_print
from mandrelwright.stages.shape import Shape, draw_shape
from mandrelwright.stages.stack import PLACES, Stack, lay_stack
from mandrelwright.stages.stack_checks import check_stack
from mandrelwright.stages.surface import Surface, treat_surface
from mandrelwright.stages.surface_checks import check_surface
from mandrelwright.stages.wall import Wall, assess_wall, read_constituents
from mandrelwright.verdict import Verdict, give_first_verdict, unaccepted

LEVELS = tuple(Level)  # gravest first


@dataclass(frozen=True)
class Draft:
    """What follows from a job at once: enough for section, strips and a first verdict."""

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
    assembly: Assembly
    findings: tuple[Finding, ...]
    verdict: Verdict

    @property
    def stops(self) -> list[Finding]:
        """Stops that stand, accepted ones left out."""
        return unaccepted(self.findings, [item.finding for item in self.job.accepted])


def make_draft(
    job: Job, library: Library, places: int = PLACES, corrections: Corrections | None = None
) -> Draft:
    """Every record of the draft, in the order of its fields; then their checks."""
    shape = draw_shape(job)
    stack = lay_stack(job, shape, library, places)
    parts = read_constituents(job, stack.layers, library)
    wall = assess_wall(parts, stack.fibre_fraction, *stack.pairs, stack.jammed)
    mould = want_mould(job, shape, stack, library)
    surface = treat_surface(job, mould, library)
    cure = follow_cure(job, shape, stack, wall, library)
    fit = close_fits(job, shape, stack, wall, parts, mould, surface, cure, library, corrections)
    form = form_print(job, fit)
    assembly = assemble(job, shape, stack, library)
    findings = check_stack(shape, stack) + check_mould(job, shape, stack, mould, library)
    findings += check_surface(job, shape, mould, surface, cure.mould_peak, library)
    findings += check_cure(job, cure, library) + check_print(job, form)
    findings += check_corrections(fit.chain, corrections) + check_fit(shape, stack, fit, library)
    findings = gravest_first(findings + remarks(job, library))
    stops = unaccepted(findings, [item.finding for item in job.accepted])
    verdict = give_first_verdict(fit, mould, assembly, stops)
    return Draft(
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
        assembly,
        tuple(findings),
        verdict,
    )


def gravest_first(findings: Iterable[Finding]) -> list[Finding]:
    """Stops, then cautions, then notes; of each those of the job itself last."""
    return sorted(findings, key=lambda one: (LEVELS.index(one.level), one.step == "job"))
