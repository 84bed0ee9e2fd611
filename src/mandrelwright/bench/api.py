"""What the pages ask for, as JSON. Every answer is made from what the page sends."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any, Literal

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import FileResponse, Response
from pydantic import Field

from mandrelwright.bench import redraw
from mandrelwright.bench.builds import Builds, TooManyBuildsError
from mandrelwright.bench.edits import Edit
from mandrelwright.bench.folder import (
    ChangedOnDiskError,
    JobFolder,
    NoSuchJobError,
    digest_of,
)
from mandrelwright.bench.wire import Body, Short, as_json
from mandrelwright.bench.workers import SupersededError, Workers
from mandrelwright.job.new import RECOMMEND, Answers
from mandrelwright.job.values import MOST_BYTES
from mandrelwright.out.files import OutputError

Text = Annotated[str, Field(max_length=MOST_BYTES)]
Key = Annotated[str, Field(max_length=60)] | Annotated[int, Field(ge=0, le=999)]
Plain = Short | bool | int | float
Date = Annotated[str, Field(pattern=r"^(\d{4}-\d{2}-\d{2})?$")]


class EditBody(Body):
    """One change at a place of the job."""

    do: Literal["set", "unset", "add", "drop", "turn"]
    at: Annotated[list[Key], Field(min_length=1, max_length=8)]
    value: (
        Plain
        | dict[str, Plain | dict[str, Plain]]
        | Annotated[list[Short], Field(min_length=1, max_length=4)]
        | None
    ) = None


class JobBody(Body):
    """A job as the page holds it: the name of its file, its text, the units it is shown in."""

    job: Short
    text: Text
    units: Literal["mm", "in"] = "mm"


class RedrawBody(JobBody):
    """A job and the changes just made; page and number tell the newest from the rest."""

    edits: list[EditBody] = Field(default_factory=list, max_length=50)
    page: Annotated[str, Field(max_length=40)] = ""
    number: Annotated[int, Field(ge=0)] = 0


class AnswersBody(Body):
    """The six answers."""

    tube: Short
    coupler: Short
    shape: Short
    length: Short
    antenna: bool
    speed: Short
    altitude: Short
    plastic: Short
    bed: Annotated[list[Short], Field(min_length=3, max_length=3)]
    sleeve: Short = RECOMMEND
    name: Short = "nose"
    units: Literal["mm", "in"] = "mm"
    page: Annotated[str, Field(max_length=40)] = ""
    number: Annotated[int, Field(ge=0)] = 0

    def answers(self) -> Answers:
        """The same for the job layer."""
        width, depth, height = self.bed
        given = self.model_dump(exclude={"bed", "units", "page", "number"})
        return Answers(**given, bed=(width, depth, height))


class SaveBody(Body):
    """A text to save over the one that was loaded, which is told by its digest."""

    job: Short
    text: Text
    loaded: Annotated[str, Field(pattern=r"^([0-9a-f]{64})?$")]


class GateBody(JobBody):
    """Readings by mark at one stage, and the temperature of what was read."""

    readings: Annotated[dict[Short, Short], Field(max_length=40)]
    stage: Literal["printed", "ready", "part"]
    at: Short = ""


class WhyBody(JobBody):
    """The name of a result."""

    name: Short


class BuildBody(JobBody):
    """A build, with the date for its papers or none."""

    date: Date = ""


def routes(folder: JobFolder, workers: Workers, builds: Builds) -> APIRouter:
    """All routes under /api."""
    api = APIRouter(prefix="/api")

    def path_of(name: str) -> Path:
        try:
            return folder.path(name)
        except NoSuchJobError:
            raise HTTPException(404, "no such job") from None

    @api.get("/jobs")
    def jobs() -> dict[str, list[str]]:
        """Names of the job files in the folder."""
        return {"jobs": folder.names()}

    @api.get("/job/{name}")
    def load(name: str) -> dict[str, str]:
        """The text of a job file and its digest."""
        try:
            text = folder.load(name)
        except NoSuchJobError:
            raise HTTPException(404, "no such job") from None
        return {"text": text, "digest": digest_of(text)}

    @api.post("/save")
    def save(body: SaveBody) -> dict[str, str]:
        """Write a job's text over the one that was loaded, or say what has come between."""
        path_of(body.job)
        try:
            folder.save(body.job, body.text, body.loaded)
        except ChangedOnDiskError as error:
            return {"changed": error.text, "digest": digest_of(error.text) if error.text else ""}
        except NoSuchJobError:
            raise HTTPException(409, "that file is no job") from None
        except OutputError as error:
            raise HTTPException(409, f"{error.reason}. {error.remedy}") from None
        return {"digest": digest_of(body.text)}

    @api.post("/redraw")
    async def draw(body: RedrawBody) -> Response:
        """The edited text with verdict, section, strips and steps, or its problems."""
        edits = [Edit(each.do, tuple(each.at), each.value) for each in body.edits]
        return await _newest(body.page, body.number, redraw.redraw,
                             path_of(body.job), body.text, body.units, edits)  # fmt: skip

    @api.post("/complete")
    async def complete(body: RedrawBody) -> Response:
        """Everything else the page shows of the job."""
        return await _newest(f"{body.page}+", body.number, redraw.complete,
                             path_of(body.job), body.text, body.units)  # fmt: skip

    @api.post("/form")
    async def form(body: JobBody) -> Response:
        """Steps and inputs of the job's text."""
        return as_json(await workers.run(redraw.form, path_of(body.job), body.text))

    @api.post("/first")
    async def first(body: AnswersBody) -> Response:
        """The six answers as a job, and what is told of it."""
        return await _newest(body.page, body.number, redraw.first_job,
                             path_of("new.toml"), body.answers(), body.units)  # fmt: skip

    @api.post("/gate")
    async def gate(body: GateBody) -> Response:
        """What readings of this mould or part say."""
        readings = list(body.readings.items())
        told = await workers.run(
            redraw.gate, path_of(body.job), body.text, readings, body.stage, body.at
        )
        return as_json(told)

    @api.post("/why")
    async def why(body: WhyBody) -> Response:
        """A result back to its inputs and sources."""
        return as_json(await workers.run(redraw.why, path_of(body.job), body.text, body.name))

    @api.post("/pieces")
    async def pieces(body: JobBody) -> Response:
        """The mould's pieces as triangles."""
        return as_json(await workers.run(redraw.pieces, path_of(body.job), body.text))

    @api.post("/build")
    def build(body: BuildBody) -> dict[str, str]:
        """Begin a build; its token."""
        try:
            return {"build": builds.start(path_of(body.job), body.text, body.date)}
        except TooManyBuildsError:
            raise HTTPException(503, "two builds are running; wait for one of them") from None

    @api.get("/build/{token}")
    def look(token: str) -> dict[str, Any]:
        """How a build gets on."""
        told = builds.look(token)
        if told is None:
            raise HTTPException(404, "no such build")
        return told

    @api.get("/build/{token}/zip")
    def bundle(token: str, request: Request) -> FileResponse:
        """All files of a build that is done."""
        path = builds.bundle(token)
        if path is None:
            raise HTTPException(404, "no such build")
        return FileResponse(path, media_type="application/zip", filename="build.zip")

    @api.delete("/build/{token}")
    def cancel(token: str) -> dict[str, str]:
        """End a build and drop what it has written."""
        builds.cancel(token)
        return {}

    async def _newest(page: str, number: int, task: Any, *arguments: Any) -> Response:
        try:
            return as_json(await workers.newest(page, number, task, *arguments))
        except SupersededError:
            return as_json({"superseded": True})

    return api
