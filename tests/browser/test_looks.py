"""What every page owes everybody: no barrier, no sideways scrolling, paper, dark and keyboard."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.conftest import ROOT, Bench, npm_should_be_here, watch

AXE = ROOT / "frontend" / "node_modules" / "axe-core" / "axe.min.js"
PAGES = {
    "first": "/",
    "design": "/job/plover-nose.toml#layers",
    "gate": "/job/plover-nose.toml#gate",
    "waiting": "/job/plover-nose.toml#gate",
    "table": "/shop/plover-nose.toml",
    "log": "/log/plover-nose.toml",
    "manual": "/manual/findings",
    "enter": "/enter",
    "missing": "/nothing-here",
}
WIDTHS = (390, 820, 1440)


def settle(page: Page, name: str) -> None:
    if name in ("design", "gate", "waiting"):
        expect(page.locator("#all > li").first).to_be_visible()
    if name == "waiting":
        page.route("**/api/complete", lambda _: None)  # never answered
        page.fill("#in-fit-1-mates", "98.80 mm +- 0.02 mm")
        expect(page.locator(".checked-again")).to_be_visible()
    if name == "table":
        page.locator("#begin button, #known button").first.click()
        expect(page.locator("#work")).to_be_visible()
    if name == "first":
        for field, text in {"tube": "102.21 mm", "coupler": "99.03 mm", "length": "392 mm"}.items():
            page.fill(f"[name={field}]", text)
        expect(page.locator("#worst > li").first).to_be_visible()


@pytest.fixture(scope="session")
def axe() -> Path:
    """The judge of accessibility; skipped only where npm is absent and nobody may install it."""
    if not AXE.is_file():
        told = "axe-core is missing although npm is, or could be, here: run sh scripts/setup"
        assert not npm_should_be_here(), told
        pytest.skip("axe-core comes by npm, which is not here")
    return AXE


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", PAGES)
def test_axe_finds_nothing(
    bench: Bench, chromium: Browser, axe: Path, name: str, scheme: Literal["light", "dark"]
) -> None:
    context = chromium.new_context(color_scheme=scheme, bypass_csp=True)
    page = context.new_page()
    page.goto(bench.address + PAGES[name])
    settle(page, name)
    page.evaluate("for (const each of document.querySelectorAll('details')) each.open = true")
    page.add_script_tag(path=axe)
    found = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
    told = [(each["id"], each["nodes"][0]["html"][:200]) for each in found["violations"]]
    context.close()
    assert told == []


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize("width", WIDTHS)
def test_no_page_scrolls_sideways(bench: Bench, chromium: Browser, name: str, width: int) -> None:
    context = chromium.new_context(viewport={"width": width, "height": 844})
    watched = watch(context, bench.address)
    watched.page.goto(bench.address + PAGES[name])
    settle(watched.page, name)
    wide = watched.page.evaluate("document.documentElement.scrollWidth")
    context.close()
    assert wide <= width
    assert [each for each in watched.errors if "404" not in each] == []
    assert watched.outside == []


@pytest.mark.parametrize("name", ["first", "design"])
def test_a_page_prints_on_a_few_sheets(
    bench: Bench, chromium: Browser, name: str, tmp_path: Path
) -> None:
    from pypdf import PdfReader

    context = chromium.new_context()
    page = context.new_page()
    page.goto(bench.address + PAGES[name])
    settle(page, name)
    page.pdf(path=tmp_path / "page.pdf", prefer_css_page_size=True)
    context.close()
    sheets = PdfReader(tmp_path / "page.pdf").pages
    assert 1 <= len(sheets) <= 6
    assert "Can be made" in sheets[0].extract_text().replace("\n", " ")


def test_everything_is_reached_by_keyboard_and_says_what_it_is(
    bench: Bench, chromium: Browser
) -> None:
    context = chromium.new_context(viewport={"width": 1440, "height": 900})
    page = context.new_page()
    page.goto(bench.address + PAGES["gate"])
    settle(page, "gate")
    seen = set()
    for _ in range(120):
        page.keyboard.press("Tab")
        seen.add(
            page.evaluate("document.activeElement.id || document.activeElement.textContent.trim()")
        )
    context.close()
    for wanted in ("compare", "in-fit-1-mates", "along", "gate-A"):
        assert wanted in seen
