"""Key press to painted redraw of section, strips and verdict on the nose, in a real Chromium.

A hundred keys in one field. Beside it the same page with an empty plan: every request is
answered in the page itself with a drawing of nothing, which leaves what the page alone takes.
"Processor" is what the worker's own core was busy for: on a loaded machine the rest is waiting.
"""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median
from typing import Any
from urllib.error import URLError
from urllib.request import urlopen

from playwright.sync_api import Page, sync_playwright

ROOT = Path(__file__).resolve().parent.parent
JOB = "plover-nose.toml"
FIELD = "#in-fit-1-mates"
KEYS, WARM = 100, 10
TOOK = ("plan", "draw", "busy")
AIM = 60.0  # ms
FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
]  # fmt: skip
EMPTY = """
const ask = window.fetch;
window.fetch = async (path, rest) => {
  if (!window.empty || !String(path).endsWith("/api/redraw")) return ask(path, rest);
  const { text } = JSON.parse(rest.body);
  const svg = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 880 400"/>';
  const drawings = { section: svg, strips: svg };
  const body = { ...window.empty, text, drawings, took: { plan: 0, draw: 0, busy: 0 } };
  return new Response(JSON.stringify(body), { headers: { "content-type": "application/json" } });
};
"""


def serve(folder: Path) -> tuple[subprocess.Popen[bytes], str]:
    """A bench of its own in a folder, and its address."""
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        port = found.getsockname()[1]
    environment = {**os.environ, "PYTHONPATH": str(ROOT / "src")}
    command = [sys.executable, "-m", "mandrelwright", "bench", "--port", str(port)]
    server = subprocess.Popen(command, cwd=folder, env=environment, stdout=subprocess.DEVNULL)
    address = f"http://127.0.0.1:{port}"
    for _ in range(300):
        try:
            urlopen(address).close()
            break
        except URLError:
            time.sleep(0.2)
    return server, address


def press(page: Page, count: int) -> list[dict[str, Any]]:
    """So many keys, each once the redraw before it is painted; what each took, in ms."""
    page.evaluate("performance.clearMeasures('redraw')")
    for number in range(count):
        page.locator(FIELD).press("End")
        page.locator(FIELD).press("Home")
        for _ in range(5):
            page.locator(FIELD).press("ArrowRight")
        page.locator(FIELD).press("Backspace")
        wait(page, 2 * number + 1)
        page.locator(FIELD).press(str(number % 10))
        wait(page, 2 * number + 2)
    read = "performance.getEntriesByName('redraw').map(e => ({all: e.duration, ...e.detail}))"
    rows: list[dict[str, Any]] = page.evaluate(read)
    return rows[1::2][:count]


def wait(page: Page, count: int) -> None:
    """Until so many redraws are painted; the page's own rules forbid to wait inside it."""
    while page.evaluate("performance.getEntriesByName('redraw').length") < count:
        time.sleep(0.005)


def tell(name: str, rows: list[dict[str, Any]]) -> None:
    """Medians of the whole and of its shares."""
    whole = median(row["all"] for row in rows)
    plan, draw, busy = (1e3 * median(row["took"][key] for row in rows) for key in TOOK)
    way = median(row["received"] for row in rows) - plan - draw
    paint = median(row["all"] - row["received"] for row in rows)
    print(f"{name:12s} {whole:6.0f} ms: plan {plan:.0f}, drawing {draw:.0f}, "
          f"there and back {way:.0f}, painting {paint:.0f}; processor {busy:.0f}")  # fmt: skip


def main() -> None:
    """The nose, then the page alone."""
    with tempfile.TemporaryDirectory() as name, sync_playwright() as driver:
        folder = Path(name)
        shutil.copy(ROOT / "examples" / JOB, folder)
        server, address = serve(folder)
        browser = driver.chromium.launch(executable_path="/usr/bin/chromium", args=FLAGS)
        page = browser.new_page(viewport={"width": 1440, "height": 900})
        page.add_init_script(EMPTY)
        page.goto(f"{address}/job/{JOB}#gate")
        page.wait_for_selector("#all > li")
        press(page, WARM)
        print(f"key press to painted redraw, median of {KEYS}, aim {AIM:.0f} ms on two cores")
        tell("the nose", press(page, KEYS))
        page.evaluate("""window.empty = {
            verdict: {level: "yes", sentence: "Nothing."}, steps: Object.fromEntries(
            [...document.querySelectorAll("[data-step]")].map((a) => [a.dataset.step, [0, 0, 0]])),
            axis: {left: 0, scale: 1, low: 0, tip: 0, base: 1, x: [0, 1], mould: [0, 0],
                   wall: [0, 0], layers: [], gap: []}}""")
        tell("empty plan", press(page, KEYS))
        browser.close()
        server.terminate()


if __name__ == "__main__":
    main()
