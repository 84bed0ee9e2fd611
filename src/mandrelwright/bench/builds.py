"""Builds in processes of their own: progress, cancel, and one zip to carry away."""

from __future__ import annotations

import secrets
import shutil
import tempfile
import time
import zipfile
from dataclasses import dataclass
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any

AT_ONCE, KEPT = 2, 6  # builds that run, and finished ones that wait to be fetched
LASTS = 3600.0  # s after which a build is thrown away
USUAL_FILES = 24  # of a build, for a bar that moves before the number is known


class TooManyBuildsError(RuntimeError):
    """As many builds run as this computer bears."""


@dataclass
class Build:
    """One build: where it works, what it has told so far, how it ended ("" while it runs)."""

    folder: Path
    process: BaseProcess
    news: Connection
    began: float
    files: list[str]
    ended: str = ""
    said: str = ""


class Builds:
    """The builds of this bench, by a token that only their page knows."""

    def __init__(self) -> None:
        self._builds: dict[str, Build] = {}
        self._context = get_context("spawn")

    def start(self, path: Path, text: str, date: str) -> str:
        """Begin a build of a job's text; raises TooManyBuildsError."""
        self._tidy()
        if sum(self._read(build).ended == "" for build in self._builds.values()) >= AT_ONCE:
            raise TooManyBuildsError
        folder = Path(tempfile.mkdtemp(prefix="mw-bench-"))
        news, tell = self._context.Pipe(duplex=False)
        process = self._context.Process(
            target=_build, args=(path, text, date, folder, tell), daemon=True
        )
        process.start()
        tell.close()
        token = secrets.token_urlsafe(16)
        self._builds[token] = Build(folder, process, news, time.monotonic(), [])
        return token

    def look(self, token: str) -> dict[str, Any] | None:
        """How a build gets on: its files so far, a share of 1, how it ended; None if unknown."""
        build = self._builds.get(token)
        if build is None:
            return None
        self._read(build)
        share = 1.0 if build.ended == "done" else min(len(build.files) / USUAL_FILES, 0.97)
        return {"files": build.files, "share": share, "ended": build.ended, "said": build.said}

    def bundle(self, token: str) -> Path | None:
        """The zip of a build that is done."""
        build = self._builds.get(token)
        if build is None or self._read(build).ended != "done":
            return None
        return build.folder / "build.zip"

    def cancel(self, token: str) -> None:
        """End a build and drop all it has written."""
        build = self._builds.pop(token, None)
        if build is not None:
            _drop(build)

    def stop(self) -> None:
        """End all builds."""
        for token in list(self._builds):
            self.cancel(token)

    def _read(self, build: Build) -> Build:
        while not build.ended:
            try:
                if not build.news.poll():
                    break
                kind, text = build.news.recv()
            except (EOFError, OSError):
                kind, text = "failed", "the build ended before it was done"
            if kind == "file":
                build.files.append(text)
            else:
                build.ended, build.said = kind, text
        return build

    def _tidy(self) -> None:
        now = time.monotonic()
        for token, build in list(self._builds.items()):
            if now - build.began > LASTS:
                self.cancel(token)
        done = [token for token, build in self._builds.items() if build.ended]
        for token in done[: max(len(done) - KEPT, 0)]:
            self.cancel(token)


def _drop(build: Build) -> None:
    if build.process.is_alive():
        build.process.terminate()
    build.process.join(5.0)
    build.news.close()
    shutil.rmtree(build.folder, ignore_errors=True)


def _build(path: Path, text: str, date: str, folder: Path, tell: Connection) -> None:
    """In a process of its own: plan, build, zip; tells files, then how it ended."""
    from mandrelwright.job.corrections import read_corrections
    from mandrelwright.job.problems import JobError
    from mandrelwright.job.read import job_of, library_of
    from mandrelwright.job.values import InputError
    from mandrelwright.out.build import build
    from mandrelwright.out.files import OutputError
    from mandrelwright.plan import make_plan
    from mandrelwright.stages.layers import PlanError

    try:
        job = job_of(path, text.encode())
        plan = make_plan(job, library_of(job), corrections=read_corrections(path))
        made = folder / path.stem
        names = build(plan, made, lambda name: tell.send(("file", name)), date)
        with zipfile.ZipFile(folder / "build.zip", "w", zipfile.ZIP_DEFLATED, compresslevel=1) as z:
            for name in names:
                z.write(made / name, f"{path.stem}/{name}")
            z.writestr(f"{path.stem}/{path.name}", text)
        kept = "A stop stands: drawings and report only, nothing that could be made."
        tell.send(("done", kept if plan.stops else ""))
    except (JobError, InputError, PlanError) as error:
        tell.send(("failed", str(error)))
    except OutputError as error:
        tell.send(("failed", f"{error.reason}. {error.remedy}"))
