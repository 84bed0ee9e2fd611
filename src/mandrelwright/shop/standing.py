"""What stands in a log after corrections and withdrawals."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import NamedTuple

from mandrelwright.shop.entries import Entry, rules

ABOUT = ("mould", "part", "coupon")


class Logged(NamedTuple):
    """An entry and its number: entries are numbered in the order in which they were kept."""

    number: int
    entry: Entry


def standing(entries: Iterable[Logged]) -> list[Logged]:
    """Entries that count: not replaced, not about what was withdrawn, links led to what stands.

    A correction, with its own number, takes the place and the moment of what it corrects: what
    stands is in the order of the shop.
    """
    rows = list(entries)
    later = {row.entry.replaces: row for row in rows if row.entry.replaces is not None}
    last = {row.entry.id: _last(row, later) for row in rows}
    gone = {key for key, row in last.items() if row.entry.kind == "withdrawal"}
    kept = []
    for row in rows:
        stands = last[row.entry.id]
        about = {getattr(stands.entry, name) for name in ABOUT}
        if row.entry.replaces is None and not gone & {row.entry.id, *about}:
            entry = replace(_led(stands.entry, last), at=row.entry.at)
            kept.append(Logged(stands.number, entry))
    return kept


def _last(row: Logged, later: Mapping[str, Logged]) -> Logged:
    while row.entry.id in later:
        row = later[row.entry.id]
    return row


def _led(entry: Entry, last: Mapping[str, Logged]) -> Entry:
    """The entry with its links led to what stands now."""
    links = [name for name, rule in rules(entry.kind).items() if rule.sort == "link"]
    given = {name: getattr(entry, name) for name in links if name != "replaces"}
    return replace(
        entry, **{name: last[key].entry.id for name, key in given.items() if key in last}
    )
