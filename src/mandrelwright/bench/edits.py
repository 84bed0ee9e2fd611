"""Edits of a job's text that keep its comments and its order."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import tomlkit
from tomlkit.exceptions import TOMLKitError

from mandrelwright.bench.turns import turned
from mandrelwright.job.locate import key_lines
from mandrelwright.job.values import InputError, Keys

Value = str | bool | int | float | list[str]
_PLAIN = re.compile(r'^(\s*[A-Za-z0-9_-]+\s*=\s*)"[^"\\\n]*"', re.ASCII)


@dataclass(frozen=True)
class Edit:
    """One change: set or unset a key, add a row (keys, or cells) to a list, drop a row; turn an
    item of a list into another kind of its table.

    A row of cells is put before the one whose number ends ``at``, or at the end of the list.
    """

    do: Literal["set", "unset", "add", "drop", "turn"]
    at: Keys
    value: Value | dict[str, Any] | None = None


def apply(text: str, edits: Sequence[Edit]) -> str:
    """The text with every edit made, comments kept; raises InputError where one has no place."""
    for edit in edits:
        text = _swap(text, edit) or _through_toml(text, edit)
    return text


def _swap(text: str, edit: Edit) -> str | None:
    """The quick way for a plain ``key = "text"`` line: only the quoted text changes."""
    if edit.do != "set" or not isinstance(edit.value, str):
        return None
    number = key_lines(text).get(edit.at)
    if number is None:
        return None
    lines = text.split("\n")
    match = _PLAIN.match(lines[number - 1])
    if match is None or match[1].split("=")[0].strip() != edit.at[-1]:
        return None
    quoted = json.dumps(edit.value, ensure_ascii=False)
    before = lines[number - 1]
    lines[number - 1] = _aligned(match[1] + quoted, before[match.end() :], match.end())
    return "\n".join(lines)


def _aligned(code: str, rest: str, wide: int) -> str:
    """Code and the comment after it, kept in its column where there is room."""
    comment = rest.lstrip(" ")
    if not comment.startswith("#"):
        return code + rest
    column = wide + len(rest) - len(comment)
    return f"{code:<{column - 1}} {comment}"


def _through_toml(text: str, edit: Edit) -> str:
    try:
        file = tomlkit.parse(text)
        _change(file, edit)
        return tomlkit.dumps(file)
    except InputError as error:
        raise InputError(error.limit, error.remedy, (*edit.at, *error.at)) from None
    except (TOMLKitError, KeyError, IndexError, TypeError, AttributeError, ValueError):
        raise InputError(
            "has no place in the job as it stands", "reload the page and try again", edit.at
        ) from None


def _change(file: Any, edit: Edit) -> None:
    *outer, last = edit.at
    table = file
    for key in outer:
        if isinstance(key, str) and key not in table and edit.do in ("set", "add"):
            table[key] = tomlkit.table() if table is file else tomlkit.inline_table()
        table = table[key]
    if edit.do == "set":
        table[last] = edit.value
    elif edit.do == "unset":
        table.pop(last, None)
    elif edit.do == "turn":
        given, dropped = turned(str(outer[-1]), table[last].unwrap(), str(edit.value))
        for key in dropped:
            table[last].pop(key)
        for key, value in given.items():
            table[last][key] = _inline(value)
    elif edit.do == "add" and not isinstance(edit.value, dict):
        _add_cells(table, last, edit.value)
    elif edit.do == "drop":
        del table[last]
        if not table:
            _drop_empty(file, tuple(outer))
    else:
        _add(table, str(last), edit.value)


def _drop_empty(file: Any, at: Keys) -> None:
    """A list without rows leaves the file."""
    *outer, last = at
    for key in outer:
        file = file[key]
    file.pop(last, None)


def _add(table: Any, key: str, row: Any) -> None:
    new = tomlkit.table()
    for name, value in row.items():
        new[name] = _inline(value)
    if key not in table:
        table[key] = tomlkit.aot()
    if "name" in row:
        new["name"] = _unused(row["name"], {str(other.get("name")) for other in table[key]})
    table[key].append(new)


def _add_cells(table: Any, at: str | int, cells: Any) -> None:
    """A row of cells into a list of such rows, which is made where there is none."""
    if isinstance(at, int):
        table.insert(at, cells)
        return
    if at not in table or not isinstance(table[at], list):
        table[at] = tomlkit.array().multiline(True)
    table[at].append(cells)


def _unused(name: str, taken: set[str]) -> str:
    """The name, numbered where another row has it."""
    numbered = (f"{name} {number}" for number in range(2, len(taken) + 3))
    return next(each for each in (name, *numbered) if each not in taken)


def _inline(value: Any) -> Any:
    if isinstance(value, list) and value and isinstance(value[0], list):
        rows = tomlkit.array().multiline(True)
        for row in value:
            rows.append(row)
        return rows
    if not isinstance(value, dict):
        return value
    inline = tomlkit.inline_table()
    for name, item in value.items():
        inline[name] = _inline(item)
    return inline
