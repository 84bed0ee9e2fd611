"""The verb that fills the log: measure, by options or asked."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from mandrelwright.cli_shop import opened, tell_kept
from mandrelwright.terminal import AsJson, JobPath, LogPlace, errors

if TYPE_CHECKING:
    from mandrelwright.shop.entries import Entry, Reading
    from mandrelwright.shop.measuring import Measuring

Texts = list[str] | None
LIKE = "slow = L123, opened 2026-10-05"


def measure(
    job: JobPath,
    mark: Annotated[
        Texts, typer.Option(help='Reading, "A=98.31", "A@90=3.871 in", "B=wall 1.47"; repeatable.')
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
    amount: Annotated[str, typer.Option(help="What the event changed on the diameter.")] = "",
    cost: Annotated[str, typer.Option(help="What the event cost, in your own money.")] = "",
    resin: Annotated[str, typer.Option(help=f'The lot of the part, "{LIKE}".')] = "",
    sleeve: Annotated[Texts, typer.Option(help='A lot, "big glass = roll 7"; repeatable.')] = None,
    mate: Annotated[str, typer.Option(help="Diameter of the mate the part is tried on.")] = "",
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
    """Enter readings, weights, times, events, lots; without any, asks mark by mark."""
    from mandrelwright import plan_job

    changes = bool(correct or withdraw)
    stated = bool(mark or weight or time or event or note or photo or mate)
    lots = bool(resin or sleeve)
    with errors(as_json), opened(job, log) as shop:
        from mandrelwright.shop.lots import of_part
        from mandrelwright.shop.measuring import Measuring, known_tool

        known, new_tool = known_tool(shop, tool) if tool else (None, [])
        measuring = Measuring(shop, plan_job(job), by, known, new_tool)
        kept: list[Entry] = []
        given = _changed(measuring, correct or [], withdraw or [], because, yes)
        if not (stated or lots or changes):
            from mandrelwright.asking import ask

            kept += ask(
                measuring,
                lambda of: _about(measuring, mould, part, ring, of, new),
                "ring" if ring else stage,
                at,
            )
        of_lots, of_resin, of_sleeves = _lots(measuring, resin, sleeve or [])
        given += of_lots
        if stated or (lots and part is not None):
            about = _about(measuring, mould, part, ring, stage, new)
            given += _entries(measuring, about, stage, at, mark or [], weight or [], yes)
            given += _plain(measuring, about, time or [], note or [], photo or [])
            given += _events(measuring, about, event or [], amount, cost)
            given += of_part(about, of_resin, of_sleeves, mate, by)
        measuring.keep(given)
        tell_kept(shop, kept + given, as_json)


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
    out: list[Reading] = []
    usual = {"part": "part", "coupon": "ring"}.get(about.kind, "ready")
    for text in marks:
        name, reads = _pair(text, "A=98.31")
        mark, _, angle = (piece.strip() for piece in name.partition("@"))
        more = {"angle": angle, "temperature": at}
        read = measuring.reading(about, stage or usual, mark, reads, yes, **more)
        same = sum((other.mark, other.of) == (read.mark, read.of) for other in out)
        out.append(replace(read, repeat=read.repeat + same))
    pairs = [_pair(text, "part=151.2 g") for text in weights]
    return [*out, *(measuring.weight(about, what, reads, yes) for what, reads in pairs)]


def _plain(
    measuring: Measuring,
    about: Entry,
    times: list[str],
    notes: list[str],
    photos: list[Path],
) -> list[Entry]:
    """Times, notes and photographs."""
    from mandrelwright.shop.entries import make
    from mandrelwright.shop.log import links, photo_of

    head = {**links(about), "by": measuring.by}
    pairs = [_pair(text, "lay-up=95 min") for text in times]
    out = [make("time", **head, what=what, took=took) for what, took in pairs]
    out += [make("note", **head, text=text) for text in notes]
    return out + [make("photo", **head, **photo_of(path)) for path in photos]


def _events(
    measuring: Measuring, about: Entry, events: list[str], amount: str, cost: str
) -> list[Entry]:
    """What happened; what it changed and cost belongs to one event."""
    from mandrelwright.job.values import InputError
    from mandrelwright.shop.entries import make
    from mandrelwright.shop.log import links

    if (amount or cost) and len(events) != 1:
        told = f"amount and cost are given for {len(events)} events"
        raise InputError(told, 'give them with one: --event "mended=sanded" --amount "-0.05 mm"')
    head = {**links(about), "by": measuring.by, "amount": amount, "cost": cost}
    happened = [text.partition("=") for text in events]
    return [make("event", **head, what=what.strip(), text=text) for what, _, text in happened]


def _lots(
    measuring: Measuring, resin: str, sleeves: list[str]
) -> tuple[list[Entry], Entry | None, list[Entry]]:
    """What is to be kept of lots, the resin's lot, the sleeves' lots."""
    from mandrelwright.shop.lots import find_lot

    kept: list[Entry] = []
    found: list[Entry] = []
    for kind, text in [("resin", resin)] * bool(resin) + [("sleeve", text) for text in sleeves]:
        lot, news = find_lot(measuring.log, kind, text, measuring.by)
        kept += news
        found.append(lot)
    return (kept, found[0], found[1:]) if resin else (kept, None, found)


def _changed(
    measuring: Measuring, corrected: list[str], taken: list[int], because: str, yes: bool
) -> list[Entry]:
    """Corrections and withdrawals by number, with their reason; a slip is questioned here too."""
    from mandrelwright.job.values import InputError
    from mandrelwright.shop.entries import Reading, Weight, make

    out: list[Entry] = []
    for text in corrected:
        number, reads = _pair(text, "12=98.31")
        if not number.isdecimal():
            raise InputError(f'"{number}" is no number of an entry', "write 12=98.31")
        old = measuring.log.found(int(number))
        if not isinstance(old, Reading | Weight):
            raise InputError(f"entry {number} is a {old.kind}", "withdraw it and enter it anew")
        out.append(measuring.corrected(old, because, reads, yes))
    head = {"because": because, "by": measuring.by}
    found = [measuring.log.found(number) for number in taken]
    if (corrected or taken) and not because:
        told = "a correction or withdrawal says why"
        raise InputError(told, 'give --because "digits exchanged"')
    return out + [make("withdrawal", **head, replaces=old.id) for old in found]


def _pair(text: str, like: str) -> tuple[str, str]:
    from mandrelwright.job.values import InputError

    name, mark, value = (piece.strip() for piece in text.partition("="))
    if not (name and mark and value):
        raise InputError(f'"{text}" lacks its name or value', f'write it like "{like}"')
    return name, value
