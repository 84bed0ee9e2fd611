"""The shop log: what really happened, kept in SQLite beside the job or on a club's server.

Append-only: an entry is never changed; a correction replaces it, a withdrawal takes it back, and
both stay readable. An entry is on the disk when its number is returned. Sending an entry again,
under the same id, adds nothing, so a page that lost its connection may send all it has.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import fields
from pathlib import Path
from types import TracebackType
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection, RowMapping

from mandrelwright.job.values import InputError
from mandrelwright.plan import Plan
from mandrelwright.shop import tables
from mandrelwright.shop.engine import LogError, connect, locate, naming, reading, shown, writing
from mandrelwright.shop.entries import HEAD, KINDS, Entry, make, own, rules
from mandrelwright.shop.facts import facts_of
from mandrelwright.shop.fields import Measure
from mandrelwright.shop.standing import Logged, standing

__all__ = ["Log", "LogError", "Logged", "log_beside", "open_log"]

NAMED = ("mould", "part", "coupon", "tool")  # whose names are unique among what stands


def log_beside(job: str | Path) -> Path:
    """The log of a job file: "plover-nose.log.sqlite" beside plover-nose.toml."""
    return Path(job).with_suffix(".log.sqlite")


def open_log(where: str | Path) -> Log:
    """Open a log, a file or any SQLAlchemy URL; it is made where there is none.

    Raises LogError (exit 2) when it cannot be opened, or was written by a newer program.
    """
    return Log(locate(where))


class Log:
    """An open log; may be shared between threads. Use it in a with block, or close it."""

    def __init__(self, url: sa.URL) -> None:
        self.url = url
        self._engine = connect(url)

    def __enter__(self) -> Log:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file or server."""
        self._engine.dispose()

    @property
    def where(self) -> str:
        """The log as a person knows it: file, or URL without password."""
        return shown(self.url)

    def append(self, entries: Iterable[Entry]) -> list[int]:
        """Keep entries, all or none, and return their numbers once they are on the disk.

        One whose id the log holds already, with the same content, gets its old number.
        Raises LogError, ``at`` (row from 0, field), for a link to nothing, a name twice, an id
        that holds something else, or a correction of what was corrected before.
        """
        with naming(self.url), writing(self._engine) as connection:
            return [_keep(connection, row, entry) for row, entry in enumerate(entries)]

    def entries(self, since: int = 0, kind: str | None = None) -> list[Logged]:
        """Every entry after number ``since`` in the order of its keeping, replaced ones too."""
        wanted = [kind] if kind else list(KINDS)
        with naming(self.url), reading(self._engine) as connection:
            found = [row for name in wanted for row in _read(connection, name, since)]
        return sorted(found, key=lambda logged: logged.number)

    def standing(self) -> list[Logged]:
        """What stands: without what was replaced or withdrawn, links led to what stands."""
        return standing(self.entries())

    def found(self, key: str | int | None) -> Entry:
        """The standing entry of an id or number; raises LogError where none stands."""
        for number, entry in self.standing():
            if key in (number, entry.id):
                return entry
        raise LogError(f"entry {key} does not stand in {self.where}", "list them with mw log")

    def named(self, kind: str, name: str, about: Mapping[str, str | None] | None = None) -> Entry:
        """The standing mould, part, coupon or tool of a name; raises LogError with those known."""
        found = [logged.entry for logged in self.standing() if logged.entry.kind == kind]
        if about is not None:
            found = [e for e in found if all(getattr(e, key) == about[key] for key in about)]
        for entry in found:
            if getattr(entry, "name", None) == name:
                return entry
        known = ", ".join(str(getattr(entry, "name", "")) for entry in found) or "none yet"
        raise LogError(f'{kind} "{name}" is not in {self.where}', f"known are: {known}", (kind,))

    def add(self, kind: str, **given: Any) -> Entry:
        """Keep one entry of a kind from texts or values, and return it."""
        entry = make(kind, **given)
        self.append([entry])
        return entry

    def add_mould(self, plan: Plan, name: str, printed_on: str = "", **given: Any) -> Entry:
        """Keep a mould with the plan it was printed from: job text, digest, file by mark, chain."""
        return self.add("mould", name=name, printed_on=printed_on, **facts_of(plan), **given)

    def add_part(self, mould: Entry, name: str, laid_on: str = "", **given: Any) -> Entry:
        """Keep a part laid up on a mould."""
        return self.add("part", mould=mould.id, name=name, laid_on=laid_on, **given)

    def add_reading(
        self, about: Entry, stage: str, mark: str, reads: str | Measure, **given: Any
    ) -> Entry:
        """Keep a reading of a mould, part or coupon, its text exactly as typed."""
        return self.add("reading", **links(about), stage=stage, mark=mark, reads=reads, **given)

    def add_weight(self, about: Entry, what: str, reads: str, **given: Any) -> Entry:
        """Keep a weight of, or for, a mould, part or coupon."""
        return self.add("weight", **links(about), what=what, reads=reads, **given)

    def add_event(self, about: Entry, what: str, text: str = "", **given: Any) -> Entry:
        """Keep what happened to a mould, part or coupon."""
        return self.add("event", **links(about), what=what, text=text, **given)

    def add_note(self, text: str, about: Entry | None = None, **given: Any) -> Entry:
        """Keep a note in the builder's words."""
        return self.add("note", **links(about), text=text, **given)

    def add_photo(
        self, path: Path, caption: str = "", about: Entry | None = None, **given: Any
    ) -> Entry:
        """Keep a photograph, or another file, by its path and SHA-256; the file stays where it is.

        Raises InputError when it cannot be read.
        """
        return self.add("photo", **links(about), **photo_of(path), caption=caption, **given)

    def waive(self, gate: str, reason: str, about: Entry | None = None, **given: Any) -> Entry:
        """Keep that a gate was passed against its answer, and why."""
        return self.add("waiver", **links(about), gate=gate, reason=reason, **given)

    def correct(self, entry: Entry, because: str = "", **changed: Any) -> Entry:
        """Keep a copy of an entry with some fields changed, which replaces it."""
        entry = correction(entry, because, **changed)
        self.append([entry])
        return entry

    def withdraw(self, entry: Entry, because: str, **given: Any) -> Entry:
        """Take an entry back: it stays readable and counts no more."""
        return self.add("withdrawal", replaces=entry.id, because=because, **given)


def correction(entry: Entry, because: str = "", **changed: Any) -> Entry:
    """A copy of an entry with some fields changed, which replaces it once it is kept."""
    kept = {item.name: getattr(entry, item.name) for item in fields(entry)}
    kept |= {"id": "", "at": "", "by": "", "replaces": entry.id, "because": because} | changed
    return make(entry.kind, **kept)


def links(about: Entry | None) -> dict[str, str | None]:
    """What an entry about a mould, part or coupon points at; a part brings its mould."""
    if about is None:
        return {}
    return {"mould": about.mould, "part": about.part, "coupon": about.coupon} | {
        about.kind: about.id
    }


def photo_of(path: Path) -> dict[str, str]:
    """Path and SHA-256 of a file; raises InputError when it cannot be read."""
    try:
        return {"path": str(path), "sha256": hashlib.sha256(path.read_bytes()).hexdigest()}
    except OSError as error:
        raise InputError(f"{path} cannot be read ({error.strerror})", "check it") from None


def _keep(connection: Connection, row: int, entry: Entry) -> int:
    """Insert one entry after its checks, or find it again."""
    try:
        held = connection.execute(
            sa.select(tables.entry.c.number, tables.entry.c.kind).filter_by(id=entry.id)
        ).first()
        if held is not None:
            return _again(connection, entry, held.number, held.kind)
        _check_links(connection, entry)
        _check_replaced(connection, entry)
        _check_name(connection, entry)
    except LogError as error:
        raise LogError(error.limit, error.remedy, (row, *error.at)) from None
    head = {name: getattr(entry, name) for name in HEAD}
    made = connection.execute(tables.entry.insert().values(**head, kind=entry.kind))
    table = tables.metadata.tables[entry.kind]
    connection.execute(table.insert().values(id=entry.id, **_columns(entry)))
    assert made.inserted_primary_key is not None
    return int(made.inserted_primary_key[0])


def _again(connection: Connection, entry: Entry, number: int, kind: str) -> int:
    """The number of an entry that is sent again; raises LogError when it is another."""
    held = next(_read(connection, kind, number - 1, number)).entry
    if held != entry:
        told = f"id {entry.id} holds another {kind}"
        raise LogError(told, "send a correction with an id of its own", ("id",))
    return number


def _check_links(connection: Connection, entry: Entry) -> None:
    """Every link leads to an entry of the right kind."""
    for name, rule in rules(entry.kind).items():
        target = getattr(entry, name)
        if rule.sort != "link" or target is None:
            continue
        kind = connection.scalar(sa.select(tables.entry.c.kind).filter_by(id=target))
        if kind is None:
            raise LogError(f"{name} {target} is not in the log", "enter it first", (name,))
        if rule.of and kind not in rule.of.split():
            raise LogError(f"{name} {target} is a {kind}", f"give a {rule.of}", (name,))
    if entry.kind == "part" and entry.mould is None:
        raise LogError("mould is missing", "say on which mould the part was laid", ("mould",))


def _check_replaced(connection: Connection, entry: Entry) -> None:
    """A correction is of the same kind, and the first of its entry."""
    if entry.replaces is None:
        if entry.kind == "withdrawal":
            raise LogError("replaces is missing", "give the id to take back", ("replaces",))
        return
    column = tables.entry.c
    kind = connection.scalar(sa.select(column.kind).filter_by(id=entry.replaces))
    if kind == "withdrawal" or entry.kind not in ("withdrawal", kind):
        told = f"replaces a {kind} by a {entry.kind}"
        raise LogError(told, "correct an entry by one of its kind", ("replaces",))
    later = connection.scalar(sa.select(column.id).filter_by(replaces=entry.replaces))
    if later is not None:
        told = f"{entry.replaces} was replaced before"
        raise LogError(told, f"correct what stands, {later}", ("replaces",))


def _check_name(connection: Connection, entry: Entry) -> None:
    """A mould's name is its own in its job, a part's on its mould, a coupon's or tool's at all."""
    if entry.kind not in NAMED:
        return
    rows = [row for kind in (*NAMED, "withdrawal") for row in _read(connection, kind)]
    candidate = Logged(1 + max((row.number for row in rows), default=0), entry)
    rows = standing([*sorted(rows, key=lambda row: row.number), candidate])
    keys = [_key(row.entry) for row in rows]
    if keys.count(_key(rows[-1].entry)) > 1:
        told = f'a {entry.kind} "{getattr(entry, "name", "")}" stands already'
        raise LogError(told, "give another name, or correct that one", ("name",))


def _key(entry: Entry) -> tuple[object, ...]:
    within = (getattr(entry, "job", ""), entry.mould if entry.kind == "part" else None)
    return (entry.kind, getattr(entry, "name", ""), *within)


def _columns(entry: Entry) -> dict[str, Any]:
    """Own fields as columns; a measure fills three."""
    out: dict[str, Any] = {}
    for name, rule in own(entry.kind).items():
        value = getattr(entry, name)
        if rule.sort == "measure":
            text, si, spread = value if value is not None else (None, None, None)
            out |= {name: text, f"{name}_si": si, f"{name}_spread": spread}
        else:
            out[name] = value
    return out


def _read(
    connection: Connection, kind: str, since: int = 0, until: int | None = None
) -> Iterator[Logged]:
    """Entries of one kind after a number, as they were kept."""
    head, own = tables.entry, tables.metadata.tables[kind]
    chosen = sa.select(head, *(column for column in own.c if column.name != "id"))
    chosen = chosen.join(own, own.c.id == head.c.id).where(head.c.number > since)
    if until is not None:
        chosen = chosen.where(head.c.number <= until)
    for row in connection.execute(chosen.order_by(head.c.number)).mappings():
        yield Logged(row["number"], _entry(kind, row))


def _entry(kind: str, row: RowMapping) -> Entry:
    values: dict[str, Any] = {}
    for name, rule in rules(kind).items():
        value = row[name]
        if rule.sort == "measure" and value is not None:
            value = Measure(value, row[f"{name}_si"], row[f"{name}_spread"])
        values[name] = value
    return KINDS[kind](**values)
