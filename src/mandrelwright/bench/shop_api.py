"""What shop mode asks for, as JSON: moulds and parts, the steps, entries in and out."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable
from dataclasses import replace
from typing import Annotated, Literal, TypeVar

from fastapi import APIRouter, HTTPException, Query
from fastapi.responses import Response
from pydantic import Field

from mandrelwright.bench import doubt, redraw
from mandrelwright.bench.folder import JobFolder, NoSuchJobError
from mandrelwright.bench.shop import Doubtful, ShopLogs, told
from mandrelwright.bench.wire import Body, Short, as_json
from mandrelwright.bench.workers import Workers
from mandrelwright.job.values import InputError
from mandrelwright.shop.entries import Entry, Mould, Part, Reading, Weight
from mandrelwright.shop.fields import MOST_TEXT

Name = Annotated[str, Field(min_length=1, max_length=60)]
Answer = TypeVar("Answer")


class BeginBody(Body):
    """Names of a mould and of a part on it; no part while the mould is still made."""

    mould: Name
    part: Annotated[str, Field(max_length=60)] = ""


class RingBody(Body):
    """The ring a reading is of: name, diameter in its print file, plastic."""

    name: Name
    file: Short
    plastic: Name


class EntryBody(Body):
    """An entry with the id and moment the page gave it, and the mould at hand.

    sure: whoever wrote it has been asked, and insists.
    """

    kind: Short
    id: Annotated[str, Field(pattern=r"^[0-9a-f-]{36}$")]
    at: Annotated[str, Field(max_length=40)]
    fields: Annotated[
        dict[Annotated[str, Field(max_length=30)], Annotated[str, Field(max_length=MOST_TEXT)]],
        Field(max_length=20),
    ]
    ring: RingBody | None = None
    mould: Annotated[str, Field(max_length=36)] = ""
    sure: bool = False


class GateBody(Body):
    """Readings of a mould or its part at one stage: mark and measure, repeated as often as read."""

    mould: Short
    stage: Literal["printed", "ready", "part"]
    readings: Annotated[list[Annotated[list[Short], Field(min_length=2, max_length=2)]],
                        Field(min_length=1, max_length=60)]  # fmt: skip


def routes(folder: JobFolder, workers: Workers, logs: ShopLogs) -> APIRouter:
    """All routes under /api/shop."""
    api = APIRouter(prefix="/api/shop")

    @api.get("/{job}")
    def moulds(job: str) -> Response:
        """Moulds of the job's log with their parts."""
        log = _asked(lambda: logs.find(job))
        rows = log.standing() if log else []
        parts = [entry for _, entry in rows if isinstance(entry, Part)]
        return as_json({"moulds": [
            {"id": entry.id, "name": entry.name, "printed_on": entry.printed_on,
             "parts": [{"id": part.id, "name": part.name} for part in parts
                       if part.mould == entry.id]}
            for _, entry in rows if isinstance(entry, Mould)
        ]})  # fmt: skip

    @api.post("/{job}/begin")
    async def begin(job: str, body: BeginBody) -> Response:
        """Begin a mould from the job as it is on disk, or a part on it, or find them again."""
        text = _asked(lambda: folder.load(job))
        about = await workers.run(redraw.facts, folder.path(job), text)
        if "problems" in about:
            raise HTTPException(409, "the job on disk cannot be planned; mend it at the desk")
        return as_json(_asked(lambda: logs.begin(job, body.mould, body.part, about)))

    @api.get("/{job}/steps")
    async def steps(job: str, mould: str) -> Response:
        """The steps of a mould, from the job text it was begun with."""
        begun = _asked(lambda: _mould(logs, job, mould))
        path, text = folder.path(job), begun.job_text
        found = await workers.run(redraw.steps, path, text, begun.name)
        on_disk = _asked(lambda: folder.load(job))
        return as_json({**found, "changed": on_disk != text})

    @api.get("/{job}/entries")
    def entries(job: str, since: Annotated[int, Query(ge=0)] = 0) -> Response:
        """Entries after a number, and this computer's clock in ms."""
        log = _asked(lambda: logs.find(job))
        rows = log.entries(since) if log else []
        return as_json({"entries": [told(row) for row in rows], "now": 1e3 * time.time()})

    @api.post("/{job}/entry")
    async def keep(job: str, body: EntryBody) -> Response:
        """Keep an entry, once however often it is sent; what looks like a slip is asked first."""
        ring = body.ring.model_dump() if body.ring else {}
        given = {**body.fields, "id": body.id, "at": body.at}

        def sent() -> tuple[Entry, Doubtful | None] | str:
            """The entry and what may be doubted of it, or why it is none."""
            try:
                entry = logs.entry(job, body.kind, given, ring)
                return entry, logs.doubtful(job, entry, body.mould)
            except InputError as error:
                return f"{error}."

        found = await asyncio.to_thread(_asked, sent)
        if isinstance(found, str):
            return as_json({"refused": found})
        entry, doubtful = found
        asked = doubtful and await workers.run(doubt.question, folder.path(job), doubtful)
        if asked and not body.sure:
            return as_json({"question": asked.text, "meant": asked.meant})
        if asked and isinstance(entry, Reading | Weight):
            entry = replace(entry, questioned=asked.text)
        number = await asyncio.to_thread(_asked, lambda: logs.keep(job, entry))
        return as_json({"number": number})

    @api.post("/{job}/gate")
    async def gate(job: str, body: GateBody) -> Response:
        """What the readings say to do, by the job text the mould was begun with."""
        begun = _asked(lambda: _mould(logs, job, body.mould))
        taken = [(mark, reads) for mark, reads in body.readings]
        path, text = folder.path(job), begun.job_text
        return as_json(
            await workers.run(redraw.gate, path, text, taken, body.stage, "", begun.name)
        )

    return api


def _mould(logs: ShopLogs, job: str, mould: str) -> Mould:
    """A mould by its id, with the text of the job it was begun with."""
    log = logs.find(job)
    for _, entry in log.standing() if log else []:
        if isinstance(entry, Mould) and entry.id == mould:
            return entry
    raise NoSuchJobError(job)


def _asked(question: Callable[[], Answer]) -> Answer:
    """The answer, or what the log says against it."""
    try:
        return question()
    except NoSuchJobError:
        raise HTTPException(404, "no such job") from None
    except InputError as error:
        raise HTTPException(409, str(error)) from None
