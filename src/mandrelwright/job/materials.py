"""The material library: every number with value, spread, basis, source and place.

Shipped numbers lie in ``library/*.toml``, one file per group.  A builder's own file lays new
entries or single numbers over them by name.  Loading refuses a number that is not complete.
"""

from __future__ import annotations

import hashlib
import math
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

from mandrelwright.job.properties import GROUPS, Group, Property
from mandrelwright.job.shelf import (
    Datum,
    Entry,
    MaterialError,
    Shelf,
    UnknownMaterialError,
    Words,
    nearest,
)
from mandrelwright.job.sources import sources
from mandrelwright.job.values import MOST_BYTES
from mandrelwright.quantities import UNITS, QuantityError, read

__all__ = [
    "Datum",
    "Entry",
    "Library",
    "MaterialError",
    "Shelf",
    "UnknownMaterialError",
    "Words",
    "load_library",
    "rows",
]

SHIPPED = Path(__file__).with_name("library")
SHIPPED_BASES = ("paper", "secondary", "memory", "derived", "assumed")
OWN_BASES = ("measured", "datasheet")
UNKNOWN_SPREAD = "unknown"
ASKED = {
    "value": 'write the number as text with its unit, value = "1070 kg/m^3"',
    "spread": 'write one standard deviation, spread = "20 kg/m^3", or "unknown"',
    "basis": "say how the number is known",
    "source": "say who states it",
    "where": "say where it stands: page, table, line, date",
}
"""What each number must state, and what to do where it does not."""

EXAMPLE = (
    'expansion = { value = "90 ppm/K", spread = "5 ppm/K", basis = "measured", '
    'source = "our ring", where = "3 May" }'
)

Tables = Mapping[str, Any]
Shelves = dict[str, dict[str, Entry]]


@dataclass(frozen=True)
class Library:
    """All materials by group and name, a digest of the files, and what the builder changed.

    ``own`` lists what the builder's file laid over the shipped numbers: "plastic ASA: expansion".
    """

    fibres: Shelf[Entry]
    resins: Shelf[Entry]
    plastics: Shelf[Entry]
    releases: Shelf[Entry]
    solvents: Shelf[Entry]
    compactions: Shelf[Entry]
    tows: Shelf[Entry]
    sleeves: Shelf[Entry]
    adhesives: Shelf[Entry]
    pins: Shelf[Entry]
    coatings: Shelf[Entry]
    practice: Shelf[Entry]
    digest: str
    own: tuple[str, ...]

    def narrowest_tow(self, fibre: str, linear_density: float) -> Datum:
        """The width (m) below which a tow of ``linear_density`` (kg/m) jams.

        w = w0 sqrt(T / T0) beyond the tows known for the fibre; between two of them a straight
        line in sqrt(T).  Valid near the known tows.  Source: the rows used; the rule assumes
        that width and thickness of a tow grow alike.
        Raises UnknownMaterialError for a fibre that is not known, MaterialError when no tow of
        it has a width.
        """
        root = math.sqrt(linear_density)
        widths = self._widths(fibre)
        below = max((row for row in widths if row.root <= root), default=widths[0])
        above = min((row for row in widths if row.root >= root), default=widths[-1])
        if root == below.root:
            return below.width
        share = (root - below.root) / (above.root - below.root) if above != below else 0.0
        scale = root / below.root if above == below else 1.0
        first, last = below.width, above.width
        names = below.name if above == below else f"{below.name} and {above.name}"
        return replace(
            first,
            value=scale * _mix(first.value, last.value, share),
            spread=scale * _mix(first.spread, last.spread, share),
            basis="assumed",
            source="relation",
            where=f"by the square root of tex from {names}",
        )

    def _widths(self, fibre: str) -> list[_Width]:
        names = {fibre, *self.fibres[fibre].like}
        widths = [
            _Width(math.sqrt(tow["linear_density"].value), name, tow["narrowest_width"])
            for name, tow in self.tows.items()
            if "narrowest_width" in tow and names & set(tow.words["fibres"].words)
        ]
        if not widths:
            raise MaterialError(
                "material library",
                f"fibres.{fibre}",
                "no tow of it has a width",
                'state narrowest_tow = "1.9 mm +- 0.2 mm" on the sleeve',
            )
        return sorted(widths, key=lambda width: width.root)


class _Width(NamedTuple):
    root: float  # sqrt(kg/m)
    name: str
    width: Datum


def _mix(first: float, last: float, share: float) -> float:
    return first + share * (last - first)


def load_library(own: Path | None = None) -> Library:
    """The shipped library, with the builder's ``own`` file laid over it by name.

    Raises MaterialError for a file that cannot be read, a number that is not complete, a name
    that is not known.
    """
    if own is None:
        return _shipped()
    content = _content(own)
    file = _File(own.name, OWN_BASES)
    shelves = {group: dict(getattr(_shipped(), group)) for group in GROUPS}
    changes = file.lay(_parse(own.name, content), shelves)
    return _library(shelves, [*_shipped_bytes().values(), content], changes)


def rows(library: Library) -> Iterator[tuple[str, str, str, Datum]]:
    """Every number of the library as (group, entry, property, Datum), in the order of the files."""
    for group in GROUPS:
        for name, entry in getattr(library, group).items():
            for key, datum in entry.items():
                yield group, name, key, datum


@cache
def _shipped() -> Library:
    shelves: Shelves = {group: {} for group in GROUPS}
    for group, content in _shipped_bytes().items():
        file = _File(f"{group}.toml", SHIPPED_BASES)
        file.lay({group: _parse(file.name, content)}, shelves)
    return _library(shelves, _shipped_bytes().values(), ())


@cache
def _shipped_bytes() -> dict[str, bytes]:
    return {group: (SHIPPED / f"{group}.toml").read_bytes() for group in GROUPS}


def _library(shelves: Shelves, contents: Iterable[bytes], own: Iterable[str]) -> Library:
    digest = hashlib.sha256(b"\0".join(contents)).hexdigest()
    groups = {group: Shelf(group, entries) for group, entries in shelves.items()}
    return Library(**groups, digest=digest, own=tuple(own))


def _content(path: Path) -> bytes:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise MaterialError(
                path.name,
                "file",
                f"is larger than {MOST_BYTES} bytes",
                "give a TOML file of materials",
            )
        return path.read_bytes()
    except OSError as error:
        raise MaterialError(
            path.name,
            "file",
            f"cannot be read ({error.strerror})",
            "check its name and that it may be read",
        ) from None


def _parse(name: str, content: bytes) -> Tables:
    try:
        return tomllib.loads(content.decode())
    except UnicodeDecodeError:
        raise MaterialError(name, "file", "is not UTF-8 text", "save it as UTF-8") from None
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise MaterialError(
            name, "file", f"is not TOML ({error})", "mend that line; texts stand in quotes"
        ) from None


class _File(NamedTuple):
    """One file of materials: its name for messages and the bases it may use."""

    name: str
    bases: tuple[str, ...]

    def lay(self, tables: Tables, shelves: Shelves) -> list[str]:
        """Lay the file's entries over ``shelves``; what was laid, in words."""
        changes = []
        for group_name, entries in tables.items():
            group = self._known(GROUPS, group_name, "file")
            for name, table in self._table(entries, group_name).items():
                entries_so_far = shelves[group_name]
                fresh = name not in entries_so_far
                entry = self._entry(group, f"{group_name}.{name}", name, table, entries_so_far)
                entries_so_far[name] = entry
                changes += (
                    [f"{group.label} {name}: new"]
                    if fresh
                    else [f"{group.label} {name}: {key.replace('_', ' ')}" for key in table]
                )
        return changes

    def _entry(
        self, group: Group, path: str, name: str, table: Tables, known: Mapping[str, Entry]
    ) -> Entry:
        """One entry: what it is like, or what stands under its name, with ``table`` laid over."""
        stated = dict(self._table(table, path))
        base = known.get(name)
        like = base.like if base else ()
        if "like" in stated:
            model = stated.pop("like")
            base = self._known(known, model, path)
            like = (model, *base.like)
        data = dict(base) if base else {}
        words = dict(base.words) if base else {}
        allowed = self._allowed(group, name, known)
        for key, value in stated.items():
            if key in group.words:
                words[key] = self._words(f"{path}.{key}", value)
            else:
                kind = self._known(allowed, key, path)
                data[key] = self._datum(f"{path}.{key}", value, kind)
        self._complete(group, path, {*data, *words})
        return Entry(path, data, words, like)

    def _allowed(self, group: Group, name: str, known: Mapping[str, Entry]) -> dict[str, Property]:
        """The properties an entry may state; a builder's practice file only those that exist."""
        if group.open or self.bases == SHIPPED_BASES:
            return group.properties
        return {key: group.properties[key] for key in self._known(known, name, group.label)}

    def _complete(self, group: Group, path: str, stated: set[str]) -> None:
        if not group.open:
            return
        needed = [key for key, kind in group.properties.items() if kind.needed]
        missing = [key for key in (*needed, *group.words) if key not in stated]
        if missing:
            raise MaterialError(
                self.name,
                path,
                f"lacks {', '.join(missing)}",
                'state them, or begin the entry with like = "a known name"',
            )

    def _datum(self, path: str, table: object, kind: Property) -> Datum:
        value, spread, basis, source, where = self._texts(path, table, tuple(ASKED))
        unknown = spread == UNKNOWN_SPREAD
        try:
            quantity = read(f"{value} +- {0 if unknown else spread}", kind.kind)
        except QuantityError as error:
            raise MaterialError(
                self.name, path, f'"{value}" with spread "{spread}" {error.reason}', error.remedy
            ) from None
        if not kind.least <= quantity.value <= kind.most:
            units = UNITS[kind.kind]
            base = next((unit for unit in reversed(units) if units[unit] == 1), "")
            limits = f"{kind.least:g} to {kind.most:g} {base}".rstrip()
            raise MaterialError(
                self.name, path, f'"{value}" is outside {limits}', "check the number and its unit"
            )
        return Datum(
            quantity.value, math.nan if unknown else quantity.spread, basis, source, where, path
        )

    def _words(self, path: str, table: object) -> Words:
        stated = dict(self._table(table, path))
        words = stated.pop("words", None)
        if not isinstance(words, list) or not all(isinstance(word, str) for word in words):
            raise MaterialError(
                self.name,
                f"{path}.words",
                "is not a list of texts",
                'write words = ["acetone"], or [] for none',
            )
        basis, source, where = self._texts(path, stated, ("basis", "source", "where"))
        return Words(tuple(words), basis, source, where, path)

    def _texts(self, path: str, table: object, asked: tuple[str, ...]) -> list[str]:
        """The texts that a number or a list must state, each there and not empty."""
        stated = self._table(table, path)
        for key in stated:
            self._known(dict.fromkeys(asked), key, path)
        for key in asked:
            text = stated.get(key, "")
            if not isinstance(text, str) or not text.strip():
                reason = "is not a text" if text and not isinstance(text, str) else "is missing"
                raise MaterialError(self.name, f"{path}.{key}", reason, ASKED[key])
        self._origin(path, stated["basis"], stated["source"])
        return [stated[key] for key in asked]

    def _origin(self, path: str, basis: str, source: str) -> None:
        if basis not in self.bases:
            raise MaterialError(
                self.name,
                f"{path}.basis",
                f'"{basis}" is no basis in this file',
                "use " + " or ".join(f'"{known}"' for known in self.bases),
            )
        if self.bases == SHIPPED_BASES and source not in sources():
            raise MaterialError(
                self.name,
                f"{path}.source",
                f'"{source}" is not in sources.bib',
                nearest(source, sources()),
            )

    def _table(self, value: object, path: str) -> Tables:
        if not isinstance(value, dict):
            raise MaterialError(
                self.name,
                path,
                "is not a table",
                "write [plastics.ASA] and under it lines like " + EXAMPLE,
            )
        return value

    def _known(self, table: Mapping[str, Any], name: object, path: str) -> Any:
        if not isinstance(name, str) or name not in table:
            raise MaterialError(
                self.name, path, f'"{name}" is not known', nearest(str(name), table)
            )
        return table[name]
