"""What a mould's entry keeps of the plan it was printed from, for those who learn from it."""

from __future__ import annotations

from typing import Any

import numpy as np

import mandrelwright
from mandrelwright.plan import Plan


def facts_of(plan: Plan) -> dict[str, Any]:
    """Fields of a mould's entry: job, plastic, the job's text and digest, facts.

    facts: version of the program and digest of its library; marks with diameter in the print
    file, slope, place and length in the print file (m); mean, spread and basis of every input
    of the chain; treatments.
    """
    job = plan.job
    return {
        "job": job.part.name,
        "plastic": job.mould.plastic,
        "job_text": job.path.read_text(encoding="utf-8"),
        "job_digest": job.digest,
        "facts": {
            "version": mandrelwright.__version__,
            "library": plan.library.digest,
            "marks": {mark.name: _mark(plan, mark.x) | {"slope": mark.slope,
                      "from_base": mark.from_base, "wanted": mark.diameter,
                      "purpose": mark.purpose} for mark in plan.mould.marks},
            "file_diameter": plan.fit.file_diameter,
            "inputs": {
                item.name: {"mean": item.mean, "spread": item.spread, "basis": item.basis}
                for item in plan.fit.chain.inputs
            },
            "treatments": {
                item.name: item.mean
                for item in plan.fit.chain.inputs
                if item.name in plan.fit.chain.treatments
            },
        },
    }  # fmt: skip


def _mark(plan: Plan, x: float) -> dict[str, float]:
    """Place of a mark, diameter of the print file there and its length from the base (m)."""
    ready, file = plan.fit.ready.x, plan.fit.file
    length = plan.fit.sizes.base - float(np.interp(x, ready, file.x))
    return {"x": x, "file": 2.0 * float(np.interp(x, ready, file.r)), "length": length}
