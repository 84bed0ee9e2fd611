"""What is not known at once stands as before and is marked so, until the complete answer is in."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager, suppress

from playwright.sync_api import Error, Page, Route, expect

from tests.browser.conftest import ROOT, Bench, Watched
from tests.browser.test_story import open_job

MATES = "#in-fit-1-mates"
WAITS = re.compile("waits")
LATER = ("print", "layup", "release", "finish", "flight", "radio")


@contextmanager
def held(page: Page) -> Iterator[list[Route]]:
    """Complete answers are kept back, and given at the end."""
    kept: list[Route] = []
    page.route("**/api/complete", lambda route: kept.append(route))
    yield kept
    for route in kept:
        route.continue_()
    page.unroute("**/api/complete")


def test_later_steps_strips_and_numbers_wait_marked_as_before(
    bench: Bench, watched: Watched
) -> None:
    page = watched.page
    open_job(page, bench, "plover-nose.toml", "gate")
    expect(page.locator("#verdict")).to_contain_text("Can be made.")
    parts = ("section", "life", "facts", "ladder", "all")
    before = {name: page.locator(f"#{name}").inner_html() for name in parts}
    said = page.locator("[data-step=radio]").get_attribute("title")
    with held(page) as kept:
        page.fill(MATES, "98.80 mm +- 0.02 mm")
        expect(page.locator("#section text", has_text="mate ø 98.80")).to_be_visible()
        for _ in range(2):  # at once, and once the complete answer has been asked for
            expect(page.locator("#verdict")).to_contain_text("Being checked")
            expect(page.locator("#verdict")).not_to_contain_text("Can be made")
            expect(page.locator(".checked-again")).to_be_visible()
            for step in LATER:
                expect(page.locator(f"[data-step={step}] .sign")).to_have_class(WAITS)
            for step in ("shape", "layers", "gate", "cure"):
                expect(page.locator(f"[data-step={step}] .sign")).not_to_have_class(WAITS)
            expect(page.locator("[data-step=radio] .unseen")).to_contain_text(f"change: {said}")
            expect(page.locator("#life svg")).to_have_css("opacity", "0.45")
            for name in parts[1:]:
                assert page.locator(f"#{name}").inner_html() == before[name]
            page.wait_for_timeout(700)
        assert len(kept) == 1
    expect(page.locator("#verdict")).to_contain_text("Can be made.")
    expect(page.locator(".checked-again")).to_be_hidden()
    expect(page.locator(".waits")).to_have_count(0)
    for name in ("facts", "ladder"):
        assert page.locator(f"#{name}").inner_html() != before[name]


def test_a_stop_of_a_later_step_is_said_until_it_is_lifted(bench: Bench, watched: Watched) -> None:
    page, job = watched.page, bench.folder / "low-printer.toml"
    text = (ROOT / "examples" / "plover-nose.toml").read_text("utf-8")
    job.write_text(text.replace('height = "240 mm"', 'height = "60 mm"'), "utf-8")
    open_job(page, bench, job.name, "print")
    stop = "The mould is 465 mm tall, the printer takes 60 mm"
    expect(page.locator("#verdict")).to_contain_text(f"Cannot be made as stated. {stop}")
    with held(page):
        page.fill("#in-printer-height", "240 mm")
        expect(page.locator("#verdict")).to_contain_text("Being checked")
        expect(page.locator("#verdict")).to_contain_text(f"Before this change: {stop}")
        expect(page.locator("[data-step=print] .sign")).to_have_class("sign stop waits")
    expect(page.locator("#verdict")).to_contain_text("Can be made.")
    expect(page.locator("#verdict")).not_to_contain_text(stop)
    expect(page.locator("[data-step=print] .sign")).to_have_class("sign good")
    job.unlink()


def test_a_complete_answer_to_an_older_text_is_not_shown(bench: Bench, watched: Watched) -> None:
    page = watched.page
    open_job(page, bench, "plover-nose.toml", "gate")
    expect(page.locator("#verdict")).to_contain_text("Can be made.")
    with held(page) as kept:
        page.fill(MATES, "98.80 mm +- 0.02 mm")
        expect(page.locator("#section text", has_text="mate ø 98.80")).to_be_visible()
        while not kept:
            page.wait_for_timeout(50)
        old = kept.pop(0)
        answer = old.fetch()
        page.fill(MATES, "98.70 mm +- 0.02 mm")
        expect(page.locator("#section text", has_text="mate ø 98.70")).to_be_visible()
        with suppress(Error):  # where the page has already let go of it
            old.fulfill(response=answer)
        page.wait_for_timeout(200)
        expect(page.locator("#section text", has_text="mate ø 98.70")).to_be_visible()
        expect(page.locator("#verdict")).to_contain_text("Being checked")
    expect(page.locator("#verdict")).to_contain_text("Can be made.")
    expect(page.locator("#section text", has_text="mate ø 98.70")).to_be_visible()
