"""The whole story in a real browser: an empty folder, six questions, print files, a gate, a log."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest
import trimesh
from playwright.sync_api import Browser, Page, expect

from mandrelwright import plan_job
from mandrelwright.shop.entries import Reading
from mandrelwright.shop.log import open_log
from tests.browser.conftest import Bench, Watched, serving, watch
from tests.browser.test_shop_mode import PHONE, go_to, in_log

MOST_INPUTS = 6
COUNT = """
globalThis.inputs = new Set();
addEventListener("input", ({ target }) => globalThis.inputs.add(target.name || target.id));
"""


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[Bench]:
    """A bench in a folder that holds nothing."""
    folder = tmp_path / "shop"
    folder.mkdir()
    with serving(folder) as made:
        yield made


def answer(page: Page, bench: Bench) -> int:
    """The questions, as few as a verdict takes; how many inputs that were."""
    page.add_init_script(COUNT)
    page.goto(bench.address)
    expect(page.locator("#new")).to_have_text("Your first part: six questions")
    expect(page.locator(".asked")).to_be_visible()
    for name, text in (("tube", "102.21 mm"), ("coupler", "99.03 mm"), ("length", "392 mm")):
        page.locator(f"[name={name}]").press_sequentially(text)
    expect(page.locator("#verdict")).to_contain_text("Can be made")
    return int(page.evaluate("inputs.size"))


def build(page: Page, job: str) -> zipfile.ZipFile:
    """The files of a build, downloaded."""
    page.fill("#date", "2026-11-25")
    page.click("#build button.main")
    with page.expect_download() as download:
        expect(page.locator("#zip")).to_be_visible(timeout=240_000)
        page.click("#zip")
    files = zipfile.ZipFile(io.BytesIO(download.value.path().read_bytes()))
    wanted = ("mould.3mf", "mould.stl", "build-sheet.pdf", "report.html", f"{job}.toml")
    assert {f"{job}/{name}" for name in wanted} <= set(files.namelist())
    return files


def test_from_an_empty_folder_to_a_logged_reading(empty: Bench, chromium: Browser) -> None:
    desk = watch(chromium.new_context(viewport={"width": 1440, "height": 900}), empty.address)
    page = desk.page
    assert list(empty.folder.iterdir()) == []
    assert answer(page, empty) <= MOST_INPUTS
    expect(page.locator("#facts .value").first).to_contain_text("mm")
    expect(page.locator("#worst > li")).to_have_count(3)
    page.fill("#called", "sanderling")
    page.click("#keep button")
    page.wait_for_url("**/job/sanderling.toml")
    expect(page.locator("#facts .value").first).to_be_visible()

    files = build(page, "sanderling")
    mould = trimesh.load(io.BytesIO(files.read("sanderling/mould.stl")), file_type="stl")
    plan = plan_job(empty.folder / "sanderling.toml")
    assert isinstance(mould, trimesh.Trimesh)
    assert mould.is_watertight
    tall = max(piece.high for piece in plan.segments.pieces)
    assert mould.extents[2] == pytest.approx(tall * 1e3, abs=0.01)

    hand = watch(chromium.new_context(viewport=PHONE, has_touch=True), empty.address)
    at_the_table(hand, empty)
    page.goto(f"{empty.address}/log/sanderling.toml")
    expect(page.locator("main")).to_contain_text("The next mould rests on")
    left = {path.name.partition("-")[0] for path in empty.folder.iterdir()}  # SQLite's -wal, -shm
    assert left == {"sanderling.toml", "sanderling.log.sqlite"}
    for watched in (desk, hand):
        assert watched.errors == []
        assert watched.outside == []
        watched.page.context.close()


def at_the_table(hand: Watched, bench: Bench) -> None:
    """From the first step to the gate of the printed mould, which holds until it is read."""
    phone = hand.page
    phone.goto(f"{bench.address}/shop/sanderling.toml")
    phone.tap("#begin button")
    phone.wait_for_selector("#work:visible")
    go_to(phone, "Read mark A")
    phone.tap("#next")
    expect(phone.locator("#answer")).to_contain_text("The gate wants this reading")
    go_to(phone, "Read mark C")
    aim = phone.inner_text("#told").rpartition("Aim ")[2].split()[0].rstrip(".,")
    phone.fill("#write-0", aim)
    phone.dispatch_event("#write-0", "change")
    expect(phone.locator("#answer")).to_contain_text("aim at")
    in_log(phone)
    with open_log(bench.folder / "sanderling.log.sqlite") as log:
        kept = [row.entry for row in log.entries(kind="reading")]
    assert aim in [entry.reads.text for entry in kept if isinstance(entry, Reading)]
