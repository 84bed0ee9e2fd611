"""The material library as rows to read: value and spread in the unit of the bench."""

from __future__ import annotations

import math

from mandrelwright.job.materials import Datum, Library, rows
from mandrelwright.job.properties import GROUPS
from mandrelwright.job.shelf import nearest
from mandrelwright.job.sources import cite
from mandrelwright.job.values import InputError
from mandrelwright.quantities import show

UNIT = {  # kind → unit to show and digits after the point
    "length": ("mm", 4),
    "temperature": ("degC", 1),
    "fraction": ("%", 2),
    "ratio": ("", 3),
    "creep": ("mm/h", 0),
    "angle": ("deg", 1),
    "linear density": ("tex", 1),
    "density": ("kg/m^3", 0),
    "stress": ("MPa", 2),
    "pressure": ("kPa", 1),
    "time": ("min", 1),
    "expansion": ("ppm/K", 2),
    "conductivity": ("W/(m K)", 3),
    "electrical conductivity": ("S/m", 0),
    "specific heat": ("J/(kg K)", 0),
    "viscosity": ("mPa s", 0),
    "temperature difference": ("K", 1),
    "film coefficient": ("W/(m^2 K)", 0),
    "rate": ("1/h", 3),
    "heat per mass": ("J/g", 0),
    "molar energy": ("kJ/mol", 1),
    "time per area": ("min/m^2", 1),
    "mass": ("g", 1),
    "molar mass": ("g/mol", 2),
    "diffusivity": ("m^2/s", 14),
    "weight loss": ("%/d", 2),
    "acceleration": ("m/s^2", 0),
    "speed": ("m/s", 1),
    "force": ("N", 0),
    "irradiance": ("W/m^2", 0),
    "heat per volume": ("MJ/(m^3 K)", 2),
}


def rows_of(library: Library, group: str | None) -> list[dict[str, object]]:
    """Every number of one group, or of all, with its text, basis, source and place.

    Raises InputError for a group that is not known.
    """
    if group is not None and group not in GROUPS:
        raise InputError(f'group "{group}" is not known', nearest(group, GROUPS))
    return [
        {
            "group": name,
            "entry": entry,
            "property": key,
            "value": datum.value,
            "spread": datum.spread if math.isfinite(datum.spread) else None,
            "text": text_of(name, key, datum),
            "basis": datum.basis,
            "weak": datum.weak,
            "source": cite(datum.source),
            "where": datum.where,
        }
        for name, entry, key, datum in rows(library)
        if group in (None, name)
    ]


def text_of(group: str, key: str, datum: Datum) -> str:
    """Value ± one standard deviation, in the unit of the bench."""
    kind = GROUPS[group].properties[key].kind
    unit, digits = UNIT[kind]
    value = show(datum.value, unit, digits)
    if not math.isfinite(datum.spread):
        return f"{value} ± unknown"
    if kind == "temperature":
        return f"{value} ± {datum.spread:.1f} K"
    return f"{value} ± {show(datum.spread, unit, digits)}"
