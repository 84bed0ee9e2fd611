"""The build sheet: the one paper on the bench, as a PDF in the order of the shop."""

from __future__ import annotations

import io
import json
from collections.abc import Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import segno
import typst

from mandrelwright import __version__
from mandrelwright.out import (
    sheet_cure,
    sheet_finished,
    sheet_front,
    sheet_layup,
    sheet_mould,
    sheet_part,
    sheet_print,
)
from mandrelwright.out.cure_chart import draw_cure
from mandrelwright.out.ladder import draw_ladder
from mandrelwright.out.release_chart import draw_release
from mandrelwright.out.section import draw_section
from mandrelwright.out.svg import PAPER
from mandrelwright.plan import Plan

TEMPLATE = Path(__file__).with_name("build_sheet.typ")
FONTS = Path(__file__).with_name("fonts")
PAPERS = {"A4": "a4", "A3": "a4", "Letter": "us-letter"}  # a bench holds no A3
SHORT = 12  # digits of a digest in the footer
NO_DATE = "______________"


def write_build_sheet(plan: Plan, files: Sequence[str] = (), date: str = "") -> bytes:
    """The build sheet as PDF; same plan, files and date, same bytes.

    ``files`` are the names that lie beside it. Text of the job is set as it is, never read as
    markup.
    """
    pictures = {
        "section.svg": draw_section(plan),
        "cure.svg": draw_cure(plan),
        "release.svg": draw_release(plan),
        "ladder.svg": draw_ladder(plan),
    }
    with TemporaryDirectory(prefix="mandrelwright-") as name:
        folder = Path(name)
        for file, svg in pictures.items():
            (folder / file).write_text(svg.replace(PAPER, "#ffffff"), encoding="utf-8")
        (folder / "qr.svg").write_bytes(square_code(identity(plan)))
        content = json.dumps(sheet_data(plan, files, date), ensure_ascii=False)
        (folder / "data.json").write_text(content, encoding="utf-8")
        (folder / TEMPLATE.name).write_bytes(TEMPLATE.read_bytes())
        made: bytes = typst.compile(
            folder / TEMPLATE.name, font_paths=[FONTS], ignore_system_fonts=True, root=folder
        )
    return made


def identity(plan: Plan) -> str:
    """What the square code says: the part's name and the digest of its job file."""
    return f"{plan.job.part.name}\nSHA-256 {plan.job.digest}"


def square_code(text: str) -> bytes:
    """A QR code as SVG with plain attributes."""
    out = io.BytesIO()
    segno.make(text, error="m", micro=False).save(out, kind="svg", scale=4, xmldecl=False)
    return out.getvalue()


def sheet_data(plan: Plan, files: Sequence[str] = (), date: str = "") -> dict[str, Any]:
    """Everything the sheet says, as plain data."""
    part, digest = plan.job.part, plan.job.digest
    return {
        "paper": PAPERS[plan.job.shop.paper],
        "title": f"Build sheet: {part.name}",
        "part": part.name,
        "club": part.club or "",
        "date": date,
        "accepted": sorted({item.finding for item in plan.job.accepted}),
        "footer": f"{part.name} · job {digest[:SHORT]} · mandrelwright {__version__}",
        "verdict": plan.verdict.sentence,
        "facts": [
            ("Date", date or NO_DATE),
            ("Job file", plan.job.path.name),
            ("Digest", f"{digest[:32]} {digest[32:]}"),
            ("Program", f"mandrelwright {__version__}, library {plan.library.digest[:SHORT]}"),
        ],
        "sections": [
            *sheet_front.sections(plan, files),
            *sheet_print.sections(plan),
            *sheet_mould.sections(plan),
            *sheet_layup.sections(plan),
            *sheet_cure.sections(plan),
            *sheet_part.sections(plan, sheet_finished.sections(plan)),
        ],
    }
