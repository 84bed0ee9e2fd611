"""One kind of a table made another: a von Karman nose a power series, a bore a shoulder.

What both kinds have stays as it is stated; what the new one needs besides begins at a common
value, or at what the old one says of the same place.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Literal, get_args, get_origin

import numpy as np

from mandrelwright.bench.rows import BLANK
from mandrelwright.job.new import EXPONENT, FLATTER, FULLNESS, HAACK
from mandrelwright.job.sections import (
    AnyNose,
    Bore,
    Cylinder,
    Flush,
    Haack,
    Measured,
    Nose,
    Parabola,
    Power,
    SecantOgive,
    Shoulder,
    Transition,
)
from mandrelwright.job.tooling import Fill, Sand, Smooth, Wax
from mandrelwright.job.values import InputError, Table
from mandrelwright.physics.profiles import nose
from mandrelwright.quantities import QuantityError, read

KINDS: dict[str, tuple[type[Table], ...]] = {
    "section": (Nose, SecantOgive, Parabola, Power, Haack, Cylinder, Transition, Measured),
    "fit": (Bore, Shoulder, Flush),
    "surface": (Sand, Smooth, Fill, Wax),
}
PARAMETERS = ("fullness", "exponent", "ogive_radius")  # their meaning changes with the shape
MEASURES = 9  # rows of a measured profile that begins as the drawn one


def kinds_of(tables: Sequence[type[Table]]) -> tuple[str, tuple[str, ...]]:
    """The key whose word tells tables apart, and all its words; ("", ()) where none does."""
    words = [_word_of(table) for table in tables]
    key = next((key for key, _ in words if key), "")
    return key, tuple(kind for own, kinds in words if own == key for kind in kinds)


def chosen(tables: Sequence[type[Table]], item: Mapping[str, Any]) -> type[Table]:
    """The table that the item's own word picks; the first where none does."""
    for table in tables:
        key, words = _word_of(table)
        if key and item.get(key) in words:
            return table
    return tables[0]


def _word_of(table: type[Table]) -> tuple[str, tuple[str, ...]]:
    for name, field in table.model_fields.items():
        if get_origin(field.annotation) is Literal and field.is_required():
            return field.alias or name, tuple(map(str, get_args(field.annotation)))
    return "", ()


def turned(name: str, item: Mapping[str, Any], kind: str) -> tuple[dict[str, Any], list[str]]:
    """Keys to set and keys to drop that make an item of a list another kind of its table.

    Raises InputError for a kind that the list does not know.
    """
    tables = KINDS.get(name, ())
    key, words = kinds_of(tables)
    if kind not in words:
        raise InputError(f"must be one of {', '.join(words)}", "choose one of them", (key,))
    table = chosen(tables, {key: kind})
    fields = {field.alias or own: field for own, field in table.model_fields.items()}
    stays = [own for own in item if own in fields and own not in PARAMETERS]
    given = {key: kind}
    for own, field in fields.items():
        if field.is_required() and own not in stays:
            given[own] = _begin(name, item, kind, own, table)
    return {**given, key: kind}, [own for own in item if own not in stays and own not in given]


def _begin(name: str, item: Mapping[str, Any], kind: str, key: str, table: type[Table]) -> Any:
    """What a key that is new to an item begins as."""
    if name != "section":
        return next((row[key] for row in BLANK[name].values() if kind in row.values()
                     and key in row), kind)  # fmt: skip
    front, back, length = _ends(item)
    shown = {"base": back, "diameter": back, "back": back, "front": front or 0.5 * back,
             "length": length}  # fmt: skip
    if key in shown:
        return _text(shown[key])
    radius = FLATTER * (length**2 + 0.25 * back**2) / back  # of the tangent arc: (L² + R²)/(2R)
    return {
        "exponent": EXPONENT, "fullness": FULLNESS if table is Parabola else round(HAACK, 4),
        "ogive_radius": _text(radius),
        "tip": {"open": _text(front)} if 0.0 < front < back else "pointed",
        "table": _rows(item, front, back, length),
    }.get(key, kind)  # fmt: skip


def _ends(item: Mapping[str, Any]) -> tuple[float, float, float]:
    """Diameter at the tipward and the baseward end, and length (m), as far as they are stated."""
    rows = item.get("table") or [["0 mm", "0 mm"]]
    tip = item.get("tip")
    opened = tip.get("open") if isinstance(tip, Mapping) else None
    front = item.get("front") or item.get("diameter") or opened or rows[0][1]
    back = item.get("base") or item.get("diameter") or item.get("back") or rows[-1][1]
    length = item.get("length") or rows[-1][0]
    return _metres(front, 0.0), _metres(back, 0.05), _metres(length, 0.1)


def _rows(item: Mapping[str, Any], front: float, back: float, length: float) -> list[list[str]]:
    """The drawn profile as rows (x from its front, diameter): a nose as it is, else straight."""
    x, r = np.array([0.0, length]), 0.5 * np.array([front, back])
    shape = str(item.get("shape"))
    if issubclass(chosen(KINDS["section"], item), AnyNose):
        x = np.linspace(0.0, length, 400)
        number = item.get("fullness", item.get("exponent"))
        if number is None and "ogive_radius" in item:
            number = _metres(item["ogive_radius"], length)
        r = nose(shape, x, length, 0.5 * back, number)[0]
        kept = r >= 0.5 * front
        x, r = x[kept] - x[kept][0], r[kept]
    places = np.linspace(0.0, x[-1], MEASURES)
    return [[_text(p), _text(2.0 * float(np.interp(p, x, r)))] for p in places]


def _metres(text: Any, otherwise: float) -> float:
    try:
        return read(str(text), "length").value or otherwise
    except QuantityError:
        return otherwise


def _text(metres: float) -> str:
    return f"{round(metres * 1e3, 2):g} mm"
