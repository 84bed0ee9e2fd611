"""The log as CSV or JSON and back: every entry in its order, texts as typed, round trip exact.

A file need not come from a log: ids, moments and SI values may be missing, and a mould, part,
coupon or tool may be named instead of given by id. A row without an id gets one made from what
it says, so that bringing the same file in again doubles nothing.
"""

from __future__ import annotations

import csv
import io
import json
import math
import uuid
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from mandrelwright.job.values import InputError
from mandrelwright.shop.entries import HEAD, KINDS, Entry, make, rules
from mandrelwright.shop.fields import Measure, Rule
from mandrelwright.shop.log import Log, LogError

FORMAT = "mandrelwright log 1"
MOST_BYTES = 100_000_000
MOST_TOLD = 20  # faults told at once
AGREES = 1e-9  # relative distance of a stated SI value from what the text says
NAMESPACE = uuid.UUID("6d616e64-7265-4c77-9269-676874206c67")  # of ids made from a row
SI, SPREAD = "_si", "_spread"
Row = dict[str, Any]


class ExchangeError(InputError):
    """A file that is not taken, with every fault by row and column; nothing was kept."""

    def __init__(self, path: Path, faults: Sequence[str]) -> None:
        shown = [f"  {fault}" for fault in faults[:MOST_TOLD]]
        more = [f"  and {len(faults) - MOST_TOLD} more"] if len(faults) > MOST_TOLD else []
        lines = "\n".join([f"{path} is not taken, nothing was kept", *shown, *more])
        super().__init__(lines, "mend the file and import it again")
        self.faults = tuple(faults)

    def __str__(self) -> str:
        return self.limit


def export_text(entries: Iterable[Entry], suffix: str) -> str:
    """Entries as text of a .csv or .json file; raises InputError for another suffix."""
    rows = [row_of(entry) for entry in entries]
    if suffix == ".json":
        return json.dumps({"format": FORMAT, "entries": rows}, indent=1, ensure_ascii=False) + "\n"
    _refuse_suffix(suffix)
    columns = _columns(rows)
    out = io.StringIO()
    writer = csv.DictWriter(out, columns, restval="", lineterminator="\r\n")
    writer.writeheader()
    writer.writerows({name: _cell(value) for name, value in row.items()} for row in rows)
    return out.getvalue()


def import_file(log: Log, path: Path, job: str = "") -> tuple[int, int]:
    """Keep all of a file or none of it; return how many entries were new, and how many known.

    job: whose moulds are meant by name. Raises ExchangeError with every fault by row and column,
    LogError, or InputError when the file cannot be read.
    """
    rows = _rows(path)
    held = {logged.entry.id: logged.entry for logged in log.entries()}
    reader = _Reader(log, held, job)
    entries, faults = [], []
    for number, row in enumerate(rows, start=FIRST[path.suffix]):
        try:
            entries.append(reader.entry(row))
        except InputError as error:
            faults.append(_fault(path, number, error))
    if faults:
        raise ExchangeError(path, faults)
    try:
        log.append(entries)
    except LogError as error:
        if not error.at:
            raise
        number = FIRST[path.suffix] + int(error.at[0])
        fault = _fault(path, number, InputError(error.limit, error.remedy, error.at[1:]))
        raise ExchangeError(path, [fault]) from None
    new = sum(entry.id not in held for entry in entries)
    return new, len(entries) - new


FIRST = {".csv": 2, ".json": 1}  # number of the first entry, as an editor or a person counts


def row_of(entry: Entry) -> Row:
    """What an entry says, by field; SI and spread beside every measure; nothing that is empty."""
    row: Row = {"kind": entry.kind}
    for name, rule in rules(entry.kind).items():
        value = getattr(entry, name)
        if isinstance(value, Measure):
            row |= {name: value.text, f"{name}{SI}": value.value, f"{name}{SPREAD}": value.spread}
        elif value not in (None, "") and not (rule.sort == "facts" and not value):
            row[name] = dict(value) if rule.sort == "facts" else value
    return row


class _Reader:
    """Rows to entries; knows what the log holds and what the file has named so far."""

    def __init__(self, log: Log, held: Mapping[str, Entry], job: str) -> None:
        self._log, self._held, self._job = log, held, job
        self._seen: Counter[str] = Counter()
        self._named: dict[tuple[str, str, Any], str] = {}
        for logged in log.standing():
            self._name(logged.entry)

    def entry(self, row: Row) -> Entry:
        """The entry a row stands for; raises InputError whose ``at`` names the column."""
        if None in row:
            raise InputError("has more cells than the heading", "put texts with commas in quotes")
        given = {name: value for name, value in row.items() if value not in ("", None)}
        kind = str(given.pop("kind", ""))
        made = "" if "id" in given else self._made_id(kind, given)
        if made in self._held:
            return self._held[made]
        if kind == "mould":
            given.setdefault("job", self._job)
        stated = {key: given.pop(key) for key in list(given) if _is_computed(kind, key)}
        if made:
            given["id"] = made
        entry = make(kind, **self._linked(kind, given))
        _check_stated(entry, stated)
        self._name(entry)
        return entry

    def _made_id(self, kind: str, given: Row) -> str:
        text = json.dumps([kind, given], sort_keys=True, ensure_ascii=False, default=str)
        self._seen[text] += 1
        return str(uuid.uuid5(NAMESPACE, f"{self._seen[text]} {text}"))

    def _linked(self, kind: str, given: Row) -> Row:
        """Names in the place of ids looked up, a part within its mould."""
        known = rules(kind) if kind in KINDS else {}
        out = {name: _parsed(value, known.get(name)) for name, value in given.items()}
        for name in ("mould", "part", "coupon", "tool", "resin"):
            target = out.get(name)
            linked = name in known and known[name].sort == "link"
            if linked and target is not None and not _is_id(target):
                out[name] = self._look_up(name, str(target), out.get("mould"))
        return out

    def _look_up(self, kind: str, name: str, mould: Any) -> str:
        within = {"mould": self._job, "part": mould}.get(kind)
        found = self._named.get((kind, name, within))
        if found is None:
            told = f'{kind} "{name}" is not in the log or above in the file'
            raise InputError(told, "enter it first, or mend the name", (kind,))
        return found

    def _name(self, entry: Entry) -> None:
        within = {"mould": getattr(entry, "job", ""), "part": entry.mould}.get(entry.kind)
        if hasattr(entry, "name"):
            self._named[(entry.kind, entry.name, within)] = entry.id


def _is_computed(kind: str, name: str) -> bool:
    """Whether a column is one that an export writes beside a measure."""
    known = rules(kind) if kind in KINDS else {}
    stem = name.removesuffix(SI).removesuffix(SPREAD)
    return name not in known and stem in known and known[stem].sort == "measure"


def _check_stated(entry: Entry, stated: Row) -> None:
    """An SI value beside a text says the same as the text."""
    for name, value in stated.items():
        stem = name.removesuffix(SI).removesuffix(SPREAD)
        held = getattr(entry, stem)
        own = None if held is None else held.value if name.endswith(SI) else held.spread
        try:
            agrees = own is not None and math.isclose(float(value), own, rel_tol=AGREES)
        except (TypeError, ValueError):
            agrees = False
        if not agrees:
            told = f"{name} {value} disagrees with {stem}"
            raise InputError(told, f"mend {stem}, or empty {name}", (name,))


def _is_id(value: object) -> bool:
    try:
        uuid.UUID(str(value))
    except ValueError:
        return False
    return True


def _parsed(value: Any, rule: Rule | None) -> Any:
    """A table in a CSV cell is JSON."""
    if rule is None or rule.sort != "facts" or not isinstance(value, str):
        return value
    try:
        return json.loads(value)
    except ValueError:
        raise InputError("is no JSON", "copy it from an export", ("facts",)) from None


def _cell(value: Any) -> Any:
    return json.dumps(value, ensure_ascii=False) if isinstance(value, Mapping) else value


def _columns(rows: Sequence[Row]) -> list[str]:
    """What every entry has, then whatever the rows hold, in the order of the kinds."""
    used = {name for row in rows for name in row}
    out = ["kind", *HEAD]
    for kind in KINDS:
        for name in rules(kind):
            out += [each for each in (name, f"{name}{SI}", f"{name}{SPREAD}") if each in used]
    return list(dict.fromkeys(out))


def _rows(path: Path) -> list[Row]:
    """Rows of a file as they are written; raises InputError."""
    _refuse_suffix(path.suffix)
    try:
        with open(path, "rb") as file:
            content = file.read(MOST_BYTES + 1)
    except OSError as error:
        raise InputError(f"{path} cannot be read ({error.strerror})", "check the path") from None
    if len(content) > MOST_BYTES:
        raise InputError(f"{path} is larger than {MOST_BYTES // 10**6} MB", "part it")
    before = csv.field_size_limit(MOST_BYTES)  # of the whole process, so it is given back
    try:
        text = content.decode("utf-8-sig")
        return _csv(path, text) if path.suffix == ".csv" else _json(path, text)
    except (UnicodeDecodeError, csv.Error, RecursionError) as error:
        raise InputError(f"{path} cannot be read: {error}", "save it as UTF-8 text") from None
    finally:
        csv.field_size_limit(before)


def _csv(path: Path, text: str) -> list[Row]:
    head = text.split("\n", 1)[0]
    mark = ";" if head.count(";") > head.count(",") else ","
    reader = csv.DictReader(io.StringIO(text, newline=""), delimiter=mark, strict=True)
    known = {name for kind in KINDS for name in rules(kind)}
    known |= {f"{name}{end}" for name in known for end in (SI, SPREAD)} | {"kind"}
    names = reader.fieldnames or []
    strange = [name for name in names if name not in known]
    if "kind" not in names or strange or len(set(names)) < len(names):
        fault = (
            f'column "{strange[0]}" is not known' if strange else "has no column kind, or one twice"
        )
        raise InputError(f"{path}: row 1: {fault}", "name the columns as docs/log.md does")
    return list(reader)


def _json(path: Path, text: str) -> list[Row]:
    try:
        data = json.loads(text)
    except ValueError as error:
        raise InputError(f"{path} is no JSON: {error}", "export it again") from None
    if not isinstance(data, dict) or data.get("format") != FORMAT:
        raise InputError(f"{path} is not of the format {FORMAT}", 'give "format" and "entries"')
    rows = data.get("entries")
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise InputError(f"{path} has no list of entries", 'give "entries": [{"kind": …}, …]')
    return rows


def _refuse_suffix(suffix: str) -> None:
    if suffix not in FIRST:
        raise InputError(f'"{suffix}" is no format of the log', "name the file .csv or .json")


def _fault(path: Path, number: int, error: InputError) -> str:
    place = "row" if path.suffix == ".csv" else "entry"
    column = f", column {error.at[0]}" if error.at else ""
    return f"{place} {number}{column}: {error}"
