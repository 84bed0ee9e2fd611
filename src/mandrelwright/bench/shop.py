"""Shop mode's side of the log: begin a mould or part, keep an entry once, tell what is there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, replace
from pathlib import Path
from threading import RLock
from typing import Any, NamedTuple

from mandrelwright.bench.folder import JobFolder
from mandrelwright.shop.entries import Coupon, Entry, Mould, Part, Reading, Weight, make
from mandrelwright.shop.fields import Measure
from mandrelwright.shop.log import Log, LogError, Logged, links, log_beside, open_log

FROM_A_PAGE = ("event", "note", "reading", "time", "waiver", "weight", "withdrawal")
LARGE = ("job_text", "facts")  # of a mould's entry; no page needs them in a list


class Doubtful(NamedTuple):
    """An entry that may be a slip: text of its mould's job, the mould's name, the entry, what it
    is of, and what stands in the log."""

    job_text: str
    mould: str
    entry: Entry
    about: Entry
    rows: tuple[Logged, ...]


class ShopLogs:
    """The logs of a folder's jobs; opened when first asked for, made when a mould is begun."""

    def __init__(self, folder: JobFolder) -> None:
        self.folder = folder
        self._open: dict[Path, Log] = {}
        self._lock = RLock()

    def close(self) -> None:
        """Let go of every log."""
        for log in self._open.values():
            log.close()

    def find(self, job: str) -> Log | None:
        """The log of a job, None while nothing was ever kept; raises NoSuchJobError, LogError."""
        path = log_beside(self.folder.path(job))
        return self._log(path) if path in self._open or path.is_file() else None

    def make(self, job: str) -> Log:
        """The log of a job; raises NoSuchJobError, LogError."""
        self.folder.load(job)
        return self._log(log_beside(self.folder.path(job)))

    def begin(self, job: str, mould: str, part: str, about: Mapping[str, Any]) -> dict[str, str]:
        """Ids of a mould and its part by their names, made where they are not in the log yet.

        about: what a mould's entry keeps of its plan. Raises LogError, InputError.
        """
        with self._lock:
            log = self.make(job)
            printed = _named(log, Mould, mould) or log.add("mould", name=mould, **about)
            laid = None
            if part:
                laid = _named(log, Part, part, printed.id) or log.add_part(printed, part)
        return {"mould": printed.id, "part": laid.id if laid else ""}

    def entry(
        self, job: str, kind: str, given: Mapping[str, Any], ring: Mapping[str, str]
    ) -> Entry:
        """The entry that a page sends, not kept yet, or as it was kept when it comes again.

        ring: name, diameter in the file and plastic of the ring that a reading is of.
        Raises LogError and InputError for what the log refuses.
        """
        log = self.make(job)
        if kind not in FROM_A_PAGE:
            raise LogError(f'"{kind}" cannot be entered here', "use the command line")
        about = dict(given)
        if ring:
            with self._lock:
                coupon = _named(log, Coupon, ring["name"]) or log.add("coupon", what="ring", **ring)
            about |= links(coupon)
        sent = make(kind, **about)
        held = next((row.entry for row in log.entries(kind=kind) if row.entry.id == sent.id), None)
        if isinstance(sent, Reading | Weight) and isinstance(held, Reading | Weight):
            return replace(sent, questioned=held.questioned)
        return sent

    def doubtful(self, job: str, entry: Entry, mould: str) -> Doubtful | None:
        """What a rule against slips has to know of an entry; None where there is no rule.

        mould: id of the mould at hand, whose plan says what to expect.
        """
        log = self.make(job)
        kept = any(row.entry.id == entry.id for row in log.entries(kind=entry.kind))
        if kept or not isinstance(entry, Reading | Weight):
            return None
        rows = log.standing()
        by_id = {row.entry.id: row.entry for row in rows}
        begun = by_id.get(mould)
        about = by_id.get(entry.part or entry.coupon or entry.mould or "")
        if not isinstance(begun, Mould) or about is None:
            return None
        return Doubtful(begun.job_text, begun.name, entry, about, tuple(rows))

    def keep(self, job: str, entry: Entry) -> int:
        """Keep an entry, once however often it comes; its number. Raises LogError."""
        return self.make(job).append([entry])[0]

    def _log(self, path: Path) -> Log:
        with self._lock:
            if path not in self._open:
                self._open[path] = open_log(path)
            return self._open[path]


def _named(log: Log, kind: type[Entry], name: str, mould: str | None = None) -> Entry | None:
    """The standing entry of a kind and name."""
    found = (entry for _, entry in log.standing() if isinstance(entry, kind))
    own = (entry for entry in found if mould is None or entry.mould == mould)
    return next((entry for entry in own if getattr(entry, "name", "") == name), None)


def told(row: Logged) -> dict[str, Any]:
    """An entry as plain data: measures as text and SI value, what is large left out."""
    entry = row.entry
    shown: dict[str, Any] = {"number": row.number, "kind": entry.kind}
    for item in fields(entry):
        value = getattr(entry, item.name)
        if item.name in LARGE or value in (None, ""):
            continue
        if isinstance(value, Measure):
            value = {"text": value.text, "value": value.value, "spread": value.spread}
        shown[item.name] = value
    return shown
