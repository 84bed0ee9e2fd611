"""Report and JSON twin: complete, escaped, self-contained, accessible, repeatable."""

from __future__ import annotations

import json
import re
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from mandrelwright import plan_job
from mandrelwright.out.report import write_report
from mandrelwright.out.twin import twin
from mandrelwright.plan import Plan
from tests import jobs
from tests.property.random_jobs import random_job

ROOT = Path(__file__).resolve().parents[2]
NOSE = ROOT / "examples" / "plover-nose.toml"
HOSTILE = "Plover <script>alert(1)</script> & nose"
VOID = {"meta", "link", "br", "img", "input", "hr"}


@pytest.fixture(scope="module")
def plan() -> Plan:
    return plan_job(NOSE)


@pytest.fixture(scope="module")
def page(plan: Plan) -> str:
    return write_report(plan)


class Outline(HTMLParser):
    """Headings, tags and balance of a page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.headings: list[int] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if re.fullmatch(r"h[1-6]", tag):
            self.headings.append(int(tag[1]))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def test_the_page_asks_nothing_of_anybody(page: str) -> None:
    plain = page.replace('xmlns="http://www.w3.org/2000/svg"', "")
    assert not re.search(r"https?://|//\w+\.\w|@import|url\((?!#)", plain)
    tags = {tag for tag, _ in Outline(page).tags}
    assert not tags & {"script", "link", "img", "iframe", "object", "embed", "form", "base"}
    assert not re.search(r"\son\w+=", page)


def test_headings_are_in_order_and_tables_have_heads(page: str) -> None:
    outline = Outline(page)
    assert outline.open == []
    assert outline.headings[0] == 1
    assert outline.headings.count(1) == 1
    steps = np.diff(outline.headings)
    assert steps.max() <= 1
    count = [tag for tag, _ in outline.tags].count
    assert count("table") == count("caption") == count("thead") >= 5
    assert all(a.get("scope") in ("col", "row") for tag, a in outline.tags if tag == "th")
    ids = [a["id"] for _, a in outline.tags if "id" in a]
    assert len(ids) == len(set(ids))
    assert dict(outline.tags)["html"]["lang"] == "en"


def test_the_verdict_comes_first_and_every_finding_is_there(plan: Plan, page: str) -> None:
    text = re.sub(r"\s+", " ", page)
    order = [text.index(part) for part in (plan.verdict.sentence, "Section and strips", "Fits")]
    assert order == sorted(order)
    for finding in plan.findings:
        assert f'<span class="id">{finding.id}</span>' in text
    assert f"{plan.fit.outcome.best * 1e3:.2f} mm" in text
    assert plan.job.digest in text
    assert plan.library.digest in text


def test_text_of_the_user_is_text(tmp_path: Path) -> None:
    file = tmp_path / "hostile.toml"
    text = NOSE.read_text("utf-8").replace('"Plover nose"', f"'{HOSTILE}'")
    file.write_text(text.replace('"position"', "'<img src=x>'"), "utf-8")
    page = write_report(plan_job(file))
    assert "<script" not in page
    assert "<img" not in page
    assert "&lt;script&gt;" in page
    assert "&lt;img src=x&gt;" in page


def test_same_plan_same_bytes(plan: Plan, page: str) -> None:
    assert write_report(plan_job(NOSE)) == page
    assert json.dumps(twin(plan)) == json.dumps(twin(plan_job(NOSE)))


def test_an_accepted_stop_stands_in_the_report_with_its_reason() -> None:
    data = jobs.raw(printer={"bed": ["60 mm", "60 mm"], "height": "600 mm"})
    refused = jobs.plan_of(data)
    (stop,) = refused.stops
    assert "nothing is made until" in write_report(refused)
    data["accept"] = [{"finding": stop.id, "reason": "printed at the neighbours' bigger one"}]
    accepted = jobs.plan_of(data)
    assert accepted.stops == []
    page = write_report(accepted)
    assert "Accepted by the builder: printed at the neighbours&#39; bigger one" in page


@pytest.mark.parametrize("seed", [1, 4, 8, 25, 33])
def test_jobs_at_random_have_a_report_and_a_twin(seed: int) -> None:
    plan = jobs.plan_of(random_job(seed))
    assert Outline(write_report(plan)).open == []
    json.dumps(twin(plan), allow_nan=False)


def test_the_twin_is_the_plan_in_plain_numbers(plan: Plan) -> None:
    data: dict[str, Any] = json.loads(json.dumps(twin(plan), allow_nan=False))
    assert list(data) == [
        "verdict", "findings", "shape", "stack", "mould", "surface", "cure", "fit", "print",
        "segments", "aids", "layup", "assembly", "flight", "joints", "strength", "whole", "radio",
        "supplies", "release", "inputs", "version", "job", "library",
    ]  # fmt: skip
    assert data["verdict"]["sentence"] == plan.verdict.sentence
    assert [item["id"] for item in data["findings"]] == [f.id for f in plan.findings]
    best = data["fit"]["outcome"]["best"]
    assert best == pytest.approx(plan.fit.outcome.best, rel=1e-8)
    assert data["mould"]["r"] == pytest.approx(plan.mould.curve.r, rel=1e-8)
    hoop = np.array([row[1] is None for row in data["stack"]["wall"]["expansion"]])
    assert np.array_equal(hoop, np.isnan(plan.wall.expansion[:, 1]))
    assert data["stack"]["layers"][0]["start"] is None
    ladder = {link["label"]: link["change"] for link in data["fit"]["links"]}
    assert ladder["ready to wax"] == best


def test_every_key_of_the_twin_is_documented(plan: Plan) -> None:
    told = (ROOT / "docs" / "report.md").read_text("utf-8")
    missing = {key for key in _keys(twin(plan)) if f"`{key}`" not in told}
    assert missing == set()


def _keys(value: Any) -> set[str]:
    if isinstance(value, dict):
        return set(value).union(*(_keys(item) for item in value.values()))
    if isinstance(value, list):
        return set().union(*(_keys(item) for item in value))
    return set()
