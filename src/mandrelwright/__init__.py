"""From measured sizes to a fibre and epoxy part that fits: three functions for a notebook.

>>> import mandrelwright
>>> plan = mandrelwright.plan_job("examples/plover-nose.toml")  # doctest: +SKIP
>>> plan.verdict.sentence, plan.fit.forecast.gated  # doctest: +SKIP
>>> mandrelwright.draw(plan, "section")  # SVG text  # doctest: +SKIP
>>> print("\\n".join(mandrelwright.explain(plan, "fit.file_diameter")))  # doctest: +SKIP

Everything else is records: plan.shape, plan.stack, plan.wall, plan.mould, plan.surface, plan.cure,
plan.fit, plan.print, plan.segments, plan.aids, plan.layup, plan.patterns, plan.findings,
plan.verdict. Imports happen inside, so that a command starts quickly.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from mandrelwright.job.corrections import Corrections
    from mandrelwright.plan import Plan

__version__ = "0.1.0"


def plan_job(path: Path | str, corrections: Corrections | None = None) -> Plan:
    """Read a job file and plan it; raises JobError with every problem, or PlanError.

    ``corrections`` of a shop's readings: those beside the job file unless given.
    """
    from mandrelwright.job.corrections import read_corrections
    from mandrelwright.job.read import library_of, read_job
    from mandrelwright.plan import make_plan

    job = read_job(path)
    return make_plan(job, library_of(job), corrections=corrections or read_corrections(job.path))


def draw(plan: Plan, drawing: str) -> str:
    """SVG text of "section", "strips", "ladder" or "cure"; raises KeyError for another name."""
    from mandrelwright.out.build import DRAWINGS

    return DRAWINGS[f"{drawing}.svg"](plan)


def explain(plan: Plan, name: str) -> list[str]:
    """Lines that explain a result back to its inputs, equation and sources."""
    from mandrelwright.why import explain as look_up
    from mandrelwright.why import text_lines

    return text_lines(look_up(plan, name))
