"""What the job file states, key by key, with its line; and what stands where it says nothing."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from typing import Any

from mandrelwright.job.layup import Position
from mandrelwright.job.locate import key_lines
from mandrelwright.job.problems import field_name
from mandrelwright.job.spec import Job
from mandrelwright.job.values import Keys, Table
from mandrelwright.quantities import Quantity
from mandrelwright.why.explanation import Shown
from mandrelwright.why.node import Node

Places = Mapping[Keys, str]


def job_nodes(job: Job) -> Iterator[Node]:
    """Every key of the job, tables and rows included: job.printer.layer, job.fit[1].mates."""
    raw, lines = _file(job)
    places = {keys: f"{job.path.name}, line {line}" for keys, line in lines.items()}
    yield from _inside(job, (), raw, places, "")


def _file(job: Job) -> tuple[dict[str, Any], dict[Keys, int]]:
    """Content and lines of the job's file; empty when the job is not what the file says."""
    try:
        text = job.path.read_text(encoding="utf-8-sig")
        raw = tomllib.loads(text)
        same = (
            Job.model_validate(
                raw, context={"path": job.path, "digest": job.digest, "coupons": job.coupons}
            )
            == job
        )
    except (OSError, ValueError):
        return {}, {}
    return (raw, key_lines(text)) if same else ({}, {})


def _inside(table: Table, keys: Keys, raw: Any, places: Places, place: str) -> Iterator[Node]:
    """The keys of one table: as its file has them, or as the program lays them down."""
    for name, info in type(table).model_fields.items():
        key, value = info.alias or name, getattr(table, name)
        at = (*keys, key)
        told = name in table.model_fields_set
        text = raw.get(key, value if told else info.default)
        here = places.get(at, place if told else "default")
        yield _node(at, text, here, info.description or "", value not in (None, ()))
        if isinstance(value, Table) and not isinstance(value, Position):
            yield from _inside(value, at, text if isinstance(text, dict) else {}, places, here)
        elif isinstance(value, tuple) and value and isinstance(value[0], Table):
            for number, row in enumerate(value):
                inner = text[number] if key in raw else row
                yield _node((*at, number), inner, places.get((*at, number), here), "", True)
                inside = inner if isinstance(inner, dict) else {}
                yield from _inside(row, (*at, number), inside, places, here)


def _node(keys: Keys, value: Any, place: str, what: str, is_stated: bool) -> Node:
    text = toml(value) if is_stated else "not stated"
    if keys and isinstance(keys[-1], int):
        text = text.removeprefix("{ ").removesuffix(" }")
    return Node(
        f"job.{field_name(keys)}",
        "job",
        what,
        lambda: Shown(text),
        place=place if is_stated else "",
        stated=is_stated,
    )


def toml(value: Any) -> str:
    """A value as TOML would write it on one line; what was never text is told in SI."""
    match value:
        case bool():
            return str(value).lower()
        case str():
            return f'"{value}"'
        case dict():
            return "{ " + ", ".join(f"{key} = {toml(item)}" for key, item in value.items()) + " }"
        case Quantity():
            return f"{value.value:g} ± {value.spread:g} (SI)"
        case list() | tuple():
            return "[" + ", ".join(map(toml, value)) + "]"
        case Table():
            named = {info.alias or name: name for name, info in type(value).model_fields.items()}
            told = {key: getattr(value, name) for key, name in named.items()}
            return toml({key: item for key, item in told.items() if item not in (None, ())})
    return str(value)
