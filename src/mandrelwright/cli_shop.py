"""The verbs of the shop's log: log, import, export."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from mandrelwright.terminal import AsJson, JobPath, LogPlace, errors, print_json, print_lines

if TYPE_CHECKING:
    from mandrelwright.shop.entries import Entry
    from mandrelwright.shop.log import Log


def log(
    job: JobPath,
    log: LogPlace = None,
    since: Annotated[int, typer.Option(min=0, help="Only entries after this number.")] = 0,
    kind: Annotated[str | None, typer.Option(help="Only entries of a kind.")] = None,
    as_json: AsJson = False,
) -> None:
    """List what is in the log: entries, corrections, what looks odd."""
    with errors(as_json), opened(job, log) as shop:
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

    with errors(as_json=False), opened(job, log) as shop:
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

    with errors(as_json), opened(job, log) as shop:
        from mandrelwright.shop.points import SCANS

        if file.suffix.lower() in SCANS:
            tell_kept(
                shop, _scanned(shop, job, file, stage, unit, scanner, mould, part, at), as_json
            )
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
    measuring.keep(entries)
    for line in tell_scan(found):
        typer.echo(line, err=True)
    return entries


@contextmanager
def opened(job: Path, place: str | None) -> Iterator[Log]:
    """The log beside a job, or at another place, closed behind the block."""
    from mandrelwright.job.read import read_job
    from mandrelwright.shop.log import log_beside, open_log

    if place is None:
        read_job(job)  # so that a mistyped job leaves no log behind
    with open_log(place or log_beside(job)) as shop:
        yield shop


def tell_kept(shop: Log, kept: list[Entry], as_json: bool) -> None:
    """Tell what was kept, and what can be decided now."""
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


VERBS: dict[str, Callable[..., None]] = {
    "log": log,
    "import": import_,
    "export": export,
}
