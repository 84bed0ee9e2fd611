"""What every page owes everybody: no barrier, no sideways scrolling, paper, dark and keyboard."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

import pytest
from playwright.sync_api import Browser, Page, expect

from mandrelwright.bench.manual import pages_of
from mandrelwright.bench.steps import STEPS
from tests.browser.conftest import ROOT, Bench, npm_should_be_here, watch
from tests.browser.test_shop_mode import go_to

AXE = ROOT / "frontend" / "node_modules" / "axe-core" / "axe.min.js"
PAGES = {
    "first": "/",
    "design": "/job/plover-nose.toml#layers",
    "gate": "/job/plover-nose.toml#gate",
    "waiting": "/job/plover-nose.toml#gate",
    "measured": "/job/plover-nose.toml#shape",
    "refused": "/job/plover-nose.toml#gate",
    "broken": "/job/broken.toml",
    "table": "/shop/plover-transition.toml",
    "question": "/shop/looked.toml",
    "log": "/log/looked.toml",
    "empty log": "/log/dunlin-tube.toml",
    "manual": "/manual/findings",
    "enter": "/enter",
    "missing": "/nothing-here",
}
WIDTHS = (390, 820, 1440)
CUT_SHORT = """[...document.querySelectorAll("main p, main dd, main li, main label, main button")]
    .filter((each) => getComputedStyle(each).textOverflow === "ellipsis")
    .filter((each) => each.checkVisibility({ visibilityProperty: true }))
    .filter((each) => each.scrollWidth > each.clientWidth).map((each) => each.textContent)"""


@pytest.fixture(scope="session", autouse=True)
def jobs(bench: Bench) -> None:
    """A job with a log of its own, and one that cannot be read."""
    text = (bench.folder / "plover-nose.toml").read_text("utf-8")
    (bench.folder / "looked.toml").write_text(text, "utf-8")
    broken = text.replace('length = "392 mm"', 'length = "392"', 1)
    (bench.folder / "broken.toml").write_text(broken, "utf-8")


def settle(page: Page, name: str, address: str) -> None:
    """Open a page and bring it to the state that its name says."""
    page.goto(address + PAGES[name])
    if name in ("design", "gate", "waiting", "measured", "refused"):
        expect(page.locator("#all > li").first).to_be_visible()
    if name == "waiting":
        page.route("**/api/complete", lambda _: None)  # never answered
        page.fill("#in-fit-1-mates", "98.80 mm +- 0.02 mm")
        expect(page.locator(".checked-again")).to_be_visible()
    if name == "measured":
        page.select_option("#in-section-1-shape", "measured")
        expect(page.locator(".cells tbody tr")).to_have_count(9)
    if name == "refused":
        page.fill("#in-fit-1-mates", "98,2 mm")
        expect(page.locator(".wrong", has_text="comma")).to_be_visible()
    if name == "broken":
        expect(page.locator(".undrawn")).to_be_visible()
    if name == "table":
        expect(page.locator("#begin button")).to_be_visible()
    if name == "question":
        ask(page)
    if name == "log" and page.locator("table").count() == 0:
        page.goto(address + PAGES["question"])
        ask(page)
        page.goto(address + PAGES["log"])
    if name == "first":
        for field, text in {"tube": "102.21 mm", "coupler": "99.03 mm", "length": "392 mm"}.items():
            page.fill(f"[name={field}]", text)
        expect(page.locator("#worst > li").first).to_be_visible()


def ask(page: Page) -> None:
    """Write a reading at the table that is questioned."""
    page.locator("#begin button, #known button").locator("visible=true").first.click()
    expect(page.locator("#work")).to_be_visible()
    go_to(page, "Read mark A")
    page.fill("#write-0", "94.91")
    page.dispatch_event("#write-0", "change")
    expect(page.locator("#write-0-note button").first).to_be_visible()


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
    settle(page, name, bench.address)
    told = violations(page, axe)
    context.close()
    assert told == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_at_any_step(
    bench: Bench, chromium: Browser, axe: Path, scheme: Literal["light", "dark"]
) -> None:
    context = chromium.new_context(color_scheme=scheme, bypass_csp=True)
    page = context.new_page()
    settle(page, "design", bench.address)
    told = {}
    for step in STEPS:
        page.click(f"[data-step={step.key}]")
        expect(page.locator("#step-title")).to_have_text(step.title)
        told[step.key] = violations(page, axe)
    page.get_by_role("button", name="where from? In the print file").click()
    told["why"] = violations(page, axe)
    page.click("#because-shut")
    page.click("[data-step=gate]")
    page.fill("#in-fit-1-mates", "98.80 mm +- 0.02 mm")
    expect(page.locator("#save")).to_be_enabled()
    page.click("#compare")
    expect(page.locator("#lines .come")).to_be_visible()
    told["compare"] = violations(page, axe)
    context.close()
    assert {key: found for key, found in told.items() if found} == {}


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_in_the_manual(
    bench: Bench, chromium: Browser, axe: Path, scheme: Literal["light", "dark"]
) -> None:
    context = chromium.new_context(color_scheme=scheme, bypass_csp=True)
    page = context.new_page()
    told = {}
    for name in pages_of():
        page.goto(f"{bench.address}/manual/{name}")
        told[name] = violations(page, axe)
    context.close()
    assert len(told) > 30
    assert {name: found for name, found in told.items() if found} == {}


def violations(page: Page, axe: Path) -> list[tuple[str, str]]:
    """What axe finds on a page with everything unfolded: rule, and the first element."""
    page.evaluate("for (const each of document.querySelectorAll('details')) each.open = true")
    page.add_script_tag(path=axe)
    found = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
    return [(each["id"], each["nodes"][0]["html"][:200]) for each in found["violations"]]


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize("width", WIDTHS)
def test_no_page_scrolls_sideways(bench: Bench, chromium: Browser, name: str, width: int) -> None:
    context = chromium.new_context(viewport={"width": width, "height": 844})
    watched = watch(context, bench.address)
    settle(watched.page, name, bench.address)
    wide = watched.page.evaluate("document.documentElement.scrollWidth")
    cut = watched.page.evaluate(CUT_SHORT)
    context.close()
    assert wide <= width
    assert cut == []
    assert [each for each in watched.errors if "404" not in each] == []
    assert watched.outside == []


@pytest.mark.parametrize("name", ["first", "design"])
def test_a_page_prints_on_a_few_sheets(
    bench: Bench, chromium: Browser, name: str, tmp_path: Path
) -> None:
    from pypdf import PdfReader

    context = chromium.new_context()
    page = context.new_page()
    settle(page, name, bench.address)
    page.pdf(path=tmp_path / "page.pdf", prefer_css_page_size=True)
    context.close()
    sheets = PdfReader(tmp_path / "page.pdf").pages
    assert 1 <= len(sheets) <= 7
    assert "Can be made" in sheets[0].extract_text().replace("\n", " ")


def test_everything_is_reached_by_keyboard_and_says_what_it_is(
    bench: Bench, chromium: Browser
) -> None:
    context = chromium.new_context(viewport={"width": 1440, "height": 900})
    page = context.new_page()
    settle(page, "gate", bench.address)
    seen = set()
    for _ in range(120):
        page.keyboard.press("Tab")
        seen.add(
            page.evaluate("document.activeElement.id || document.activeElement.textContent.trim()")
        )
    context.close()
    for wanted in ("compare", "in-fit-1-mates", "along", "gate-A"):
        assert wanted in seen
