"""The pages: first screen, design, documentation, access; each an HTML file with modules."""

from __future__ import annotations

import asyncio
import re
from functools import cache
from pathlib import Path
from typing import Any

import jinja2
from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse, JSONResponse, RedirectResponse, Response
from markupsafe import Markup
from pydantic import BaseModel, ConfigDict, Field

from mandrelwright import __version__
from mandrelwright.bench import redraw
from mandrelwright.bench.access import LASTS, Access, TooManyTriesError
from mandrelwright.bench.folder import JobFolder, NoSuchJobError
from mandrelwright.bench.guard import COOKIE
from mandrelwright.bench.log_page import page_of as log_of
from mandrelwright.bench.manual import page_of, pages_of
from mandrelwright.bench.shop import ShopLogs
from mandrelwright.bench.steps import STEPS, WAITING
from mandrelwright.bench.workers import Workers
from mandrelwright.job.materials import load_library
from mandrelwright.job.new import ALTITUDES, RECOMMEND, SHAPES, SPEEDS
from mandrelwright.shop.log import LogError

_MINUS = re.compile(r"(?<![\w-])-(?=\d)")
TEMPLATES = Path(__file__).with_name("templates")
COPIED = Path(__file__).with_name("static") / "copied"


class CodeBody(BaseModel):
    """What was typed as access code."""

    model_config = ConfigDict(extra="forbid", strict=True)

    code: str = Field(max_length=40)


def routes(folder: JobFolder, access: Access, logs: ShopLogs, workers: Workers) -> APIRouter:
    """Every page."""
    router = APIRouter(default_response_class=HTMLResponse)

    @router.get("/")
    def first() -> Response:
        """The six questions, and the jobs that are in the folder."""
        library = load_library()
        return _page(
            "first.html", jobs=folder.names(), folder=folder.root.name, shapes=SHAPES,
            speeds=list(SPEEDS), altitudes=list(ALTITUDES), plastics=list(library.plastics),
            sleeves=[RECOMMEND, *library.sleeves],
        )  # fmt: skip

    @router.get("/job/{name}")
    def design(name: str) -> Response:
        """The design page of a job."""
        try:
            folder.load(name)
        except NoSuchJobError:
            raise HTTPException(404) from None
        solid = (COPIED / "three.module.js").is_file()
        return _page("design.html", job=name, steps=STEPS, waiting=WAITING, solid=solid)

    @router.get("/shop/{name}")
    def shop(name: str) -> Response:
        """The steps of a job at the table, on a phone."""
        try:
            folder.load(name)
        except NoSuchJobError:
            raise HTTPException(404) from None
        return _page("shop.html", job=name)

    @router.get("/log/{name}")
    async def log(name: str) -> Response:
        """What the log of a job holds, and what it teaches of the next mould."""
        try:
            text = folder.load(name)
            found = await asyncio.to_thread(lambda: log_of(logs.find(name)))
        except NoSuchJobError:
            raise HTTPException(404) from None
        except LogError as error:
            none: dict[str, Any] = {**log_of(None), "lines": [], "chart": ""}
            return _page("log.html", 503, job=name, problem=str(error), **none)
        taught: dict[str, Any] = {}
        if found["moulds"]:
            taught = await workers.run(redraw.learnt, folder.path(name), text)
        lines, chart = (
            [_MINUS.sub("−", line) for line in taught.get("lines", [])],
            Markup(taught.get("chart", "")),
        )
        return _page("log.html", job=name, problem="", **found, lines=lines, chart=chart)

    @router.get("/manual")
    def manual() -> Response:
        """The index of the documentation."""
        return RedirectResponse("/manual/index")

    @router.get("/manual/{name}")
    def manual_page(name: str) -> Response:
        """One page of the documentation."""
        html = page_of(name)
        if html is None:
            raise HTTPException(404)
        return _page("manual.html", body=Markup(html), name=name, pages=pages_of())

    @router.get("/enter")
    def ask_code() -> Response:
        """Where the access code is typed."""
        return _page("enter.html")

    @router.post("/enter")
    def enter(body: CodeBody, request: Request) -> Response:
        """Let in whoever knows the code."""
        who = request.client.host if request.client else ""
        try:
            session = access.enter(body.code, who)
        except TooManyTriesError as error:
            wait = {"retry-after": f"{error.wait:.0f}"}
            return JSONResponse({"detail": f"too many tries; {error}"}, 429, wait)
        if session is None:
            return JSONResponse({"detail": "that is not the code"}, 403)
        answer = JSONResponse({})
        answer.set_cookie(COOKIE, session, max_age=int(LASTS), httponly=True, samesite="strict")
        return answer

    return router


def not_found(status: int) -> Response:
    """A page that says there is none."""
    return _page("missing.html", status, status=status)


def _page(template: str, code: int = 200, **values: Any) -> Response:
    return HTMLResponse(
        _templates().get_template(template).render(version=__version__, **values), code
    )


@cache
def _templates() -> jinja2.Environment:
    return jinja2.Environment(
        loader=jinja2.FileSystemLoader(TEMPLATES), autoescape=True, trim_blocks=True,
        lstrip_blocks=True, undefined=jinja2.StrictUndefined,
    )  # fmt: skip
