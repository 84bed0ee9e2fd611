"""The plan as plain data: what the report says, for programs. SI units; see docs/report.md."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from mandrelwright import __version__
from mandrelwright.out.marks import target
from mandrelwright.out.release import twin as release_twin
from mandrelwright.plan import Plan
from mandrelwright.stages import stack_checks
from mandrelwright.stages.record import origins

DIGITS = 9  # significant; a nanometre in a metre


KNOWN = ("spread", "basis", "source")
WALL = ("axial_modulus", "hoop_modulus", "shear_modulus", "poisson", "expansion", "cure")
END = ("layer", "side", "x", "kind", "ridge", "width", "slip", "growth", "free")
RESULT = (
    "name", "kind", "leads", "x", "window", "play", "spread", "probability", "mendable",
    "diameter", "varies", "wall", "wall_spread", "blame",
)  # fmt: skip
CURED = ("places", "post_cure")
GATE = (
    "aim", "laid_up_unread", "laid_up_read", "minutes", "lay_up", "sand", "film", "reprint",
)  # fmt: skip


def twin(plan: Plan) -> dict[str, Any]:
    """Verdict, findings, one table per step, inputs and origin; lists and plain values only.

    SI throughout: m, rad, Pa, 1/K, kg; x is counted from the tip of the full profile. A value
    that is not known is null.
    """
    data = {
        "verdict": _only(plan.verdict, "level", "sentence", "comes_off"),
        "findings": [_finding(plan, number) for number in range(len(plan.findings))],
        "shape": _shape(plan),
        "stack": _stack(plan),
        "mould": _mould(plan),
        "surface": _surface(plan),
        "cure": _cure(plan),
        "fit": _fit(plan),
        "print": _print(plan),
        "segments": _segments(plan),
        "aids": [_only(a, "name", "purpose", "size", "mass", "time") for a in plan.aids.items],
        "layup": _layup(plan),
        "assembly": _assembly(plan),
        "flight": _flight(plan),
        "joints": _joints(plan),
        "strength": _strength(plan),
        "whole": _whole(plan),
        "radio": _radio(plan),
        "supplies": _supplies(plan),
        "release": release_twin(plan),
        "inputs": _inputs(plan),
        "version": __version__,
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
            }
            for layer, limits in zip(stack.layers, reaches, strict=True)
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
            **_only(wall, *WALL),
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
        "ends": [_only(end, *END) for end in mould.ends],
    }


def _surface(plan: Plan) -> dict[str, Any]:
    surface = plan.surface
    changes = (("treatments", surface.treatments), ("films", surface.films))
    groups = ("steps", "rings", "plans", "hazards", "drying")
    return {
        **{
            key: [_only(change, "label", "diameter", *KNOWN) for change in group]
            for key, group in changes
        },
        "roughness": surface.roughness,
        "ready": surface.ready,
        **{key: [_told(item) for item in getattr(surface, key)] for key in groups},
    }


def _told(record: object) -> dict[str, Any]:
    """All of a record but how it came about."""
    return {key: value for key, value in vars(record).items() if key != "uses"}


def _cure(plan: Plan) -> dict[str, Any]:
    cure = plan.cure
    return {
        **_only(cure, *(name for name in origins(type(cure)) if name not in CURED)),
        **{name: [dict(vars(item)) for item in getattr(cure, name)] for name in CURED},
        "states": dict(vars(cure.states)),
        "off_mould": None if cure.off_mould is None else dict(vars(cure.off_mould)),
    }


def _fit(plan: Plan) -> dict[str, Any]:
    fit, out = plan.fit, plan.fit.outcome
    return {
        "results": [_only(item, *RESULT) for item in fit.results],
        "links": [_only(link, "label", "change", *KNOWN) for link in fit.links],
        "outcome": _only(out, "best", "least", "most", "ready", "probability", "minutes"),
        "gate": _only(fit.gate, *GATE),
        "forecast": _only(fit.forecast, "unread", "ring", "gated", "as_filed"),
        "blame": fit.blame,
        "file_diameter": fit.file_diameter,
        "ready": {"x": fit.ready.x, "r": fit.ready.r},
        "bore": {"x": fit.bore.x, "r": fit.bore.r},
    }


def _print(plan: Plan) -> dict[str, Any]:
    sizes = ("height", "radius", "flange", "pull_rod", "vent", "total_height", "width")
    return _only(plan.print, *sizes)


def _segments(plan: Plan) -> dict[str, Any]:
    made = plan.segments
    sizes = ("name", "low", "high", "printed_height", "genus", "overhang", "volume")
    pieces = [{**_only(p, *sizes), "filament": vars(p.filament)} for p in made.pieces]
    return {
        **_only(made, "base_down", "screws", "screw", "screw_circle", "bay", "bay_radius"),
        "joints": [dict(vars(joint)) for joint in made.joints],
        "grooves": [dict(vars(groove)) for groove in made.grooves],
        "pieces": pieces,
    }


LOOSE = ("coats", "items", "weighed")


def _assembly(plan: Plan) -> dict[str, Any]:
    made = plan.assembly
    return {
        **_only(made, *(name for name in origins(type(made)) if name not in LOOSE)),
        "coats": [_told(coat) for coat in made.coats],
        "items": [_told(item) for item in made.items],
        "weighed": None if made.weighed is None else _told(made.weighed),
    }


def _flight(plan: Plan) -> dict[str, Any] | None:
    made = plan.flight
    if made is None:
        return None
    told = _only(made, *(name for name in origins(type(made)) if name != "cases"))
    return {**told, "cases": [_told(case) for case in made.cases]}


def _strength(plan: Plan) -> dict[str, Any] | None:
    made = plan.strength
    if made is None:
        return None
    told = _only(made, *(name for name in origins(type(made)) if name != "failures"))
    failures = [
        {**_told(one), **_only(one, "reserve", "how", "by", "factor"), "set_by": one.least.by}
        for one in made.failures
    ]
    return {**told, "failures": failures}


def _whole(plan: Plan) -> dict[str, Any] | None:
    made = plan.whole
    if made is None:
        return None
    told = _only(made, "elements", "ends", "x", "cracks")
    return {**told, "cases": [_told(one) for one in made.cases]}


def _joints(plan: Plan) -> dict[str, Any]:
    return {key: None if one is None else _told(one) for key, one in vars(plan.joints).items()}


def _radio(plan: Plan) -> dict[str, Any] | None:
    made = plan.radio
    if made is None:
        return None
    swap = None if made.swap is None else {**_told(made.swap), "loss": dict(made.swap.loss)}
    return {"antennas": [_told(one) for one in made.antennas], "swap": swap}


def _layup(plan: Plan) -> dict[str, Any]:
    made = plan.layup
    groups = ("pieces", "cups", "steps", "consumables")
    totals = ("part_mass", "part_mass_spread", "laid_mass", "mixed", "takes")
    return {
        **{key: value for key, value in vars(made).items() if key not in groups},
        **{key: getattr(made, key) for key in totals},
        **{key: [dict(vars(item)) for item in getattr(made, key)] for key in groups},
    }


def _supplies(plan: Plan) -> dict[str, Any]:
    made = plan.supplies
    items = [{**vars(each), "strips": [vars(s) for s in each.strips]} for each in made.items]
    return {"items": items, **_only(made, "laid_from_shelf", "resin_cost", "cost")}


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


def _only(record: object, *names: str) -> dict[str, Any]:
    """Some attributes of a record by name."""
    return {name: getattr(record, name) for name in names}


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
