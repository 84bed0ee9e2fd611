"""Change one number of the job or the library: whatever moves must say that it follows from it.

The dependence is found by planning again, so it cannot agree with the declaration by itself.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import astuple, replace
from pathlib import Path
from typing import Any

import pytest

from mandrelwright.job.materials import Library
from mandrelwright.job.problems import field_name
from mandrelwright.job.read import library_of, read_job
from mandrelwright.job.shelf import Entry, Shelf
from mandrelwright.job.spec import Job
from mandrelwright.job.values import Keys, Table
from mandrelwright.plan import make_plan
from mandrelwright.quantities import Quantity
from mandrelwright.stages.layers import PlanError
from mandrelwright.why.walk import Walk

ROOT = Path(__file__).resolve().parents[2]
PLACES = 60
STATED = {  # in the nose: what the library lends is stated, what is stated is lent
    'narrowest_tow = "1.9 mm +- 0.2 mm"\n': "",
    'film = "20 um +- 8 um"\n': "",
    'method = "peel ply"\n': 'method = "peel ply"\nfibre_fraction = "41 % +- 3 %"\n',
    "[compaction]\n": 'cure_strain = "0.4 % +- 0.1 %"\n[compaction]\n',
    "[printer]\n": '[printer]\nshrink = { across = "0.5 %", up = "0.4 %" }\noffset = "0.02 mm"\n',
    'time = "25 min"\n': 'time = "25 min"\nloss = "0.04 mm +- 0.02 mm"\n'
    '[[surface]]\ndo = "sand"\noff = "0.02 mm +- 0.01 mm"\n'
    '[[surface]]\ndo = "fill"\nadds = "0.03 mm +- 0.01 mm"\n',
}
Path_ = tuple[tuple[str, str] | tuple[int, int], ...]  # (attribute, key) or (row, row)


def stated_job(folder: Path) -> Job:
    text = (ROOT / "examples" / "plover-nose.toml").read_text("utf-8")
    for old, new in STATED.items():
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    path = folder / "stated.toml"
    path.write_text(text, "utf-8")
    return read_job(path)


@pytest.fixture(params=("nose", "transition"))
def job(request: pytest.FixtureRequest, tmp_path: Path) -> Job:
    if request.param == "nose":
        return stated_job(tmp_path)
    return read_job(ROOT / "examples" / "plover-transition.toml")


class Declared:
    """What every result of a plan says that it follows from, all the way down."""

    def __init__(self, walk: Walk) -> None:
        self.walk = walk
        self.known: dict[str, frozenset[str]] = {}
        self.values = values(walk)

    def below(self, name: str) -> frozenset[str]:
        if name not in self.known:
            inputs = self.walk.inputs(self.walk.nodes[name])
            self.known[name] = frozenset({name}.union(*(self.below(item) for item in inputs)))
        return self.known[name]

    def silent(self, job: Job, library: Library, changed: set[str]) -> list[str]:
        """Results that moved and do not follow from any of the changed names."""
        now = values(Walk(make_plan(job, library, PLACES)))
        return [
            f"{name} moved with {max(changed)}"
            for name, value in self.values.items()
            if now.get(name, value) != value and not self.below(name) & changed
        ]


def values(walk: Walk) -> dict[str, Any]:
    """Every number of a plan, exactly."""
    found = {}
    for name, node in walk.nodes.items():
        if node.kind in ("result", "input"):
            shown = node.show()
            rows = tuple(astuple(row) for row in shown.rows)
            found[name] = (shown.text, tuple(sorted(shown.numbers.items())), rows)
    return found


def test_whatever_moves_with_the_job_says_so(job: Job) -> None:
    library = library_of(job)
    declared = Declared(Walk(make_plan(job, library, PLACES)))
    silent, moved = [], 0
    for at in quantities(job):
        keys: Keys = tuple(key for _, key in at)
        names = {f"job.{field_name(keys[:end])}" for end in range(1, len(keys) + 1)}
        try:
            silent += declared.silent(changed(job, at), library, names)
            moved += 1
        except PlanError:
            continue  # a job that contradicts itself has no plan
    assert silent == []
    assert moved > 30


def test_whatever_moves_with_the_library_says_so(job: Job) -> None:
    library = library_of(job)
    declared = Declared(Walk(make_plan(job, library, PLACES)))
    used = {end for name in declared.values for end in declared.below(name)}
    silent = []
    for group, name, key, other in one_changed(library, used):
        silent += declared.silent(job, other, {f"materials.{group}.{name}.{key}"})
    assert silent == []


def quantities(table: Table, at: Path_ = ()) -> Iterator[Path_]:
    """Every measure that a job holds."""
    for name, info in type(table).model_fields.items():
        value, here = getattr(table, name), (*at, (name, info.alias or name))
        if isinstance(value, Quantity):
            yield here
        elif isinstance(value, Table):
            yield from quantities(value, here)
        elif isinstance(value, tuple) and value and isinstance(value[0], Table):
            for row, item in enumerate(value):
                yield from quantities(item, (*here, (row, row)))


def changed(value: Any, at: Path_) -> Any:
    """The same with one measure a little larger."""
    if not at:
        spread = 1.02 * value.spread
        return Quantity(1.003 * value.value + (0.0 if value.value else 1e-5), spread)
    (name, _), *rest = at
    if isinstance(name, int):
        return (*value[:name], changed(value[name], tuple(rest)), *value[name + 1 :])
    return value.model_copy(update={name: changed(getattr(value, name), tuple(rest))})


def one_changed(library: Library, used: set[str]) -> Iterator[tuple[str, str, str, Library]]:
    """The library with one number changed, for every number of an entry that is used."""
    for group in ("fibres", "resins", "plastics", "releases", "compactions", "sleeves", "practice"):
        shelf = getattr(library, group)
        for name, entry in shelf.items():
            if group != "practice" and not any(f"materials.{group}.{name}." in end for end in used):
                continue
            for key, datum in entry.items():
                value = 1.01 * datum.value + (0.0 if datum.value else 1e-4)
                data = {**entry, key: replace(datum, value=value, spread=1.02 * datum.spread)}
                other = Entry(entry.path, data, entry.words, entry.like)
                shelves: dict[str, Any] = {group: Shelf(group, {**shelf, name: other})}
                yield group, name, key, replace(library, **shelves)
