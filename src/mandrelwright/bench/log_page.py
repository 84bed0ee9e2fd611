"""The log of a job as a page tells it: moulds, their parts, what was read, every entry."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import fields
from pathlib import Path
from typing import Any

from mandrelwright.quantities import show
from mandrelwright.shop.entries import HEAD, Entry
from mandrelwright.shop.fields import Measure
from mandrelwright.shop.history import History, MouldRecord, PartRecord
from mandrelwright.shop.log import Log
from mandrelwright.shop.recall import history
from mandrelwright.shop.standing import Logged

LARGE = ("job_text", "job_digest", "facts", "sha256")
LINKS = ("lot", "resin", "tool")
WORDS = {
    **dict.fromkeys(("name", "what", "stage", "text", "reason"), "{}"), "mark": "mark {}",
    "reads": "reads {}", "angle": "at {}", "file": "{} in its file", "questioned": "though: {}",
}  # fmt: skip
TICKS = ("done", "clock", "clock stopped")  # events that only say how far the steps are


def page_of(log: Log | None) -> dict[str, Any]:
    """What the page shows: moulds with parts, rings, and all entries, newest first."""
    if log is None:
        return {"moulds": [], "rings": [], "entries": [], "where": ""}
    shop, rows = history(log), log.entries()
    return {
        "moulds": [_mould(mould) for mould in reversed(shop.moulds)],
        "rings": list(_rings(shop)),
        "entries": _entries(rows),
        "where": Path(log.where).name,
    }


def _mould(mould: MouldRecord) -> dict[str, Any]:
    files = {mark.name: show(mark.file, "mm", 2) for mark in mould.marks}
    return {
        "name": mould.name,
        "printed_on": mould.printed_on,
        "plastic": mould.plastic,
        "readings": _by_place(mould.readings, files),
        "parts": [_part(part) for part in mould.parts],
        "mended": [event.text for event in mould.events if event.what == "mended"],
    }


def _part(part: PartRecord) -> dict[str, Any]:
    return {
        "name": part.name,
        "laid_on": part.laid_on,
        "outcome": part.outcome or "not told yet",
        "readings": _by_place(part.readings, {}),
        "weights": [(each.what, show(each.value, "g", 1)) for each in part.weights],
    }


def _by_place(readings: Iterable[Any], files: dict[str, str]) -> list[tuple[str, ...]]:
    """Stage, mark, mean with its spread over the angles, how many, diameter in the file."""
    groups: dict[tuple[str, str, int], list[float]] = defaultdict(list)
    for each in readings:
        groups[each.stage, each.mark, each.mended].append(each.value)
    rows: list[tuple[str, ...]] = []
    for (stage, mark, mended), values in groups.items():
        mean = sum(values) / len(values)
        apart = show(max(values) - min(values), "mm", 2) if len(values) > 1 else ""
        when = f"{stage}, mended {mended}×" if mended else stage
        rows.append((when, mark, show(mean, "mm", 3), apart, str(len(values)), files.get(mark, "")))
    return rows


def _rings(shop: History) -> Iterable[tuple[str, str, str, str]]:
    for ring in shop.rings:
        values = [each.value for each in ring.readings]
        mean = show(sum(values) / len(values), "mm", 3) if values else "not read"
        yield ring.name, show(ring.file, "mm", 2), mean, str(len(values))


def _entries(rows: Sequence[Logged]) -> list[dict[str, Any]]:
    """Every entry but ticks, newest first; what was replaced or taken back is marked so."""
    names = {row.entry.id: getattr(row.entry, "name", "") for row in rows}
    later = {row.entry.replaces: row.entry for row in rows if row.entry.replaces}
    ticks = {row.entry.id for row in rows if getattr(row.entry, "what", "") in TICKS}
    shown = []
    for number, entry in reversed(rows):
        if entry.id in ticks or entry.replaces in ticks:
            continue
        instead = later.get(entry.id)
        gone = instead and ("taken back" if instead.kind == "withdrawal" else "corrected later")
        about = [
            f"{kind} {names.get(key, '')}".replace("coupon ring", "ring")
            for kind in ("mould", "part", "coupon") if (key := getattr(entry, kind))
        ]  # fmt: skip
        shown.append({
            "number": number, "at": entry.at.replace("T", " ")[:16], "kind": entry.kind,
            "about": ", ".join(about), "says": _says(entry, names),
            "gone": gone or "", "because": entry.because,
        })  # fmt: skip
    return shown


def _says(entry: Entry, names: dict[str, str]) -> str:
    """The own fields of an entry that hold something, in one line."""
    said = []
    for item in fields(entry):
        value = getattr(entry, item.name)
        if item.name in (*HEAD, *LARGE) or value in ("", None, 0.0) or value == item.default:
            continue
        if isinstance(value, Measure):
            value = value.text
        told = names.get(value, value) if item.name in LINKS else value
        said.append(WORDS.get(item.name, item.name.replace("_", " ") + " {}").format(told))
    return ", ".join(said)
