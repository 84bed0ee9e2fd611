"""What a job that can be read still has to tell: gaps filled for the builder."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from mandrelwright.findings import job as say
from mandrelwright.findings.finding import Finding
from mandrelwright.job.layup import OF_CLOTH, Layer
from mandrelwright.job.materials import Library
from mandrelwright.job.problems import field_name
from mandrelwright.job.spec import Job
from mandrelwright.job.values import Keys, Table


def remarks(job: Job, library: Library) -> list[Finding]:
    """Notes on defaults and on values from the library."""
    unmeasured = [sleeve.name for sleeve in job.sleeves if sleeve.narrowest_tow is None]
    own = job.materials.file if job.materials else ""
    told = (
        (say.defaults_used, [f"{name} = {text}" for name, text in _defaults(job)]),
        (say.library_values, [name for name, value in _measurable(job) if value is None]),
        (say.tow_width_from_library, unmeasured),
        (lambda names: say.own_library(own, names), list(library.own)),
    )
    return [finding(items) for finding, items in told if items]


def _measurable(job: Job) -> Iterator[tuple[str, object]]:
    yield "printer.shrink", job.printer.shrink
    yield "printer.offset", job.printer.offset
    yield "printer.diameter_scatter", job.printer.diameter_scatter
    yield "compaction.fibre_fraction", job.compaction.fibre_fraction
    yield "release.film", job.release.film
    yield "stated.glass_transition", job.stated.glass_transition
    yield "stated.cure_strain", job.stated.cure_strain


def _defaults(table: Table, keys: Keys = ()) -> Iterator[tuple[str, str]]:
    """Every default that stands, as (field, text); numbers and switches go without saying."""
    sleeve = isinstance(table, Layer) and table.sleeve is not None
    for name, field in type(table).model_fields.items():
        if sleeve and name in OF_CLOTH:
            continue
        at = (*keys, field.alias or name)
        text = "" if name in table.model_fields_set else _default_text(field.default)
        if text and at != ("section", 0, "blend"):
            yield field_name(at), text
        elif not text:
            yield from _inside(getattr(table, name), at)


def _default_text(default: object) -> str:
    if isinstance(default, dict):
        return ", ".join(f"{key} {value}" for key, value in default.items())
    return default if isinstance(default, str) else ""


def _inside(value: Any, keys: Keys) -> Iterator[tuple[str, str]]:
    """The defaults in a table, or in the rows of a list."""
    if isinstance(value, Table):
        yield from _defaults(value, keys)
    elif isinstance(value, tuple):
        for number, row in enumerate(value):
            yield from _inside(row, (*keys, number))
