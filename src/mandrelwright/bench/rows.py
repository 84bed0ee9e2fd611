"""Blank rows that the form can add to the lists of a job, each a row that reads."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

BLANK: dict[str, dict[str, dict[str, Any]]] = {
    "section": {
        "cylinder": {"name": "tube", "shape": "cylinder", "length": "100 mm", "diameter": "50 mm"},
        "transition": {
            "name": "boat tail",
            "shape": "transition",
            "length": "60 mm",
            "front": "50 mm",
            "back": "40 mm",
        },
    },
    "fit": {
        "bore": {
            "name": "coupler",
            "kind": "bore",
            "mates": "49 mm +- 0.02 mm",
            "from_base": "0 mm",
            "to_base": "50 mm",
            "clearance": {"least": "0.05 mm", "wanted": "0.15 mm", "most": "0.30 mm"},
        },
        "flush": {
            "name": "airframe",
            "kind": "flush",
            "mates": "50 mm +- 0.02 mm",
            "from_base": "0 mm",
            "to_base": "5 mm",
            "step": {"least": "-0.10 mm", "wanted": "0.00 mm", "most": "0.20 mm"},
        },
        "shoulder": {
            "name": "shoulder",
            "kind": "shoulder",
            "mates": "48 mm +- 0.02 mm",
            "from_base": "0 mm",
            "to_base": "50 mm",
            "clearance": {"least": "0.05 mm", "wanted": "0.15 mm", "most": "0.30 mm"},
        },
    },
    "sleeve": {
        "from its label": {
            "name": "sleeve",
            "fibre": "E-glass",
            "tows": 144,
            "tow": "600 tex +- 15 tex",
            "diameter_at_45": "84 mm +- 1 mm",
        },
    },
    "cloth": {
        "roll": {"name": "cloth", "fibre": "E-glass", "areal_weight": "160 g/m^2"},
    },
    "surface": {
        "sand": {"do": "sand", "off": "0.05 mm +- 0.02 mm"},
        "smooth": {"do": "smooth", "with": "acetone vapour, cold", "time": "25 min"},
        "fill": {"do": "fill", "adds": "0.02 mm +- 0.01 mm"},
        "wax": {"do": "wax", "coats": 5},
    },
    "printer.ring": {"ring": {"file": "99 mm", "reads": "98.33 mm +- 0.02 mm"}},
    "assembly.item": {"item": {"name": "bulkhead", "mass": "20 g", "from_base": "50 mm"}},
    "assembly.finish": {"coat": {"do": "paint", "per_side": "0.05 mm +- 0.02 mm"}},
    "schedule": {"stay": {"stay": "24 h", "at": "shop"}},
    "release_steps": {"step": {"stay": "2 h", "at": "-18 degC", "in": "freezer"}},
    "antenna": {
        "antenna": {
            "name": "telemetry",
            "frequency": "868 MHz",
            "from_base": "100 mm",
            "to_base": "200 mm",
        },
    },
}
TEXTILES = ("sleeve", "cloth")


def blank_of(data: dict[str, Any]) -> dict[str, dict[str, dict[str, Any]]]:
    """The blank rows of one job: its layers are of the sleeves and cloths that it has."""
    return {**BLANK, "layer": dict(_layers(data))}


def _layers(data: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    for textile in TEXTILES:
        rows = data.get(textile)
        for row in rows if isinstance(rows, list) else ():
            if isinstance(row, dict) and isinstance(name := row.get("name"), str):
                yield f"{textile} {name}", {textile: name, "from": "tip", "to": "end"}
