"""Everything a job leaves behind, written to one folder whole or not at all."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from pathlib import Path

from mandrelwright.out.aids import mesh_aids
from mandrelwright.out.build_sheet import write_build_sheet
from mandrelwright.out.cure_chart import draw_cure
from mandrelwright.out.files import OutputError, output_folder, write_bytes, write_text
from mandrelwright.out.flight_chart import draw_flight
from mandrelwright.out.ladder import draw_ladder
from mandrelwright.out.mesh import write_3mf, write_stl
from mandrelwright.out.patterns import write_patterns
from mandrelwright.out.release_chart import draw_release
from mandrelwright.out.report import write_report
from mandrelwright.out.section import draw_section
from mandrelwright.out.section_dxf import write_section_dxf
from mandrelwright.out.section_pdf import write_section_pdf
from mandrelwright.out.segments import make_segments, make_whole
from mandrelwright.out.solid import Mesh, SolidError
from mandrelwright.out.strips import draw_strips
from mandrelwright.out.twin import twin
from mandrelwright.plan import Plan

DRAWINGS = {
    "section.svg": draw_section,
    "strips.svg": draw_strips,
    "ladder.svg": draw_ladder,
    "cure.svg": draw_cure,
    "release.svg": draw_release,
    "flight.svg": draw_flight,
}
UNSAFE = re.compile(r"[^A-Za-z0-9]+")  # in a file's name
SHEET = "build-sheet.pdf"
SOLIDS = ("mould.3mf", "mould.stl", "mould.step", "segments/*.stl", "aids.3mf", "aids/*.stl")
PATTERNS = "patterns.pdf"
SECTIONS = {"section.dxf": write_section_dxf, "section.pdf": write_section_pdf}
FILES = (*DRAWINGS, "report.html", "report.json", *SOLIDS, PATTERNS, *SECTIONS, SHEET)


def build(
    plan: Plan, folder: Path, tell: Callable[[str], None], date: str = "", step: bool = False
) -> list[str]:
    """Write drawings, report, JSON twin and, unless a stop stands, all it is made with; names.

    ``tell`` is called with the name of each file before it is made; ``date`` stands on the build
    sheet and the section; with ``step`` there is a mould.step too. Raises OutputError and leaves
    the folder as it was when anything fails.
    """
    written: list[str] = []
    write_step = _step_writer(folder) if step else None
    with output_folder(folder, FILES) as building:

        def begin(name: str) -> Path:
            tell(name)
            written.append(name)
            return building / name

        for name, draw in DRAWINGS.items():
            write_text(begin(name), draw(plan))
        write_text(begin("report.html"), write_report(plan))
        write_text(begin("report.json"), json.dumps(twin(plan), indent=1, allow_nan=False) + "\n")
        if not plan.stops:
            name = plan.job.part.name
            pieces, whole, aids = _solids(plan, folder)
            write_3mf(begin("mould.3mf"), pieces, {"Title": f"{name}, mould"})
            write_stl(begin("mould.stl"), whole)
            if write_step:
                write_bytes(begin("mould.step"), write_step(plan))
            if len(pieces) > 1:
                _write_each(begin, pieces, "segments")
            write_3mf(begin("aids.3mf"), aids, {"Title": f"{name}, bench aids"})
            _write_each(begin, aids, "aids")
            write_bytes(begin(PATTERNS), write_patterns(plan))
            for file, section in SECTIONS.items():
                write_bytes(begin(file), section(plan, date))
            sheet = begin(SHEET)
            write_bytes(sheet, write_build_sheet(plan, written, date))
    return written


def _step_writer(folder: Path) -> Callable[[Plan], bytes]:
    """Writes STEP; raises OutputError where the extra that can do it is not installed."""
    try:
        from mandrelwright.out.step import write_step
    except ImportError as error:
        remedy = "Install mandrelwright[step], or build without --step"
        raise OutputError(
            folder, "gets no mould.step, because the CAD kernel is missing", remedy
        ) from error

    def write(plan: Plan) -> bytes:
        try:
            return write_step(plan)
        except SolidError as error:
            remedy = "Build without --step and use mould.stl"
            raise OutputError(folder, f"gets no mould.step, because {error}", remedy) from error

    return write


def _solids(plan: Plan, folder: Path) -> tuple[dict[str, Mesh], Mesh, dict[str, Mesh]]:
    """Pieces, the mould in one, aids; an accepted stop may be one that leaves no solid.

    In one piece the mould is that piece, marked; of several it is uncut and unmarked.
    """
    try:
        pieces, aids = make_segments(plan.segments), mesh_aids(plan.aids)
        whole = make_whole(plan.print) if len(pieces) > 1 else next(iter(pieces.values()))
        return pieces, whole, aids
    except SolidError as error:
        remedy = "Mend the stops that the job accepts, or use other holes and dowels"
        raise OutputError(folder, f"gets no mould, because {error}", remedy) from error


def _write_each(begin: Callable[[str], Path], meshes: Mapping[str, Mesh], folder: str) -> None:
    """Write meshes as an STL each in a folder."""
    for name, mesh in meshes.items():
        path = begin(f"{folder}/{UNSAFE.sub('-', name).strip('-')}.stl")
        path.parent.mkdir(exist_ok=True)
        write_stl(path, mesh)
