"""A real server in a folder of its own, and a real Chromium that tells whatever goes wrong."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlsplit

import httpx
import pytest
from playwright.sync_api import (
    Browser,
    BrowserContext,
    Page,
    Request,
    expect,
    sync_playwright,
)

ROOT = Path(__file__).resolve().parents[2]
STARTS = 90.0  # s for a server on a loaded machine
ENDS = 15.0  # s until nothing is left of it
expect.set_options(timeout=45_000)  # ms: two cores, two test processes, each with a browser
FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--enable-unsafe-swiftshader",
]  # fmt: skip


def npm_should_be_here() -> bool:
    """Whether set-up finds npm, or may install it as it does the rest."""
    may = os.geteuid() == 0 and shutil.which("apt-get") is not None
    return may or shutil.which("npm") is not None


@dataclass
class Bench:
    """A running bench: where it is called, and the folder of its jobs."""

    address: str
    folder: Path

    @property
    def headers(self) -> dict[str, str]:
        """What a page of its own sends."""
        return {"origin": self.address, "content-type": "application/json"}


@dataclass
class Watched:
    """A page with all that went wrong on it."""

    page: Page
    errors: list[str] = field(default_factory=list)
    outside: list[str] = field(default_factory=list)


def free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


def runs(pid: int) -> bool:
    """Whether a process is at work; one that has ended and is only not yet buried is not."""
    try:
        return bool(Path(f"/proc/{pid}/cmdline").read_bytes())
    except OSError:
        return False


def children(pid: int) -> list[int]:
    """Processes that a process has started; none where the system does not tell."""
    told = Path(f"/proc/{pid}/task/{pid}/children")
    return [int(each) for each in told.read_text().split()] if told.exists() else []


@contextmanager
def serving(folder: Path) -> Iterator[Bench]:
    """`mw bench`, started in a folder; what it told holds no traceback."""
    port = free_port()
    command = [sys.executable, "-W", "error", "-m", "mandrelwright", "bench", "--port", str(port)]
    log = folder.parent / f"{folder.name}.log"
    with log.open("w") as out:
        source = os.pathsep.join([str(ROOT / "src"), os.environ.get("PYTHONPATH", "")])
        environment = {**os.environ, "PYTHONPATH": source}
        server = subprocess.Popen(command, cwd=folder, stdout=out, stderr=out, env=environment)
    made = Bench(f"http://127.0.0.1:{port}", folder)
    until = time.monotonic() + STARTS
    while time.monotonic() < until:
        try:
            httpx.get(made.address, timeout=5.0)
            break
        except httpx.TransportError:
            assert server.poll() is None, log.read_text()
            time.sleep(0.2)
    yield made
    started = children(server.pid)
    server.terminate()
    server.wait(STARTS)
    until = time.monotonic() + ENDS
    while left := [pid for pid in started if runs(pid)]:
        assert time.monotonic() < until, f"left behind: {left}"
        time.sleep(0.1)
    told = log.read_text()
    assert "Traceback" not in told, told


@pytest.fixture(scope="session")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    folder = tmp_path_factory.mktemp("jobs")
    for path in (ROOT / "examples").iterdir():
        if path.is_file():
            shutil.copy(path, folder)
    with serving(folder) as made:
        yield made


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    path = shutil.which("chromium")
    if path is None and os.geteuid() == 0:
        for command in (
            ["apt-get", "update", "-qq"],
            ["apt-get", "install", "-y", "-qq", "chromium"],
        ):
            subprocess.run(command, check=True, capture_output=True)
        path = shutil.which("chromium")
    assert path is not None, "the browser tests need Chromium: apt-get install chromium"
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=path, args=FLAGS)
        yield browser
        browser.close()


def watch(context: BrowserContext, address: str) -> Watched:
    """A page whose console errors and requests to other servers are kept."""
    page = context.new_page()
    page.set_default_timeout(60_000)
    watched = Watched(page)

    def asked(request: Request) -> None:
        by_network = urlsplit(request.url).scheme in ("http", "https", "ws", "wss")
        if by_network and not request.url.startswith(address):
            watched.outside.append(request.url)

    page.on("request", asked)
    page.on("pageerror", lambda error: watched.errors.append(str(error)))
    page.on("console", lambda m: watched.errors.append(m.text) if m.type == "error" else None)
    return watched


@pytest.fixture
def watched(bench: Bench, chromium: Browser) -> Iterator[Watched]:
    context = chromium.new_context(viewport={"width": 1440, "height": 900})
    made = watch(context, bench.address)
    yield made
    context.close()
    assert made.errors == []
    assert made.outside == []
