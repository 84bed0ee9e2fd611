"""The build sheet: complete, by pypdf's own reading; escaped, repeatable, on the asked paper."""

from __future__ import annotations

import io
import math
import re
from itertools import pairwise
from pathlib import Path
from typing import Any

import pypdf
import pytest
import segno

from mandrelwright import plan_job
from mandrelwright.out import layup as bench
from mandrelwright.out.build_sheet import identity, sheet_data, square_code, write_build_sheet
from mandrelwright.plan import Plan
from tests import jobs

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = sorted((ROOT / "examples").glob("*.toml"))
NOSE = ROOT / "examples" / "plover-nose.toml"
DATE = "2026-11-25"
FILES = ("section.svg", "mould.3mf", "segments/a.stl", "segments/b.stl", "build-sheet.pdf")
HOSTILE = "#panic(1) $x$ *b* <script> \\ @a `r` ☐"
QUIET = 4  # modules of margin round the code, ISO/IEC 18004
POINTS = 72.0 / 25.4  # PDF points in a millimetre
SHEETS_MM = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}  # ISO 216; ANSI/ASME Y14.1


@pytest.fixture(scope="module", params=EXAMPLES, ids=lambda path: path.stem)
def plan(request: pytest.FixtureRequest) -> Plan:
    return plan_job(request.param)


@pytest.fixture(scope="module")
def pages(plan: Plan) -> list[str]:
    return read(write_build_sheet(plan, FILES, DATE))


def read(made: bytes) -> list[str]:
    """Text of every page, runs of blanks and line ends as one blank."""
    reader = pypdf.PdfReader(io.BytesIO(made))
    return [squeezed(page.extract_text()) for page in reader.pages]


def squeezed(text: str) -> str:
    return re.sub(r"\s+", " ", text)


def hostile(**changes: Any) -> Plan:
    data = jobs.raw(**changes)
    data["part"] |= {"name": HOSTILE, "club": HOSTILE}
    for sleeve, name in zip(data["sleeve"], ("#big *s*", "$small$"), strict=True):
        sleeve["name"] = name
    for layer, sleeve in zip(data["layer"], reversed(data["sleeve"]), strict=True):
        layer["sleeve"] = sleeve["name"]
    return plan_of(data)


def plan_of(data: dict[str, Any]) -> Plan:
    plan = jobs.plan_of(data)
    plan.job._path = Path("test.toml")
    return plan


def test_every_layer_stands_with_its_length_weight_and_ends(plan: Plan, pages: list[str]) -> None:
    text = " ".join(pages)
    for piece in plan.layup.pieces:
        length = "by its pattern" if not piece.tied else f"{piece.cut * 1e3:.0f} mm"
        assert f"{piece.label} {length} {round(piece.dry * 1e3)} g" in text
    for end in plan.mould.ends:
        assert f"{end.layer} {end.side} " in text


def test_every_cup_and_step_stands_with_the_plans_numbers(plan: Plan, pages: list[str]) -> None:
    text = " ".join(pages)
    assert plan.layup.cups
    for cup in plan.layup.cups:
        resin, hardener = (round(1e3 * mass) for mass in (cup.resin, cup.hardener))
        row = f"{cup.number} {', '.join(cup.layers)} {resin} g"  # the scale shows whole grams
        assert f"{row} {hardener} g" in text
    for number, (minute, told) in enumerate(bench.steps(plan.layup, plan.job.shop.scale.value), 1):
        assert re.search(rf"\b{number} {minute} (\d+ min )?{re.escape(told)}", text)


def test_every_mark_stands_twice_with_its_aim(plan: Plan, pages: list[str]) -> None:
    printed = next(page for page in pages if "Gate: as printed" in page)
    ready = next(page for page in pages if "Gate: ready to wax" in page)
    out = plan.fit.outcome
    for mark in plan.mould.marks:
        for page in (printed, ready):
            assert f"{mark.name} {mark.purpose} {mark.from_base * 1e3:.1f}" in page
    least, most = math.ceil(out.least * 1e5) / 100.0, math.floor(out.most * 1e5) / 100.0
    assert f"{out.best * 1e3:.2f} {least:.2f} – {most:.2f}" in ready


def test_every_piece_aid_caution_and_file_stands(plan: Plan, pages: list[str]) -> None:
    text = " ".join(pages)
    for piece in plan.segments.pieces:
        assert f"{piece.name} {piece.printed_height * 1e3:.1f}" in text
    for aid in plan.aids.items:
        assert squeezed(aid.name) in text
    for finding in plan.findings:
        assert (finding.what in text) == (finding.level.value != "note")
    assert "segments/* (2)" in text
    assert plan.verdict.sentence in pages[0]
    assert DATE in pages[0]
    assert f"page 1 of {len(pages)}" in pages[0]
    assert plan.job.digest in pages[0].replace(" ", "")
    assert all(plan.job.digest[:12] in page and plan.job.part.name in page for page in pages)


def test_the_gate_tells_what_to_do_at_every_reading(plan: Plan) -> None:
    """Rows meet without gap or overlap, and never ask for more film at a larger reading."""
    sections = {part["title"]: part["blocks"] for part in sheet_data(plan)["sections"]}
    table = [
        block
        for block in sections["Gate: ready to wax"]
        if block["kind"] == "table" and block["heads"][1] == "mean at A"
    ]
    rows = table[0]["rows"]
    spans = [[float(n) for n in re.findall(r"\d+\.\d+", row[1])] for row in rows]
    for before, after in pairwise(spans):
        assert after[0] - before[-1] == pytest.approx(0.01, abs=1e-6)
    wraps = [int(row[2][0]) for row in rows if "film" in row[2]]
    assert wraps == sorted(wraps, reverse=True)
    (good,) = (row[1] for row in rows if row[2].endswith(" and lay up."))
    ends = [float(n) for n in re.findall(r"\d+\.\d+", good)]
    out = plan.fit.outcome
    assert out.least * 1e3 <= ends[0] < out.least * 1e3 + 0.01
    assert out.most * 1e3 - 0.01 < ends[1] <= out.most * 1e3
    marks = next(b for b in sections["Gate: ready to wax"] if "good" in b.get("heads", ()))
    assert marks["rows"][0][5] == good.replace("to", "–")


def test_same_plan_and_date_same_bytes() -> None:
    one, other = (write_build_sheet(plan_job(NOSE), FILES, DATE) for _ in range(2))
    assert one == other
    assert one != write_build_sheet(plan_job(NOSE), FILES, "2026-11-26")


def test_no_clock_is_read() -> None:
    document = pypdf.PdfReader(io.BytesIO(write_build_sheet(plan_job(NOSE), FILES, "")))
    assert document.metadata is not None
    assert "/CreationDate" not in document.metadata
    assert "____" in document.pages[0].extract_text()


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_paper_is_the_shops(paper: str) -> None:
    data = jobs.raw()
    data["shop"]["paper"] = paper
    document = pypdf.PdfReader(io.BytesIO(write_build_sheet(plan_of(data))))
    sizes = {
        tuple(sorted(round(float(side), 1) for side in page.mediabox[2:]))
        for page in document.pages
    }
    (size,) = sizes
    assert size == pytest.approx([side * POINTS for side in SHEETS_MM[paper]], abs=0.1)


def test_text_of_the_user_is_text() -> None:
    plan = hostile()
    text = " ".join(read(write_build_sheet(plan, ("#x.stl",))))
    assert HOSTILE in text
    assert "1 $small$" in text
    assert "3 #big *s*" in text


def test_what_is_not_stated_is_a_blank() -> None:
    """The job of the tests states no pot life, no hardener, no date, no schedule."""
    text = " ".join(read(write_build_sheet(plan_of(jobs.raw()))))
    assert "hardener g per 100 g resin" in text
    assert "pot life from the can, min" in text
    assert "hardener = ______ ×" in text
    assert "with hardener" in text
    assert "nan" not in text.lower().split()


def test_an_accepted_stop_stands_on_every_page() -> None:
    data = jobs.raw(printer={"bed": ["60 mm", "60 mm"], "height": "600 mm"})
    (stop,) = jobs.plan_of(data).stops
    data["accept"] = [{"finding": stop.id, "reason": "printed at the neighbours' bigger one"}]
    pages = read(write_build_sheet(plan_of(data)))
    assert all(f"Accepted stop: {stop.id}" in page for page in pages)
    assert any("neighbours' bigger one" in page for page in pages)


def test_the_square_code_draws_the_jobs_identity(plan: Plan) -> None:
    """The drawn modules against segno's own matrix; no decoder is installed to read them."""
    text = identity(plan)
    assert text == f"{plan.job.part.name}\nSHA-256 {plan.job.digest}"
    code = segno.make(text, error="m", micro=False)
    assert len(code.matrix) == 17 + 4 * int(code.version)  # ISO/IEC 18004: modules a side
    drawn = dark_modules(square_code(text).decode())
    dark = {(x, y) for y, row in enumerate(code.matrix) for x, on in enumerate(row) if on}
    assert {(x - QUIET, y - QUIET) for x, y in drawn} == dark


def dark_modules(svg: str) -> set[tuple[int, int]]:
    """Modules under the strokes of a path of moves and level lines, one module thick."""
    (trail,) = re.findall(r' d="([^"]+)"', svg)
    x = y = 0.0
    found = set()
    for letter, numbers in re.findall(r"([Mmh])([^Mmh]+)", trail):
        steps = [float(n) for n in re.findall(r"-?\d*\.?\d+", numbers)]
        if letter == "h":
            found |= {(round(x + i), int(y)) for i in range(round(steps[0]))}
        x = (0.0 if letter == "M" else x) + steps[0]
        if letter != "h":
            y = (0.0 if letter == "M" else y) + steps[1]
    return found
