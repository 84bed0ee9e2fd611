"""The plan as plain data: what the report says, for programs. SI units; see docs/report.md."""

from __future__ import annotations

import math
from importlib.metadata import version
from typing import Any

import numpy as np

from mandrelwright.out.marks import target
from mandrelwright.out.sleeves import needs
from mandrelwright.plan import Plan
from mandrelwright.stages import stack_checks

DIGITS = 9  # significant; a nanometre in a metre


def twin(plan: Plan) -> dict[str, Any]:
    """Verdict, findings, one table per step, inputs and origin; lists and plain values only.

    SI throughout: m, rad, Pa, 1/K, kg; x is counted from the tip of the full profile. A value
    that is not known is null.
    """
    data = {
        "verdict": {
            "level": plan.verdict.level,
            "sentence": plan.verdict.sentence,
            "comes_off": plan.verdict.comes_off,
        },
        "findings": [_finding(plan, number) for number in range(len(plan.findings))],
        "shape": _shape(plan),
        "stack": _stack(plan),
        "mould": _mould(plan),
        "surface": _surface(plan),
        "fit": _fit(plan),
        "print": _print(plan),
        "inputs": _inputs(plan),
        "version": version("mandrelwright"),
        "job": {"name": plan.job.part.name, "digest": plan.job.digest},
        "library": {"digest": plan.library.digest, "own": list(plan.library.own)},
    }
    return {key: _plain(value) for key, value in data.items()}


def _finding(plan: Plan, number: int) -> dict[str, Any]:
    finding = plan.findings[number]
    return {
        "id": finding.id,
        "level": finding.level.value,
        "what": finding.what,
        "why": finding.why,
        "do": list(finding.do),
        "place": finding.place,
        "stands": finding in plan.stops or finding.level.value != "stop",
    }


def _shape(plan: Plan) -> dict[str, Any]:
    shape = plan.shape
    return {
        "describes": shape.describes,
        "tip": shape.tip,
        "base": shape.base,
        "start": shape.start,
        "stop": shape.stop,
        "fits": [
            {"name": p.fit.name, "kind": p.fit.kind, "start": p.start, "stop": p.stop}
            for p in shape.fits
        ],
    }


def _stack(plan: Plan) -> dict[str, Any]:
    stack, wall = plan.stack, plan.wall
    reaches = stack_checks.reach(plan.shape, stack)
    return {
        "fibre_fraction": stack.fibre_fraction,
        "scale": stack.scale,
        "vanishes": stack.vanishes,
        "closure": stack.closure,
        "layers": [
            {
                "label": layer.label,
                "sleeve": layer.textile.name,
                "fibre": layer.textile.fibre,
                "start": layer.start,
                "stop": layer.stop,
                "rebate": layer.rebate,
                "locks": [layer.textile.lower, layer.textile.upper],
                "may_start": limits.start,
                "may_stop": limits.stop,
                "cut_length": need.cut,
                "fibre_mass": need.fibre,
            }
            for layer, limits, need in zip(stack.layers, reaches, needs(stack), strict=True)
        ],
        "x": stack.x,
        "r": stack.r,
        "thickness": stack.thickness,
        "angle": stack.angle,
        "share": stack.share,
        "areal_weight": stack.areal_weight,
        "ridge": stack.ridge,
        "wall": {
            "thickness": stack.wall,
            "axial_modulus": wall.axial_modulus,
            "hoop_modulus": wall.hoop_modulus,
            "shear_modulus": wall.shear_modulus,
            "poisson": wall.poisson,
            "expansion": wall.expansion,
            "cure": wall.cure,
        },
    }


def _mould(plan: Plan) -> dict[str, Any]:
    mould = plan.mould
    return {
        "x": mould.curve.x,
        "r": mould.curve.r,
        "undercut": mould.undercut,
        "comes_off": mould.comes_off,
        "marks": [
            {
                "name": mark.name,
                "x": mark.x,
                "from_base": mark.from_base,
                "diameter": mark.diameter,
                "ready_to_wax": target(plan, mark),
                "slope": mark.slope,
                "purpose": mark.purpose,
            }
            for mark in mould.marks
        ],
        "ends": [dict(vars(end)) for end in mould.ends],
    }


def _surface(plan: Plan) -> dict[str, Any]:
    changes = (("treatments", plan.surface.treatments), ("films", plan.surface.films))
    return {
        **{key: [dict(vars(change)) for change in group] for key, group in changes},
        "roughness": plan.surface.roughness,
    }


def _fit(plan: Plan) -> dict[str, Any]:
    fit, out = plan.fit, plan.fit.outcome
    return {
        "results": [
            {**vars(item), "blame": [list(pair) for pair in item.blame]} for item in fit.results
        ],
        "links": [dict(vars(link)) for link in fit.links],
        "outcome": {
            "best": out.best,
            "least": out.least,
            "most": out.most,
            "ready": out.ready,
            "probability": out.probability,
            "minutes": out.minutes,
        },
        "gate": dict(vars(fit.gate)),
        "forecast": dict(vars(fit.forecast)),
        "blame": [list(pair) for pair in fit.blame],
        "file_diameter": fit.file_diameter,
        "ready": {"x": fit.ready.x, "r": fit.ready.r},
        "bore": {"x": fit.bore.x, "r": fit.bore.r},
    }


def _print(plan: Plan) -> dict[str, Any]:
    form = plan.print
    return {
        "height": form.height,
        "radius": form.radius,
        "flange": form.flange,
        "pull_rod": form.pull_rod,
        "vent": form.vent,
        "total_height": form.total_height,
        "width": form.width,
    }


def _inputs(plan: Plan) -> list[dict[str, Any]]:
    chain = plan.fit.chain
    spread = np.sqrt(np.diag(chain.covariance))
    return [
        {
            "name": item.name,
            "value": float(chain.mean[number]),
            "spread": float(spread[number]),
            "stated_value": item.mean,
            "stated_spread": item.spread,
            "shown_in": item.unit,
            "basis": item.basis,
            "source": item.source,
        }
        for number, item in enumerate(chain.inputs)
    ]


def _plain(value: Any) -> Any:
    """Lists for arrays and tuples, numbers at DIGITS significant digits, null for the unknown."""
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, np.ndarray):
        return _plain(value.tolist())
    if isinstance(value, (list, tuple)):
        return [_plain(item) for item in value]
    if isinstance(value, (bool, np.bool_)):
        return bool(value)
    if isinstance(value, (float, np.floating)):
        return float(f"{value:.{DIGITS}g}") if math.isfinite(value) else None
    return int(value) if isinstance(value, np.integer) else value
