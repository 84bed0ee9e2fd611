"""Values of records as text: numbers in the unit of the bench, arrays by where they matter."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, is_dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from mandrelwright.physics.curves import Curve
from mandrelwright.plan import Plan
from mandrelwright.quantities import UNITS, show, show_spread
from mandrelwright.stages.chain import Chain
from mandrelwright.stages.record import origins
from mandrelwright.why.explanation import Row, Shown

Array = NDArray[np.float64]

KNOWN = {unit for table in UNITS.values() for unit in table if unit}
DIGITS = {
    "mm": 3, "m": 3, "deg": 1, "ppm/K": 1, "degC": 1, "tex": 1, "g/m^2": 0, "g": 1, "min": 1,
}  # fmt: skip
PRESENT = 0.5  # share of full thickness above which a layer counts as there
MOST_NAMED = 6
DIRECTIONS = ("axial", "hoop", "radial")
STIFFNESSES = {"axial": (0, 0), "axial-hoop": (0, 1), "hoop": (1, 1), "shear": (2, 2)}


@dataclass(frozen=True)
class View:
    """What is needed to say where along the part a value lies."""

    from_base: Array
    inside: NDArray[np.bool_]
    node: int
    fit: str
    layers: tuple[str, ...]
    share: Array

    @classmethod
    def of(cls, plan: Plan) -> View:
        """The view of a plan: between the trim lines, from the base, at the leading fit."""
        shape, stack, lead = plan.shape, plan.stack, plan.fit.chain.lead
        x = stack.mould.x
        return cls(
            shape.base - x,
            (x >= shape.tip - 1e-9) & (x <= shape.base + 1e-9),
            lead.node,
            lead.place.name,
            tuple(layer.label for layer in stack.layers),
            stack.share,
        )


def show_value(value: Any, unit: str, spread: float | None, view: View) -> Shown:
    """Any value of a record: number, array, curve, record, or a row of records."""
    if isinstance(value, Curve):
        return _array(value.r, unit, view, "radius ")
    if isinstance(value, np.ndarray):
        return _array(value, unit, view)
    if isinstance(value, float | np.floating) and not isinstance(value, bool):
        if math.isnan(value):
            return Shown("not known")
        numbers = {"value": float(value)}
        if spread is not None:
            numbers["spread"] = float(spread)
        return Shown(show_number(float(value), unit, spread), numbers)
    return Shown(_words(value, unit, view))


def show_number(value: float, unit: str, spread: float | None = None) -> str:
    """One number in its unit, with its standard uncertainty when there is one."""
    if math.isinf(value):
        return "past the trim line" if unit == "mm" else "no end"
    if unit in KNOWN:
        digits = DIGITS.get(unit, 2)
        if spread is None:
            return show(value, unit, digits)
        return show_spread(value, spread, unit, digits)
    tail = f" ± {spread:.2g}" if spread is not None else ""
    return f"{round(value, 9):.4g} {unit}".strip() + tail


def _words(value: Any, unit: str, view: View) -> str:
    """Whatever is no single number."""
    match value:
        case None:
            return "none"
        case bool() | np.bool_():
            return "yes" if value else "no"
        case Chain():
            return f"{len(value.inputs)} inputs"
        case str() | int():
            return str(value)
        case tuple():
            return _several(value, unit, view)
    if is_dataclass(value) and (found := origins(type(value))):
        shown = {
            name.replace("_", " "): show_value(getattr(value, name), origin.unit, None, view).text
            for name, origin in found.items()
            if not is_dataclass(getattr(value, name))
        }
        return ", ".join(f"{name} {text}" for name, text in shown.items() if text)
    return ""


def _several(values: tuple[Any, ...], unit: str, view: View) -> str:
    """Numbers, shares by name, or records by their labels."""
    if values and is_dataclass(values[0]):
        names = [label_of(item, row) for row, item in enumerate(values, 1)]
        return f"{len(names)}: {_shortened(names)}"
    if values and isinstance(values[0], tuple):
        return _shortened([f"{name} {show_number(share, unit)}" for name, share in values])
    return " and ".join(show_value(item, unit, None, view).text for item in values) or "none"


def _shortened(names: list[str]) -> str:
    more = len(names) - MOST_NAMED
    return ", ".join(names[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")


def label_of(item: Any, row: int) -> str:
    """What one record in a row of them is called; its number where it has no name."""
    return str(getattr(item, "label", None) or getattr(item, "name", row))


def _array(values: NDArray[Any], unit: str, view: View, lead: str = "") -> Shown:
    """The lines of an array, and one sentence over all of them."""
    if len(view.inside) not in values.shape:
        return _elsewhere(values, unit)
    if values.dtype == np.bool_:
        return Shown(_where(values, view))
    rows = tuple(row for row in _rows(values, unit, view) if row is not None)
    if not rows:
        return Shown("not known")
    low = min(rows, key=lambda row: row.smallest)
    high = max(rows, key=lambda row: row.largest)
    span = f"{show_number(low.smallest, unit)} to {show_number(high.largest, unit)}"
    numbers = {
        "smallest": low.smallest,
        "smallest_from_base": low.smallest_from_base,
        "largest": high.largest,
        "largest_from_base": high.largest_from_base,
    }
    if len(rows) == 1 and rows[0].at_fit is not None:
        numbers["at_fit"] = rows[0].at_fit
        span = f"{show_number(rows[0].at_fit, unit)} at {view.fit}, {span}"
    return Shown(lead + span, numbers, rows)


def _elsewhere(values: NDArray[Any], unit: str) -> Shown:
    """An array over other places than the stack's: its ends, without where they lie."""
    known = values[np.isfinite(values)].astype(float)
    if known.size == 0:
        return Shown("not known")
    low, high = float(known.min()), float(known.max())
    text = f"{show_number(low, unit)} to {show_number(high, unit)}"
    return Shown(text, {"smallest": low, "largest": high})


def _rows(values: Array, unit: str, view: View) -> Iterator[Row | None]:
    """One line per layer, surface or direction, over the places where it exists."""
    everywhere = np.ones_like(view.inside)
    if values.ndim == 3:
        for label, (i, j) in STIFFNESSES.items():
            yield _row(label, values[:, i, j], everywhere, unit, view)
    elif values.ndim == 1:
        yield _row("", values, everywhere, unit, view)
    elif values.shape[0] == len(view.inside):
        for label, column in zip(DIRECTIONS, values.T, strict=True):
            yield _row(label, column, everywhere, unit, view)
    elif len(values) == len(view.layers):
        for label, line, share in zip(view.layers, values, view.share, strict=True):
            yield _row(label, line, share > PRESENT, unit, view)
    else:
        for label, line in zip(("mould", *view.layers), values, strict=True):
            yield _row(label, line, everywhere, unit, view)


def _row(label: str, line: Array, there: NDArray[np.bool_], unit: str, view: View) -> Row | None:
    """One line of an array; None where it exists nowhere between the trim lines."""
    there = there & np.isfinite(line)
    at_fit = float(line[view.node]) if there[view.node] else None
    places = np.flatnonzero(there & view.inside)
    if len(places) == 0:
        return None
    low, high = (int(places[pick(line[places])]) for pick in (np.argmin, np.argmax))
    here = f"{show_number(at_fit, unit)} at {view.fit}; " if at_fit is not None else ""
    ends = [(float(line[i]), float(view.from_base[i])) for i in (low, high)]
    span = " to ".join(_placed(value, place, unit) for value, place in ends)
    return Row(label, at_fit, *ends[0], *ends[1], f"{label}: {here}{span}".removeprefix(": "))


def _placed(value: float, from_base: float, unit: str) -> str:
    return f"{show_number(value, unit)} ({from_base * 1e3:.0f} mm from the base)"


def _where(values: NDArray[np.bool_], view: View) -> str:
    """Where something is so, between the trim lines."""
    places = np.flatnonzero(np.atleast_2d(values).any(axis=0) & view.inside)
    if len(places) == 0:
        return "nowhere"
    ends = sorted(view.from_base[places[[0, -1]]] * 1e3)
    return f"within {ends[0]:.0f} to {ends[1]:.0f} mm from the base"
