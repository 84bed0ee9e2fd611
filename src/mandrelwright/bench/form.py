"""The form of a job, from the one declaration that also validates it: job/spec.py.

Every row names its place in the file, what it means, what may be written, and whether the file
states it or a default stands for it.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from annotated_types import Ge, Le
from pydantic.fields import FieldInfo
from pydantic_core import PydanticUndefined

from mandrelwright.bench.rows import blank_of
from mandrelwright.bench.steps import step_of_table
from mandrelwright.bench.turns import chosen, kinds_of
from mandrelwright.job.layup import Position
from mandrelwright.job.materials import Library
from mandrelwright.job.problems import field_name
from mandrelwright.job.sections import Tip
from mandrelwright.job.spec import Job
from mandrelwright.job.tooling import Core
from mandrelwright.job.values import Keys, Table, Text

_EITHER: dict[type[Table], tuple[tuple[str, str], ...]] = {
    Tip: (("pointed", "pointed"), ("open", "cut open at ø"), ("blunt", "blunt, radius")),
    Core: (("solid", "solid"), ("hollow", "hollow, wall")),
}
HEADS = {
    "table": ("from its front", "diameter"),
    "weighings": ("after", "weighs"),
    "split_at": ("from the base",),
}
MEMBERS = {"bed": ("width", "depth")}
FIRST = {"layer": "add the sleeve or cloth first"}
_OF_LIBRARY = {
    ("mould", "plastic"): "plastics",
    ("resin", "name"): "resins",
    ("release", "system"): "releases",
    ("compaction", "method"): "compactions",
    ("sleeve", "fibre"): "fibres",
    ("cloth", "fibre"): "fibres",
    ("sleeve", "library"): "sleeves",
}


@dataclass(frozen=True)
class Row:
    """One input. kind: measure, text, whole, number, flag, choice, either, turn, table.

    at: its place in the file. text: as stated, "" where it is not. fallback: what then stands
    for it. choices: words to choose from (choice, either, turn) or to suggest (text). A turn
    makes another kind of its table. columns, cells: heads and rows of a table of measures.
    """

    at: Keys
    name: str
    label: str
    kind: str
    text: str
    stated: bool
    needed: bool
    fallback: str
    choices: tuple[tuple[str, str], ...]
    help: str
    unit: str
    columns: tuple[str, ...] = ()
    cells: tuple[tuple[str, ...], ...] = ()


@dataclass(frozen=True)
class Group:
    """One table of the job, or one row of a list of tables."""

    step: str
    table: str
    at: Keys
    title: str
    rows: tuple[Row, ...]
    drops: bool
    adds: tuple[str, ...]
    first: str = ""  # what has to be added before, where there is nothing to add


def form_of(text: str, library: Library) -> dict[str, Any]:
    """Groups of inputs of a job's text in the order of the steps, and the rows that may be added.

    Raises ValueError.
    """
    data = tomllib.loads(text)
    groups = [asdict(group) for group in _groups(data, library)]
    return {"groups": groups, "blank": blank_of(data)}


def _groups(data: dict[str, Any], library: Library) -> Iterator[Group]:
    for name, field in Job.model_fields.items():
        key = field.alias or name
        inside = list(_tables(field.annotation))
        if not inside:
            continue
        if _is_list(field.annotation):
            yield from _list((key,), inside, data, library)
        else:
            rows = _rows(inside[0], data.get(key), (key,), data, library)
            yield Group(step_of_table(key), key, (key,), _words(key), tuple(rows), False, ())
            yield from _lists_within(inside[0], key, data, library)


def _lists_within(
    table: type[Table], key: str, data: dict[str, Any], library: Library
) -> Iterator[Group]:
    """Lists of tables in a table of the job: rings of the printer, items of the assembly."""
    for name, field in table.model_fields.items():
        inside = list(_tables(field.annotation))
        if inside and _is_list(field.annotation):
            yield from _list((key, field.alias or name), inside, data, library)


def _list(
    at: Keys, inside: list[type[Table]], data: dict[str, Any], library: Library
) -> Iterator[Group]:
    items: Any = data
    for key in at:
        items = items.get(key) if isinstance(items, dict) else None
    items = items if isinstance(items, list) else []
    step, key, named = step_of_table(str(at[0])), ".".join(map(str, at)), _words(str(at[-1]))
    for number, item in enumerate(items):
        rows = _turning(inside, _rows(chosen(inside, item), item, (*at, number), data, library))
        called = item.get("name") or item.get("do") or item.get("sleeve") or item.get("cloth")
        title = f"{named} {number + 1}" + (f": {called}" if called else "")
        yield Group(step, key, (*at, number), title, tuple(rows), True, ())
    if key in (blank := blank_of(data)):
        yield Group(step, key, at, named, (), False, tuple(blank[key]), FIRST.get(key, ""))


def _turning(inside: list[type[Table]], rows: Iterator[Row]) -> Iterator[Row]:
    """The rows of a table that may be of several kinds: the word that tells them apart turns it."""
    key, kinds = kinds_of(inside)
    for row in rows:
        if len(inside) > 1 and row.at[-1] == key:
            yield replace(row, kind="turn", choices=tuple((kind, kind) for kind in kinds))
        else:
            yield row


def _rows(
    table: type[Table],
    stated: Any,
    at: Keys,
    data: dict[str, Any],
    library: Library,
    said: str = "",
    needed: bool = True,
) -> Iterator[Row]:
    """Rows of a table; those of tables within it follow with its name before theirs.

    Nothing of a table is needed that may be left out and is.
    """
    held = stated if isinstance(stated, dict) else {}
    for name, field in table.model_fields.items():
        key = field.alias or name
        label = f"{said}, {_words(key)}" if said else _words(key)
        value, where = held.get(key), (*at, key)
        inner = list(_tables(field.annotation))
        if _is_list(field.annotation):
            if not inner:  # lists of tables have groups of their own
                yield from _items(field, value, where, label, needed)
        elif not inner:
            yield _row(field, value, where, label, data, library, needed)
        elif inner[0] in (Tip, Position) or (inner[0] is Core and not _walls(value)):
            yield _either(field, inner[0], value, where, label)
        else:
            wanted = value is not None or (needed and field.is_required())
            yield from _rows(inner[0], value, where, data, library, label, wanted)


def _walls(value: Any) -> bool:
    return isinstance(value, dict) and "walls" in value


def _items(field: FieldInfo, value: Any, at: Keys, label: str, needed: bool) -> Iterator[Row]:
    """Measures in a list: a fixed number of them as rows, any number as a table."""
    members = value if isinstance(value, list) else []
    columns = _columns(field.annotation)
    if columns:
        heads = HEADS.get(str(at[-1]), tuple(text.kind for text in columns))
        cells = tuple(tuple(map(_shown, m if isinstance(m, list) else [m])) for m in members)
        said = "; ".join(filter(None, (field.description, *dict.fromkeys(map(_reads, columns)))))
        yield Row(at, field_name(at), label, "table", "", bool(members),
                  needed and field.is_required(), _shown(_default(field)), (), said, "",
                  heads, cells)  # fmt: skip
        return
    text, called = _measure(field.annotation), MEMBERS.get(str(at[-1]), ())
    for number, member in enumerate(members):
        if text is not None and isinstance(member, str):
            word = called[number] if number < len(called) else str(number + 1)
            yield Row((*at, number), field_name((*at, number)), f"{label}, {word}", "measure",
                      member, True, True, "", (), _help(field, text), text.kind)  # fmt: skip


def _reads(text: Text) -> str:
    return text.reads()


def _columns(annotation: Any) -> tuple[Text, ...]:
    """What the columns of a list of any length hold; () for any other."""
    if get_origin(annotation) is tuple:
        member, *rest = get_args(annotation)
        if rest != [...]:
            return ()
        inner = get_args(member)[0] if get_origin(member) is Annotated else member
        cells = get_args(inner) if get_origin(inner) is tuple else (member,)
        return tuple(text for cell in cells if (text := _measure(cell)) is not None)
    if get_origin(annotation) in (Union, UnionType, Annotated):
        return next((found for part in get_args(annotation) if (found := _columns(part))), ())
    return ()


def _row(
    field: FieldInfo, value: Any, at: Keys, label: str, data: dict[str, Any], library: Library,
    needed: bool,
) -> Row:  # fmt: skip
    text, words = _measure(field), _literal(field.annotation)
    choices = tuple((word, word) for word in words) or _suggested(at, data, library)
    kind = _kind(field, text, words)
    stated = value is not None
    return Row(
        at, field_name(at), label, kind, _shown(value), stated, needed and field.is_required(),
        _shown(_default(field)), choices, _help(field, text), text.kind if text else "",
    )  # fmt: skip


def _either(field: FieldInfo, table: type[Table], value: Any, at: Keys, label: str) -> Row:
    """A word, or one measure under one of a few keys."""
    ways = _EITHER.get(table)
    if ways is None:
        word = "tip" if at[-1] == "from" else "end"
        ways = ((word, f"the {word}"), ("", "from the base"), ("diameter", "where it is ø"))
    text = next(iter(value.items())) if isinstance(value, dict) and value else ("", value or "")
    if isinstance(value, str) and value in dict(ways):
        text = (value, "")
    shown = f"{text[0]}|{_shown(text[1])}"
    return Row(at, field_name(at), label, "either", shown, value is not None, field.is_required(),
               _shown(_default(field)), ways, field.description or "", "length")  # fmt: skip


def _kind(field: FieldInfo, text: Text | None, words: tuple[str, ...]) -> str:
    if text is not None:
        return "measure"
    if words:
        return "choice"
    kinds = {bool: "flag", int: "whole", float: "number", str: "text"}
    return next((kind for each, kind in kinds.items() if each in _plain(field.annotation)), "text")


def _plain(annotation: Any) -> set[Any]:
    """Plain types of an annotation, None and wrappers taken off."""
    origin = get_origin(annotation)
    if origin is Annotated:
        return _plain(get_args(annotation)[0])
    if origin in (Union, UnionType):
        return {each for part in get_args(annotation) for each in _plain(part)}
    return {annotation}


def _measure(field: Any) -> Text | None:
    """The declaration of a measure in a field or an annotation, if it is one."""
    if isinstance(field, FieldInfo):
        own = next((mark for mark in field.metadata if isinstance(mark, Text)), None)
        return own or _measure(field.annotation)
    if isinstance(field, Text):
        return field
    found = (_measure(part) for part in get_args(field) if get_origin(field) is not Literal)
    return next((text for text in found if text is not None), None)


def _literal(annotation: Any) -> tuple[str, ...]:
    if get_origin(annotation) is Literal:
        return tuple(map(str, get_args(annotation)))
    if get_origin(annotation) in (Union, UnionType, Annotated):
        return next((found for part in get_args(annotation) if (found := _literal(part))), ())
    return ()


def _suggested(at: Keys, data: dict[str, Any], library: Library) -> tuple[tuple[str, str], ...]:
    table, key = str(at[0]), str(at[-1])
    if table == "layer" and key in ("sleeve", "cloth"):
        rows = data.get(key)
        names = [row.get("name", "") for row in rows] if isinstance(rows, list) else []
    elif group := _OF_LIBRARY.get((table, key)):
        names = list(getattr(library, group))
    else:
        names = []
    return tuple((str(name), str(name)) for name in names)


def _default(field: FieldInfo) -> Any:
    value = field.get_default()
    return None if value is PydanticUndefined or isinstance(value, dict | tuple) else value


def _help(field: FieldInfo, text: Text | None) -> str:
    said = [field.description or ("" if text else _limits(field))]
    return "; ".join(filter(None, [*said, text.reads() if text else ""]))


def _limits(field: FieldInfo) -> str:
    """The limits of a number, where both are declared."""
    least = next((mark.ge for mark in field.metadata if isinstance(mark, Ge)), None)
    most = next((mark.le for mark in field.metadata if isinstance(mark, Le)), None)
    return "" if least is None or most is None else f"{least:g} to {most:g}"


def _shown(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    return str(value) if isinstance(value, str | int | float) else ""


def _words(key: str) -> str:
    return key.replace("_", " ")


def _is_list(annotation: Any) -> bool:
    if get_origin(annotation) in (Union, UnionType, Annotated):
        return any(_is_list(part) for part in get_args(annotation))
    return get_origin(annotation) is tuple


def _tables(annotation: Any) -> Iterator[type[Table]]:
    if isinstance(annotation, type) and issubclass(annotation, Table):
        yield annotation
    for part in get_args(annotation):
        yield from _tables(part)
