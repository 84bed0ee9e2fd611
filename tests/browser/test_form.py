"""Sections turned and tables edited by keyboard, undone, and saved with every comment kept."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import ROOT, Bench, Watched
from tests.browser.test_story import open_job

CELL = "#in-section-1-table-{}-{}-"


@pytest.fixture
def own(bench: Bench, request: pytest.FixtureRequest) -> Iterator[str]:
    """A job of the test's own."""
    name = f"{request.node.originalname.replace('_', '-')[:50]}.toml"
    text = (ROOT / "examples" / "plover-nose.toml").read_text("utf-8")
    (bench.folder / name).write_text(text, "utf-8")
    yield name
    (bench.folder / name).unlink()


def stated(page: Page, bench: Bench, job: str) -> dict[str, object]:
    """The first section as it is saved."""
    expect(page.locator("#save")).to_be_enabled()
    page.keyboard.press("Control+s")
    expect(page.locator("#state")).to_have_text(re.compile("^saved"))
    section = tomllib.loads((bench.folder / job).read_text("utf-8"))["section"][0]
    assert isinstance(section, dict)
    return section


def test_a_nose_becomes_another_shape_with_a_number_of_its_own(
    bench: Bench, watched: Watched, own: str
) -> None:
    page, before = watched.page, (bench.folder / own).read_text("utf-8")
    open_job(page, bench, own)
    page.focus("#in-section-1-shape")
    page.keyboard.type("power")
    exponent = page.locator("#in-section-1-exponent")
    expect(exponent).to_have_value("0.6")
    expect(page.locator("[data-field='section[1].exponent'] .note")).to_contain_text("0.25 to 1")
    expect(page.locator("#verdict")).to_contain_text("Can be made")
    exponent.fill("1.5")
    expect(page.locator("[data-field='section[1].exponent'] .wrong")).to_contain_text("1")
    exponent.fill("0.5")
    expect(page.locator("#verdict")).to_contain_text("Can be made")
    section = stated(page, bench, own)
    assert (section["shape"], section["exponent"]) == ("power", 0.5)
    after = (bench.folder / own).read_text("utf-8")
    assert [line for line in after.splitlines() if line not in before.splitlines()] == [
        'shape = "power"', "exponent = 0.5"
    ]  # fmt: skip
    for _ in range(9):
        page.click("#undo", force=True)
        if page.locator("#in-section-1-shape").input_value() == "von Karman":
            break
    expect(exponent).to_have_count(0)
    expect(page.locator("#in-section-1-shape")).to_have_value("von Karman")


def test_a_measured_profile_is_edited_by_keyboard(bench: Bench, watched: Watched, own: str) -> None:
    page = watched.page
    open_job(page, bench, own)
    page.select_option("#in-section-1-shape", "measured")
    lines = page.locator(".cells tbody tr")
    expect(lines).to_have_count(9)
    third, fourth = (float(page.input_value(CELL.format(n, 1)).split()[0]) for n in (3, 4))
    page.focus(CELL.format(3, 2))
    page.keyboard.press("Enter")
    expect(lines).to_have_count(10)
    expect(page.locator(CELL.format(4, 1))).to_be_focused()
    between = float(page.input_value(CELL.format(4, 1)).split()[0])
    assert between == pytest.approx(0.5 * (third + fourth), abs=1e-3)
    page.keyboard.press("Control+a")
    page.keyboard.type("70 mm")
    expect(page.locator(".cells .wrong")).to_contain_text("must be beyond the row before")
    expect(page.locator(CELL.format(4, 1))).to_have_attribute("aria-invalid", "true")
    expect(page.locator(CELL.format(3, 1))).not_to_have_attribute("aria-invalid", "true")
    page.keyboard.press("Control+a")
    page.keyboard.type("100 mm")
    expect(page.locator(".cells .wrong")).to_be_empty()
    page.focus("[aria-label='Remove row 2 of table']")
    page.keyboard.press("Enter")
    expect(lines).to_have_count(9)
    expect(page.locator(CELL.format(1, 1))).to_be_focused()
    rows = stated(page, bench, own)["table"]
    assert isinstance(rows, list)
    assert len(rows) == 9
    assert rows[0][0] == "0 mm"
    assert rows[2][0] == "100 mm"
    page.click("#undo")
    expect(lines).to_have_count(10)


def test_rings_and_cuts_are_added_and_removed(bench: Bench, watched: Watched, own: str) -> None:
    page, path = watched.page, bench.folder / own
    before = path.read_text("utf-8")
    open_job(page, bench, own, "print")
    page.get_by_role("button", name="ring", exact=True).click()
    page.fill("#in-printer-ring-1-reads", "98.40 mm +- 0.02 mm")
    expect(page.locator("#verdict")).to_contain_text("Can be made")
    stated(page, bench, own)
    ring = tomllib.loads(path.read_text("utf-8"))["printer"]["ring"]
    assert ring == [{"file": "99 mm", "reads": "98.40 mm +- 0.02 mm"}]
    page.get_by_role("button", name="Remove ring 1").click()
    expect(page.locator("#in-printer-ring-1-reads")).to_have_count(0)
    stated(page, bench, own)
    assert path.read_text("utf-8").split() == before.split()
    page.goto(f"{bench.address}/job/{own}#mould")
    page.locator("#groups summary", has_text="1 more").click()
    page.click("#in-mould-split-at-add")
    expect(page.locator("#in-mould-split-at-1-")).to_be_focused()
    page.keyboard.type("204 mm")
    expect(page.locator("#verdict")).to_contain_text("Can be made")
    stated(page, bench, own)
    assert tomllib.loads(path.read_text("utf-8"))["mould"]["split_at"] == ["204 mm"]


def test_what_was_typed_stands_there_after_a_look_at_another_step(
    bench: Bench, watched: Watched, own: str
) -> None:
    page = watched.page
    open_job(page, bench, own)
    page.click("[data-step=gate]")
    page.fill("#in-fit-1-mates", "98.80 mm +- 0.02 mm")
    page.fill("#in-fit-1-to-base", "98,0 mm")
    wrong = page.locator("[data-field='fit[1].to_base'] .wrong")
    expect(wrong).to_contain_text("comma")
    page.click("[data-step=layers]")
    page.select_option("[data-field='layer[1].to'] select", "end")
    page.click("[data-units=in]")
    expect(page.locator("[data-field='layer[1].to'] select")).to_have_value("end")
    page.click("[data-step=gate]")
    expect(page.locator("#in-fit-1-mates")).to_have_value("98.80 mm +- 0.02 mm")
    expect(page.locator("#in-fit-1-to-base")).to_have_value("98,0 mm")
    expect(wrong).to_contain_text("comma")


def test_a_layer_is_added_of_what_is_on_the_shelf(bench: Bench, watched: Watched, own: str) -> None:
    page = watched.page
    open_job(page, bench, own)
    page.click("[data-step=layers]")
    layers = page.locator("[data-field^='layer['][data-field$='.sleeve']")
    before = layers.count()
    page.locator(".adds", has_text="Add layer").get_by_role("button", name="sleeve ").first.click()
    expect(layers).to_have_count(before + 1)
    expect(page.locator("#verdict")).not_to_contain_text("Cannot be read")
    expect(page.locator("#inputs .wrong:not(:empty)")).to_have_count(0)
