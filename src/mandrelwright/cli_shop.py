"""The verbs of the shop: measure, log, import, export."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from mandrelwright.terminal import AsJson, JobPath, LogPlace, errors, print_json, print_lines

if TYPE_CHECKING:
    from mandrelwright.shop.entries import Entry
    from mandrelwright.shop.log import Log
    from mandrelwright.shop.measuring import Measuring

Texts = list[str] | None


def measure(
    job: JobPath,
    mark: Annotated[
        Texts, typer.Option(help='Reading, "A=98.31" (mm) or "A@90=3.871 in"; repeatable.')
    ] = None,
    mould: Annotated[str, typer.Option(help="Its name; the latest unless given.")] = "",
    part: Annotated[str | None, typer.Option(help="A part of that mould, by name.")] = None,
    ring: Annotated[str, typer.Option(help='A ring: "NAME", or "NAME = 99 mm" in its file.')] = "",
    stage: Annotated[str, typer.Option(help="printed, ready, part, …; asked unless given.")] = "",
    at: Annotated[str, typer.Option(help='Temperature when read, "23 degC".')] = "",
    tool: Annotated[str, typer.Option(help='"NAME", or "NAME = 0.02 mm" of a new one.')] = "",
    by: Annotated[str, typer.Option(help="Who reads.")] = "",
    weight: Annotated[Texts, typer.Option(help='"part=151.2 g"; repeatable.')] = None,
    time: Annotated[Texts, typer.Option(help='"lay-up=95 min"; repeatable.')] = None,
    event: Annotated[
        Texts, typer.Option(help='"pulled" or "mended=wet-sanded"; repeatable.')
    ] = None,
    note: Annotated[Texts, typer.Option(help="A note; repeatable.")] = None,
    photo: Annotated[list[Path] | None, typer.Option(help="A photograph; repeatable.")] = None,
    correct: Annotated[Texts, typer.Option(help='Entry put right, "12=98.31"; repeatable.')] = None,
    withdraw: Annotated[list[int] | None, typer.Option(help="Entry taken back, by number.")] = None,
    because: Annotated[str, typer.Option(help="Why it is put right or taken back.")] = "",
    new: Annotated[
        bool, typer.Option("--new", help="Begin a mould with the plan as it is.")
    ] = False,
    yes: Annotated[bool, typer.Option("--yes", help="Keep what looks like a slip.")] = False,
    log: LogPlace = None,
    as_json: AsJson = False,
) -> None:
    """Enter readings, weights, times, events; without any, asks mark by mark."""
    from mandrelwright import plan_job

    changes = bool(correct or withdraw)
    stated = bool(mark or weight or time or event or note or photo)
    with errors(as_json), _opened(job, log) as shop:
        from mandrelwright.shop.measuring import Measuring, known_tool

        known = known_tool(shop, tool) if tool else None
        measuring = Measuring(shop, plan_job(job), by, known)
        kept = _changed(measuring, correct or [], withdraw or [], because)
        if stated or not changes:
            about = _about(measuring, mould, part, ring, stage, new)
            if stated:
                given = _entries(measuring, about, stage, at, mark or [], weight or [], yes)
                given += _plain(measuring, about, time or [], event or [], note or [], photo or [])
                shop.append(given)
                kept += given
            else:
                kept += _ask(measuring, about, stage, at)
        _tell(shop, kept, as_json)


def log(
    job: JobPath,
    log: LogPlace = None,
    since: Annotated[int, typer.Option(min=0, help="Only entries after this number.")] = 0,
    kind: Annotated[str | None, typer.Option(help="Only entries of a kind.")] = None,
    as_json: AsJson = False,
) -> None:
    """List what is in the log: entries, corrections, what looks odd."""
    with errors(as_json), _opened(job, log) as shop:
        from mandrelwright.job.values import InputError
        from mandrelwright.shop.entries import KINDS
        from mandrelwright.shop.exchange import row_of
        from mandrelwright.shop.telling import summary, tell

        if kind is not None and kind not in KINDS:
            raise InputError(f"{kind} is no kind of entry", f"use {', '.join(KINDS)}")
        rows = shop.entries()
        chosen = [row for row in rows if row.number > since and kind in (None, row.entry.kind)]
        if as_json:
            print_json([{"number": number, **row_of(entry)} for number, entry in chosen])
        else:
            wanted = {row.number for row in chosen}
            lines = zip(rows, tell(rows), strict=True)
            print_lines([summary(shop.where, rows)])
            print_lines(line for row, line in lines if row.number in wanted)


def export(
    job: JobPath,
    to: Annotated[Path, typer.Argument(metavar="FILE", help="File to write, .csv or .json.")],
    log: LogPlace = None,
) -> None:
    """Write every entry of the log to a CSV or JSON file; the file must not exist."""
    from mandrelwright.out.files import write_text
    from mandrelwright.terminal import refuse_existing

    with errors(as_json=False), _opened(job, log) as shop:
        from mandrelwright.shop.exchange import export_text

        refuse_existing(to)
        rows = shop.entries()
        write_text(to, export_text((row.entry for row in rows), to.suffix))
    typer.echo(f"Wrote {len(rows)} entries to {to}.")


def import_(
    job: JobPath,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="CSV or JSON, or a scan: STL, xyz.")],
    stage: Annotated[str, typer.Option(help="Of a scan: printed, ready, part, …")] = "",
    unit: Annotated[str, typer.Option(help="Of a scan: mm, cm, m or in; no file says it.")] = "",
    scanner: Annotated[
        str, typer.Option(help="Of a scan: standard uncertainty of a diameter by the machine.")
    ] = "0.05 mm",
    mould: Annotated[str, typer.Option(help="Of a scan: its name; the latest if none.")] = "",
    part: Annotated[str, typer.Option(help="Of a scan: a part of that mould, by name.")] = "",
    at: Annotated[str, typer.Option(help='Of a scan: temperature of the thing, "23 degC".')] = "",
    log: LogPlace = None,
    as_json: AsJson = False,
) -> None:
    """Bring a CSV or JSON file into the log, or a scan as readings; all or nothing, none twice."""
    from mandrelwright.job.read import read_job

    with errors(as_json), _opened(job, log) as shop:
        from mandrelwright.shop.points import SCANS

        if file.suffix.lower() in SCANS:
            _tell(shop, _scanned(shop, job, file, stage, unit, scanner, mould, part, at), as_json)
            return
        from mandrelwright.shop.exchange import import_file

        new, known = import_file(shop, file, read_job(job).part.name)
    if as_json:
        print_json({"new": new, "known": known})
    else:
        typer.echo(f"{new} new entries, {known} known before.")


def _scanned(
    shop: Log,
    job: Path,
    file: Path,
    stage: str,
    unit: str,
    scanner: str,
    mould: str,
    part: str,
    at: str,
) -> list[Entry]:
    """A scan and its readings, kept; the terminal hears what they rest on."""
    from mandrelwright import plan_job
    from mandrelwright.shop.fields import measure
    from mandrelwright.shop.measuring import Measuring, is_of_part
    from mandrelwright.shop.points import read_points
    from mandrelwright.shop.scan import (
        read_scan,
        refuse_again,
        scan_entries,
        stage_of,
        tell_scan,
    )

    stage_known = stage_of(stage)
    points = read_points(file, unit)
    plan = plan_job(job)
    warm = measure(at, "temperature").value if at else None
    found = read_scan(plan, points, stage_known, warm, measure(scanner, "length").value)
    measuring = Measuring(shop, plan)
    about = measuring.mould(mould)
    if is_of_part(stage_known):
        about = measuring.part(about, part)
    refuse_again(shop, about, file)
    entries = scan_entries(found, about, file, at)
    shop.append(entries)
    for line in tell_scan(found):
        typer.echo(line, err=True)
    return entries


@contextmanager
def _opened(job: Path, place: str | None) -> Iterator[Log]:
    from mandrelwright.job.read import read_job
    from mandrelwright.shop.log import log_beside, open_log

    if place is None:
        read_job(job)  # so that a mistyped job leaves no log behind
    with open_log(place or log_beside(job)) as shop:
        yield shop


def _about(
    measuring: Measuring, mould: str, part: str | None, ring: str, stage: str, new: bool
) -> Entry:
    """The mould, part or ring that is measured."""
    from mandrelwright.shop.measuring import is_of_part

    if ring:
        name, _, file = (piece.strip() for piece in ring.partition("="))
        return measuring.ring(name, file)
    about = measuring.mould(mould, new)
    return measuring.part(about, part or "") if part is not None or is_of_part(stage) else about


def _entries(
    measuring: Measuring,
    about: Entry,
    stage: str,
    at: str,
    marks: list[str],
    weights: list[str],
    yes: bool,
) -> list[Entry]:
    """Readings and weights, each questioned where it looks like a slip."""
    out: list[Entry] = []
    usual = {"part": "part", "coupon": "ring"}.get(about.kind, "ready")
    for text in marks:
        name, reads = _pair(text, "A=98.31")
        mark, _, angle = (piece.strip() for piece in name.partition("@"))
        more = {"angle": angle, "temperature": at}
        read = measuring.reading(about, stage or usual, mark, reads, yes, **more)
        same = sum(getattr(entry, "mark", "") == read.mark for entry in out)
        out.append(replace(read, repeat=read.repeat + same))
    pairs = [_pair(text, "part=151.2 g") for text in weights]
    return out + [measuring.weight(about, what, reads, yes) for what, reads in pairs]


def _plain(
    measuring: Measuring,
    about: Entry,
    times: list[str],
    events: list[str],
    notes: list[str],
    photos: list[Path],
) -> list[Entry]:
    """Times, events, notes and photographs."""
    from mandrelwright.shop.entries import make
    from mandrelwright.shop.log import links, photo_of

    head = {**links(about), "by": measuring.by}
    pairs = [_pair(text, "lay-up=95 min") for text in times]
    out = [make("time", **head, what=what, took=took) for what, took in pairs]
    happened = [text.partition("=") for text in events]
    out += [make("event", **head, what=what.strip(), text=text) for what, _, text in happened]
    out += [make("note", **head, text=text) for text in notes]
    return out + [make("photo", **head, **photo_of(path)) for path in photos]


def _changed(
    measuring: Measuring, corrected: list[str], taken: list[int], because: str
) -> list[Entry]:
    """Corrections and withdrawals by number."""
    from mandrelwright.job.values import InputError

    out = []
    for text in corrected:
        number, reads = _pair(text, "12=98.31")
        if not number.isdecimal():
            raise InputError(f'"{number}" is no number of an entry', "write 12=98.31")
        old = measuring.log.found(int(number))
        if not hasattr(old, "reads"):
            raise InputError(f"entry {number} is a {old.kind}", "withdraw it and enter it anew")
        out.append(measuring.log.correct(old, because, reads=reads, by=measuring.by))
    found = [measuring.log.found(number) for number in taken]
    return out + [measuring.log.withdraw(old, because, by=measuring.by) for old in found]


def _ask(measuring: Measuring, about: Entry, stage: str, at: str) -> list[Any]:
    """Guided entry."""
    from mandrelwright.asking import Round, ask_stage, ask_temperature
    from mandrelwright.shop.measuring import is_of_part

    stage = stage or ("ring" if about.kind == "coupon" else ask_stage())
    if is_of_part(stage) and about.kind == "mould":
        about = measuring.part(about)
    typer.echo(
        f"\n{measuring.plan.job.part.name} · {about.kind} {getattr(about, 'name', '')} · {stage}"
    )
    return Round(measuring, about, stage, at or ask_temperature()).run()


def _tell(shop: Log, kept: list[Entry], as_json: bool) -> None:
    from mandrelwright.shop.exchange import row_of
    from mandrelwright.shop.telling import tell

    ids = {entry.id for entry in kept}
    rows = shop.entries()
    if as_json:
        print_json([{"number": n, **row_of(entry)} for n, entry in rows if entry.id in ids])
        return
    print_lines([f"\nKept in {shop.where}:" if kept else "Nothing was kept."])
    lines = zip(rows, tell(rows), strict=True)
    print_lines(line for row, line in lines if row.entry.id in ids)
    decided = [e for e in kept if getattr(e, "stage", "") in GATED and e.mould]
    if decided:
        mould, stage = _name_of(shop, decided[0].mould), getattr(decided[0], "stage", "")
        print_lines([f"What to do with it: mw gate JOB --mould {mould} --stage {stage}"])


GATED = ("printed", "ready", "part")  # stages that leave something to decide


def _name_of(shop: Log, key: str | None) -> str:
    return str(getattr(shop.found(key), "name", ""))


def _pair(text: str, like: str) -> tuple[str, str]:
    from mandrelwright.job.values import InputError

    name, mark, value = (piece.strip() for piece in text.partition("="))
    if not (name and mark and value):
        raise InputError(f'"{text}" lacks its name or value', f'write it like "{like}"')
    return name, value


VERBS: dict[str, Callable[..., None]] = {
    "measure": measure,
    "log": log,
    "import": import_,
    "export": export,
}
