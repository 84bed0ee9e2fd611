"""Shop mode in a real browser on a phone's screen: gates, clocks, two people, a lost network."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, Route, ViewportSize, expect

from mandrelwright.shop.log import open_log
from tests.browser.conftest import Bench, watch

FINGER = 15.0 / 25.4 * 96.0  # px: 15 mm in the units of a style sheet
PHONE: ViewportSize = {"width": 390, "height": 844}
CUT = ("net::ERR_INTERNET_DISCONNECTED", "net::ERR_CONNECTION_RESET")  # cut on purpose here


@pytest.fixture
def job(bench: Bench) -> str:
    """A job of its own, without a log."""
    number = len(list(bench.folder.glob("table-*.toml")))
    name = f"table-{number}.toml"
    shutil.copy(bench.folder / "plover-nose.toml", bench.folder / name)
    return name


@pytest.fixture
def phone(bench: Bench, chromium: Browser) -> Iterator[Page]:
    context = chromium.new_context(viewport=PHONE, has_touch=True)
    watched = watch(context, bench.address)
    yield watched.page
    context.close()
    assert [error for error in watched.errors if not any(cut in error for cut in CUT)] == []
    assert watched.outside == []


def begin(page: Page, bench: Bench, job: str) -> None:
    page.goto(f"{bench.address}/shop/{job}")
    page.click("#begin button")
    page.wait_for_selector("#work:visible")


def entries(bench: Bench, job: str, kind: str) -> list[Any]:
    with open_log((bench.folder / job).with_suffix(".log.sqlite")) as log:
        return [row.entry for row in log.standing() if row.entry.kind == kind]


def in_log(page: Page) -> None:
    expect(page.locator("#net")).to_have_text("All is in the log.", timeout=30_000)


def go_to(page: Page, title: str) -> None:
    """Tick on until a step of that title; readings are written where they are asked for."""
    for _ in range(90):
        if page.inner_text("#step-title").startswith(title):
            return
        for box in page.query_selector_all("#told [data-line]"):
            if not box.is_checked():
                box.click()
        reads = page.query_selector("#write-0")
        reading = page.inner_text("#step-title").startswith(("Read", "Measure"))
        if reading and reads and not reads.input_value():
            reads.fill(expected(page))
            reads.dispatch_event("change")
        before = page.inner_text("#count")
        page.click("#next")
        expect(page.locator("#count")).not_to_have_text(before)
    raise AssertionError(f"no step {title}, but {page.inner_text('#step-title')}")


def expected(page: Page) -> str:
    """The diameter a step tells to expect."""
    told = page.inner_text("#told")
    if "Aim " in told:
        return told.rpartition("Aim ")[2].split()[0].rstrip(".,")
    return told.rpartition(" mm expected")[0].split()[-1]


def test_a_gate_holds_the_next_step_until_it_is_read_or_waived(
    phone: Page, bench: Bench, job: str
) -> None:
    begin(phone, bench, job)
    go_to(phone, "Read mark A")
    phone.tap("#next")
    expect(phone.locator("#answer")).to_contain_text("wants this reading")
    assert phone.inner_text("#step-title") == "Read mark A"
    phone.tap("#all summary")
    later = phone.locator("#list button", has_text="Prepare the mould").first
    expect(later).to_be_disabled()
    phone.fill("#waiver", "calipers too short for it")
    phone.tap("#answer button")
    phone.tap("#next")
    expect(phone.locator("#step-title")).to_have_text("Read mark B")
    in_log(phone)
    (waiver,) = entries(bench, job, "waiver")
    assert waiver.gate == "printed"
    assert waiver.reason == "calipers too short for it"


def write(page: Page, text: str, field: str = "#write-0") -> None:
    page.fill(field, text)
    page.dispatch_event(field, "change")


@pytest.mark.parametrize(
    ("typed", "words", "meant"),
    [
        ("94.91", "Two digits exchanged: was 99.41 meant?", "99.41"),
        ("3.914", "The other unit: was 3.914 in meant?", "3.914 in"),
        ("49.7", "A radius, not a diameter: was 99.4 meant?", "99.4"),
        ("87.67", "It is what mark C should read: is it that mark?", ""),
        ("98,41", "has a comma in its number", ""),
    ],
)
def test_the_phone_asks_what_the_command_line_asks(
    phone: Page, bench: Bench, job: str, typed: str, words: str, meant: str
) -> None:
    begin(phone, bench, job)
    go_to(phone, "Read mark A")
    in_log(phone)
    before = len(entries(bench, job, "reading"))
    write(phone, typed)
    note = phone.locator("#write-0-note")
    expect(note).to_contain_text(words)
    expect(phone.locator("#net")).to_have_text("One reading waits for your answer.")
    assert len(entries(bench, job, "reading")) == before
    phone.tap("#next")
    expect(phone.locator("#answer")).to_contain_text("Answer the question first")
    if not meant:
        expect(note.get_by_role("button", name="Yes")).to_have_count(0)
        note.get_by_role("button", name="Write it again").tap()
        write(phone, "99.41")
    else:
        note.get_by_role("button", name=f"Yes, {meant}").tap()
    in_log(phone)
    expect(note).to_be_empty()
    texts = [entry.reads.text for entry in entries(bench, job, "reading")]
    assert texts[before:] == [meant or "99.41"]


def test_what_is_insisted_on_is_kept_with_the_question(phone: Page, bench: Bench, job: str) -> None:
    begin(phone, bench, job)
    go_to(phone, "Read mark A")
    in_log(phone)
    write(phone, "94.91")
    expect(phone.locator("#write-0-note")).to_contain_text("was 99.41 meant?")
    phone.tap("#back")
    expect(phone.locator("#net")).to_contain_text("Not in the log: mark A reads 94.91 mm")
    phone.get_by_role("button", name="Look at it").tap()
    expect(phone.locator("#step-title")).to_have_text("Read mark A")
    phone.locator("#write-0-note").get_by_role("button", name="Keep it as written").tap()
    in_log(phone)
    kept = entries(bench, job, "reading")[-1]
    assert kept.reads.text == "94.91"
    assert "was 99.41 meant?" in kept.questioned


def test_a_slip_written_without_network_is_asked_when_it_is_back(
    phone: Page, bench: Bench, job: str
) -> None:
    begin(phone, bench, job)
    go_to(phone, "Read mark A")
    in_log(phone)
    before = len(entries(bench, job, "reading"))
    phone.context.set_offline(True)
    write(phone, "94.91")
    write(phone, "49.7", "#write-1")
    write(phone, "99.42", "#write-1")  # corrected before anybody could ask
    write(phone, "99.38", "#write-2")
    phone.tap("#next")
    expect(phone.locator("#step-title")).to_have_text("Read mark B")
    phone.context.set_offline(False)
    expect(phone.locator("#net")).to_contain_text("Not in the log: mark A reads 94.91 mm")
    phone.reload()  # a question outlives it, and the gate that waits for it is where one stands
    expect(phone.locator("#step-title")).to_have_text("Read mark A")
    later = phone.locator("#list button", has_text="Prepare the mould").first
    phone.tap("#all summary")
    expect(later).to_be_disabled()
    phone.locator("#write-0-note").get_by_role("button", name="Yes, 99.41").tap()
    in_log(phone)
    kept = entries(bench, job, "reading")[before:]
    assert sorted(entry.reads.text for entry in kept) == ["99.38", "99.41", "99.42"]
    expect(later).to_be_enabled()


def test_the_gate_answers(phone: Page, bench: Bench, job: str) -> None:
    begin(phone, bench, job)
    go_to(phone, "Read mark A")
    write(phone, "99.41")
    go_to(phone, "Read mark C")
    phone.fill("#write-0", expected(phone))
    phone.dispatch_event("#write-0", "change")
    expect(phone.locator("#answer")).to_contain_text("aim at", timeout=30_000)
    in_log(phone)
    assert [e.reads.text for e in entries(bench, job, "reading")
            if e.stage == "printed" and e.mark == "A"] == ["99.41"]  # fmt: skip


def test_a_mending_is_logged_with_its_amount(phone: Page, bench: Bench, job: str) -> None:
    begin(phone, bench, job)
    go_to(phone, "Last sanding")
    for mark in "ABC":
        go_to(phone, f"Read mark {mark}")
        phone.fill("#write-0", f"{float(expected(phone)) + 0.30:.2f}")
        phone.dispatch_event("#write-0", "change")
    expect(phone.locator("#answer")).to_contain_text("Then it should read", timeout=30_000)
    told = phone.inner_text("#answer")
    phone.tap("#answer button")
    in_log(phone)
    (event,) = (entry for entry in entries(bench, job, "event") if entry.what == "mended")
    off = float(told.partition("et-sand ")[2].split()[0])
    assert event.amount.value == pytest.approx(-off * 1e-3, abs=6e-6)
    assert 0.2 < off < 0.4


def test_the_cup_scales_with_what_was_poured_and_its_clock_runs_from_the_time_stamp(
    phone: Page, bench: Bench, job: str
) -> None:
    begin(phone, bench, job)
    go_to(phone, "Mix cup 1")
    phone.fill("#cup-resin", "80")
    expect(phone.locator("#write .big")).to_have_text("Hardener: 24 g for 80 g resin.")
    phone.fill("#cup-hardener", "26.4")
    expect(phone.locator("#write .big")).to_contain_text("10 % too much")
    phone.dispatch_event("#cup-resin", "change")
    phone.tap("#next")
    minutes = int(phone.inner_text("#clocks .left").partition(":")[0])
    assert 50 <= minutes < 60  # the plan gives this cup 59 minutes
    in_log(phone)
    phone.reload()
    expect(phone.locator("#clocks li")).to_contain_text("cup 1")
    phone.tap("#clocks button")
    expect(phone.locator("#clocks li")).to_have_count(0)
    in_log(phone)
    weights = {w.what: w.reads.text for w in entries(bench, job, "weight")}
    assert weights["resin cup 1"] == "80"


def test_a_reload_in_mid_step_comes_back_to_it_and_every_tick_is_undoable(
    phone: Page, bench: Bench, job: str
) -> None:
    begin(phone, bench, job)
    go_to(phone, "Settings")
    phone.locator("#told [data-line]").nth(1).tap()
    in_log(phone)
    phone.reload()
    expect(phone.locator("#step-title")).to_have_text("Settings")
    expect(phone.locator("#told [data-line]").nth(1)).to_be_checked()
    phone.locator("#told [data-line]").nth(1).tap()
    in_log(phone)
    phone.reload()
    expect(phone.locator("#told [data-line]").nth(1)).not_to_be_checked()
    phone.tap("#back")
    phone.tap("#undo")
    expect(phone.locator("#next")).to_have_text("Done")


def test_what_is_entered_without_network_is_sent_once(phone: Page, bench: Bench, job: str) -> None:
    begin(phone, bench, job)
    go_to(phone, "Settings")
    in_log(phone)
    phone.context.set_offline(True)
    for box in phone.query_selector_all("#told [data-line]"):
        box.tap()
    phone.tap("#next")
    expect(phone.locator("#net")).to_contain_text("Keep it open")
    phone.fill("#write-0", "99.38")
    phone.dispatch_event("#write-0", "change")
    before = len(entries(bench, job, "event"))
    phone.context.set_offline(False)
    in_log(phone)
    events = entries(bench, job, "event")
    texts = [event.text for event in events]
    assert len(texts) == len(set(texts)) == before + 7  # six settings, and the step itself
    assert [e.reads.text for e in entries(bench, job, "reading")] == ["99.38"]


def test_an_answer_that_is_lost_doubles_nothing(phone: Page, bench: Bench, job: str) -> None:
    begin(phone, bench, job)
    lost = 0

    def lose(route: Route) -> None:
        nonlocal lost
        lost += 1
        route.fetch()  # the server keeps it
        if lost <= 3:
            route.abort("connectionreset")  # the page never hears
        else:
            route.continue_()

    phone.route("**/entry", lose)
    phone.locator("#told [data-line]").first.tap()
    in_log(phone)
    assert lost > 3
    assert len(entries(bench, job, "event")) == 1


def test_two_people_see_each_others_ticks(
    phone: Page, bench: Bench, job: str, chromium: Browser
) -> None:
    begin(phone, bench, job)
    other = watch(chromium.new_context(viewport=PHONE, has_touch=True), bench.address).page
    other.goto(f"{bench.address}/shop/{job}")
    other.tap("#known button")
    other.wait_for_selector("#work:visible")
    phone.locator("#told [data-line]").first.tap()
    expect(other.locator("#told [data-line]").first).to_be_checked(timeout=20_000)
    other.locator("#told [data-line]").nth(1).tap()
    expect(phone.locator("#told [data-line]").nth(1)).to_be_checked(timeout=20_000)
    other.context.close()


def test_everything_to_touch_is_as_large_as_a_finger_in_a_glove(
    phone: Page, bench: Bench, job: str
) -> None:
    begin(phone, bench, job)
    for title in ("Protect yourself", "Measure ring", "Read mark A", "Mix cup 1"):
        go_to(phone, title)
        wide = phone.evaluate("document.documentElement.scrollWidth")
        assert wide <= PHONE["width"], f"{title} is {wide} px wide"
        for item in phone.query_selector_all("main button, main input, main summary, .lines label"):
            box = item.bounding_box()
            if box and item.is_visible() and item.get_attribute("type") != "checkbox":
                assert box["height"] >= FINGER - 0.5, item.inner_text()
                assert box["width"] >= FINGER - 0.5, item.inner_text()


def test_the_whole_story_at_the_table(phone: Page, bench: Bench, job: str) -> None:
    begin(phone, bench, job)
    go_to(phone, "How did it end?")
    phone.tap("#next")
    expect(phone.locator("#answer")).to_contain_text("Choose one")
    phone.tap("[data-choice=fits]")
    phone.tap("#next")
    in_log(phone)
    phone.goto(f"{bench.address}/log/{job}")
    expect(phone.locator("main")).to_contain_text("Part 1: fits")
    expect(phone.locator("main")).to_contain_text("ring at the fit, mould 1")
    expect(phone.locator("main")).to_contain_text("The next mould rests on")
    expect(phone.locator("main")).not_to_contain_text("Not used: ring")
    assert Path(bench.folder, job).with_suffix(".log.sqlite").is_file()
