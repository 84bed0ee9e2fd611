"""The web application: one folder of jobs, its pages, its answers, its guard."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, Response
from fastapi.staticfiles import StaticFiles
from starlette.exceptions import HTTPException

from mandrelwright.bench import api, pages, shop_api
from mandrelwright.bench.access import Access
from mandrelwright.bench.alarm import Alarm
from mandrelwright.bench.builds import Builds
from mandrelwright.bench.folder import JobFolder
from mandrelwright.bench.guard import App, Guard
from mandrelwright.bench.shop import ShopLogs
from mandrelwright.bench.workers import Workers

STATIC = Path(__file__).with_name("static")
FONTS = Path(__file__).parents[1] / "out" / "fonts"


def make_app(root: Path, hosts: frozenset[str], access: Access) -> App:
    """The bench over the job files of one folder, called by one of these hosts ("name:port")."""
    workers, builds, folder = Workers(), Builds(), JobFolder(root)
    logs = ShopLogs(folder)

    @asynccontextmanager
    async def life(app: FastAPI) -> AsyncIterator[None]:
        await workers.warmed()
        watching = asyncio.create_task(Alarm(logs).watch())
        yield
        watching.cancel()
        workers.stop()
        builds.stop()
        logs.close()

    app = FastAPI(lifespan=life, docs_url=None, redoc_url=None, openapi_url=None)
    app.include_router(api.routes(folder, workers, builds))
    app.include_router(shop_api.routes(folder, workers, logs))
    app.include_router(pages.routes(folder, access, logs, workers))
    app.mount("/static/fonts", StaticFiles(directory=FONTS), name="fonts")
    app.mount("/static", StaticFiles(directory=STATIC), name="static")
    app.add_exception_handler(RequestValidationError, _unreadable)
    app.add_exception_handler(HTTPException, _plain)
    return Guard(app, hosts, access)


async def _unreadable(request: Request, error: Exception) -> Response:
    """A request that is not what a page of ours sends; nothing of it is repeated."""
    return JSONResponse({"detail": "not a request of this bench"}, 422)


async def _plain(request: Request, error: Exception) -> Response:
    if not isinstance(error, HTTPException):
        return JSONResponse({"detail": "failed"}, 500)
    if request.url.path.startswith("/api"):
        return JSONResponse({"detail": error.detail}, error.status_code)
    return pages.not_found(error.status_code)
