"""Jobs to test with: one plain text, and changes to it by key.

The base is a plain E-glass nose, 98 mm bore; every size is invented for the tests.
"""

from __future__ import annotations

import copy
import tomllib
from functools import lru_cache
from typing import Any

from mandrelwright.job.consistency import check_job, check_names
from mandrelwright.job.materials import Library, load_library
from mandrelwright.job.spec import Job
from mandrelwright.plan import Plan, make_plan

BASE = """
schema = 1
part = { name = "Test nose", describes = "outside" }
compaction = { method = "peel ply", fibre_fraction = "40 % +- 3 %" }
resin = { name = "medium" }
mould = { plastic = "ASA", beyond_trim = { tip = "10 mm", base = "15 mm" } }
release = { system = "wax and PVA film", film = "20 um +- 8 um" }
shop = { temperature = "22 degC +- 2 degC" }
surface = [{ do = "sand", off = "0.05 mm +- 0.02 mm" }]

[[section]]
name = "nose"
shape = "von Karman"
length = "400 mm"
base = "102 mm"
tip = { open = "38 mm" }

[[section]]
name = "skirt"
shape = "cylinder"
length = "100 mm"
diameter = "102 mm"

[[fit]]
name = "coupler"
kind = "bore"
mates = "99.0 mm +- 0.02 mm"
from_base = "0 mm"
to_base = "90 mm"
clearance = { least = "0.05 mm", wanted = "0.15 mm", most = "0.30 mm" }
leads = true

[[sleeve]]
name = "big"
fibre = "E-glass"
tows = 144
tow = "600 tex +- 15 tex"
diameter_at_45 = "84 mm"
narrowest_tow = "1.9 mm"

[[sleeve]]
name = "small"
fibre = "E-glass"
tows = 144
tow = "300 tex +- 8 tex"
diameter_at_45 = "56 mm"
narrowest_tow = "1.3 mm"

[[layer]]
sleeve = "small"
from = "tip"
to = { diameter = "68 mm" }
repeat = 2

[[layer]]
sleeve = "big"
from = { diameter = "62 mm" }
to = "end"
repeat = 3

[printer]
bed = ["220 mm", "220 mm"]
height = "600 mm"
"""


def raw(**changes: Any) -> dict[str, Any]:
    """The base as plain tables, top-level keys replaced (None takes one away)."""
    data = tomllib.loads(BASE)
    for key, value in changes.items():
        if value is None:
            data.pop(key, None)
        else:
            data[key] = copy.deepcopy(value)
    return data


def job_of(data: dict[str, Any]) -> Job:
    """A job from plain tables, checked as a file would be."""
    job = Job.model_validate(data, context={"path": "test.toml", "digest": ""})
    refused = [str(error) for error in check_job(job) + check_names(job, library())]
    assert refused == []
    return job


@lru_cache(maxsize=1)
def library() -> Library:
    """The library without anybody's own file."""
    return load_library()


def plan_of(data: dict[str, Any], places: int = 400) -> Plan:
    """The plan of a job given as plain tables."""
    return make_plan(job_of(data), library(), places)


def nose(shape: str, length_mm: float, base_mm: float, tip: Any, **more: Any) -> dict[str, Any]:
    """A nose section."""
    return {
        "name": "nose",
        "shape": shape,
        "length": f"{length_mm} mm",
        "base": f"{base_mm} mm",
        "tip": tip,
        **more,
    }


def tube(length_mm: float, diameter_mm: float, name: str = "skirt") -> dict[str, Any]:
    """A cylinder section."""
    return {
        "name": name,
        "shape": "cylinder",
        "length": f"{length_mm} mm",
        "diameter": f"{diameter_mm} mm",
    }


def sleeve(name: str, diameter_mm: float, tex: float, width_mm: float, tows: int = 144) -> Any:
    """An E-glass sleeve by its label."""
    return {
        "name": name,
        "fibre": "E-glass",
        "tows": tows,
        "tow": f"{tex} tex",
        "diameter_at_45": f"{diameter_mm} mm",
        "narrowest_tow": f"{width_mm} mm",
    }


def bore(mates: str, from_mm: float, to_mm: float, **more: Any) -> dict[str, Any]:
    """A bore fit with a window of 0.05 to 0.30 mm."""
    return {
        "name": "coupler",
        "kind": "bore",
        "mates": mates,
        "from_base": f"{from_mm} mm",
        "to_base": f"{to_mm} mm",
        "clearance": {"least": "0.05 mm", "wanted": "0.15 mm", "most": "0.30 mm"},
        "leads": True,
        **more,
    }
