"""The design page in a real browser: changes, faults, undo, saving, two people, one cursor."""

from __future__ import annotations

import re
import shutil
import tomllib
from collections.abc import Iterator

import httpx
import pytest
from playwright.sync_api import Browser, Page, expect

from mandrelwright.bench.folder import digest_of
from tests.browser.conftest import ROOT, Bench, Watched, npm_should_be_here, watch


def open_job(page: Page, bench: Bench, job: str, step: str = "shape") -> None:
    page.goto(f"{bench.address}/job/{job}#{step}")
    expect(page.locator("#facts dd.value").first).to_be_visible()
    expect(page.locator("#step-title")).not_to_be_empty()


@pytest.fixture
def own(bench: Bench, request: pytest.FixtureRequest) -> Iterator[str]:
    """A job of the test's own."""
    name = f"{request.node.originalname.replace('_', '-')[:50]}.toml"
    shutil.copy(ROOT / "examples" / "plover-nose.toml", bench.folder / name)
    yield name
    (bench.folder / name).unlink()


def test_a_gate_takes_readings_and_refuses_what_is_none(bench: Bench, watched: Watched) -> None:
    page = watched.page
    open_job(page, bench, "plover-nose.toml", "gate")
    expect(page.locator("#gate-A-lies")).to_contain_text("coupler, 47 mm from the base")
    aim = page.locator("#facts .value").first.inner_text().split()[0]
    page.fill("[data-mark=A]", f"{aim} mm")
    page.click("#readings button")
    expect(page.locator(".answer-gate")).to_contain_text("Fits")
    page.fill("[data-mark=A]", "twelve")
    page.click("#readings button")
    expect(page.locator("#readings .bad")).to_contain_text("Do:")


def test_a_key_redraws_and_a_wrong_one_is_told_at_its_field(
    bench: Bench, watched: Watched, own: str
) -> None:
    page = watched.page
    open_job(page, bench, own, "gate")
    before = page.locator("#section").inner_html()
    page.fill("#in-fit-1-mates", "98.80 mm +- 0.02 mm")
    expect(page.locator("#section text", has_text="mate ø 98.80")).to_be_visible()
    assert page.locator("#section").inner_html() != before
    page.fill("#in-fit-1-mates", "98.80 furlong")
    expect(page.locator("[data-field='fit[1].mates'] .wrong")).to_contain_text("Do:")
    expect(page.locator("#verdict")).to_contain_text("fit[1].mates")
    page.keyboard.press("Control+z")
    expect(page.locator("#in-fit-1-mates")).to_have_value("99.03 mm +- 0.02 mm")
    page.keyboard.press("Control+y")
    expect(page.locator("#in-fit-1-mates")).to_have_value("98.80 furlong")
    page.keyboard.press("Control+z")
    expect(page.locator("#save")).to_be_disabled()


def test_saving_keeps_comments_and_a_reload_keeps_what_was_not_saved(
    bench: Bench, watched: Watched, own: str
) -> None:
    page, path = watched.page, bench.folder / own
    before = path.read_text("utf-8")
    open_job(page, bench, own, "mould")
    page.fill("#in-mould-vent", "4 mm")
    expect(page.locator("#state")).to_have_text("not saved yet")
    page.reload()
    expect(page.locator("#state")).to_contain_text("before the reload")
    expect(page.locator("#in-mould-vent")).to_have_value("4 mm")
    assert path.read_text("utf-8") == before
    page.keyboard.press("Control+s")
    expect(page.locator("#state")).to_have_text(re.compile("^saved"))
    assert path.read_text("utf-8") == before.replace('vent = "3 mm"', 'vent = "4 mm"')


def test_two_people_at_one_job_are_shown_the_difference(
    bench: Bench, watched: Watched, chromium: Browser, own: str
) -> None:
    one = watched.page
    context = chromium.new_context()
    two = watch(context, bench.address)
    for page in (one, two.page):
        open_job(page, bench, own, "mould")
    one.fill("#in-mould-vent", "4 mm")
    two.page.fill("#in-mould-pull-rod", "8 mm")
    expect(one.locator("#save")).to_be_enabled()
    one.click("#save")
    expect(one.locator("#state")).to_have_text(re.compile("^saved"))
    expect(two.page.locator("#save")).to_be_enabled()
    two.page.click("#save")
    expect(two.page.locator("#difference")).to_be_visible()
    expect(two.page.locator("#lines .gone", has_text='vent = "4 mm"')).to_be_visible()
    expect(two.page.locator("#lines .come", has_text='pull_rod = "8 mm"')).to_be_visible()
    data = tomllib.loads((bench.folder / own).read_text("utf-8"))
    assert (data["mould"]["vent"], data["mould"]["pull_rod"]) == ("4 mm", "10.2 mm")
    two.page.click("#take")
    expect(two.page.locator("#in-mould-vent")).to_have_value("4 mm")
    assert two.errors == []
    context.close()


def test_rows_are_added_and_removed(bench: Bench, watched: Watched, own: str) -> None:
    page = watched.page
    open_job(page, bench, own, "radio")
    page.get_by_role("button", name="antenna", exact=True).click()
    expect(page.locator("#in-antenna-3-name")).to_be_visible()
    page.get_by_role("button", name="Remove antenna 1: position").click()
    expect(page.locator("#in-antenna-3-name")).to_have_count(0)
    page.click("#undo")
    expect(page.locator("#in-antenna-3-name")).to_be_visible()


def test_one_cursor_runs_through_section_and_strips_by_keyboard_too(
    bench: Bench, watched: Watched
) -> None:
    page = watched.page
    open_job(page, bench, "plover-nose.toml")
    page.focus("#along")
    for _ in range(3):
        page.keyboard.press("ArrowLeft")
    said = page.locator("#along").get_attribute("aria-valuetext") or ""
    assert "from the base" in said
    assert "wall" in said
    line, drawn = (page.locator(f"#{name}").bounding_box() for name in ("cursor", "drawn"))
    assert line is not None
    assert drawn is not None
    assert line["height"] == pytest.approx(drawn["height"])
    page.get_by_role("button", name="show the place").first.click()
    expect(page.locator("#place")).to_be_visible()


def test_a_number_tells_where_it_comes_from_and_inches_are_only_shown(
    bench: Bench, watched: Watched
) -> None:
    page = watched.page
    open_job(page, bench, "plover-nose.toml")
    page.get_by_role("button", name="where from? In the print file").click()
    expect(page.locator("#because-lines")).to_contain_text("fit.file_diameter")
    page.click("#because-shut")
    page.click("[data-units=in]")
    expect(page.locator("#facts .value").first).to_contain_text(re.compile(r"^\d\.\d{3} in$"))
    expect(page.locator(".in-mm")).to_contain_text("Drawings stay in mm")
    expect(page.locator("#save")).to_be_disabled()
    page.click("[data-step=gate]")
    page.fill("[data-mark=A]", "3.905 in")
    page.click("#readings button")
    expect(page.locator(".answer-gate")).to_contain_text("It is 3.905 in")
    expect(page.locator("#gate-A-lies")).to_contain_text("1.9 in from the base")
    page.click("[data-units=mm]")
    expect(page.locator(".in-mm")).to_be_hidden()


def test_a_build_can_be_cancelled(bench: Bench, watched: Watched) -> None:
    page = watched.page
    open_job(page, bench, "plover-nose.toml")
    page.click("#build button.main")
    page.click("#cancel")
    expect(page.locator("#building")).to_contain_text("cancelled")
    expect(page.locator("#build button.main")).to_be_enabled()


def test_the_mould_is_shown_in_three_dimensions_or_the_page_says_why_not(
    bench: Bench, watched: Watched
) -> None:
    page = watched.page
    open_job(page, bench, "plover-nose.toml")
    if page.locator("#show-solid").count() == 0:
        assert not npm_should_be_here(), "three.js is missing: run sh scripts/setup"
        expect(page.locator(".solid")).to_contain_text("not set up")
        return
    page.click("#show-solid")
    expect(page.locator("#solid canvas")).to_be_visible()
    page.focus("#solid")
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("x")


def test_the_newest_wish_wins_whatever_order_answers_come_in(bench: Bench) -> None:
    text = (bench.folder / "plover-nose.toml").read_text("utf-8")
    body = {"job": "plover-nose.toml", "text": text, "units": "mm", "page": "p"}
    with httpx.Client(headers=bench.headers, timeout=60.0) as client:
        newest = client.post(f"{bench.address}/api/redraw", json={**body, "number": 5}).json()
        older = client.post(f"{bench.address}/api/redraw", json={**body, "number": 4}).json()
    assert "verdict" in newest
    assert older == {"superseded": True}
    assert digest_of(newest["text"]) == digest_of(text)
