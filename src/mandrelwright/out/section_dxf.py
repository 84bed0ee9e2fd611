"""section.dxf: the dimensioned section in true size, a layer for each kind of content."""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager

from ezdxf import units
from ezdxf._options import options
from ezdxf.document import Drawing
from ezdxf.enums import TextEntityAlignment
from ezdxf.filemanagement import new

from mandrelwright import __version__
from mandrelwright.out.views import Dimension, View, view_section
from mandrelwright.plan import Plan
from mandrelwright.quantities import celsius

LAYERS = {  # name → colour of the AutoCAD colour index, line type
    "WALL": (7, "Continuous"),
    "LAYERS": (8, "Continuous"),
    "MOULD": (30, "Continuous"),
    "HOLES": (40, "Continuous"),
    "JOINTS": (4, "Continuous"),
    "AXIS": (1, "CENTER"),
    "TRIM": (6, "DASHED"),
    "FITS": (3, "Continuous"),
    "MARKS": (5, "Continuous"),
    "DIMENSIONS": (2, "Continuous"),
    "TITLE": (7, "Continuous"),
}
STYLE = "SECTION"
TEXT = 3.0  # mm, height of letters
ARROW = 2.5  # mm


def write_section_dxf(plan: Plan, date: str = "") -> bytes:
    """The section as DXF R2010 in millimetres, 1:1; same plan and date, same bytes."""
    view = view_section(plan, 1.0)
    with _fixed_stamps():
        document = new("R2010", setup=["linetypes", "styles"], units=units.MM)
        _set_up(document)
        space = document.modelspace()
        for line in view.outlines:
            space.add_lwpolyline(line.points, close=line.closed, dxfattribs={"layer": line.layer})
        for dimension in view.dimensions:
            _dimension(document, dimension, view)
        for note in view.notes:
            _text(document, note.text, (note.x, note.y - 1.5 * TEXT), "MARKS")
        for number, text in enumerate(title_lines(plan, date)):
            place = view.low[0], view.high[1] + TEXT * (36.0 - 1.8 * number)
            _text(document, text, place, "TITLE")
        stream = io.StringIO()
        document.write(stream)
    return bytes(document.encode(stream.getvalue()))


def title_lines(plan: Plan, date: str) -> Iterator[str]:
    """What stands in the title block."""
    part = plan.job.part
    yield f"Section of {part.name}" + (f", {part.club}" if part.club else "")
    degrees = celsius(plan.job.shop.measured_at.value)
    yield f"millimetres at {degrees}; part as laid, on its finished mould"
    yield f"job {plan.job.digest[:12]}, library {plan.library.digest[:12]}"
    yield f"mandrelwright {__version__}" + (f", {date}" if date else "")


@contextmanager
def _fixed_stamps() -> Iterator[None]:
    """Neither clock nor random identity in the file: both would change it at every writing."""
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


def _set_up(document: Drawing) -> None:
    for name, (colour, linetype) in LAYERS.items():
        document.layers.add(name, color=colour, linetype=linetype)
    style = document.dimstyles.new(STYLE)
    style.dxf.dimtxt, style.dxf.dimasz = TEXT, ARROW
    style.dxf.dimexo, style.dxf.dimexe, style.dxf.dimgap = 1.0, 1.5, 0.8
    style.dxf.dimdec, style.dxf.dimtad, style.dxf.dimzin, style.dxf.dimdsep = 2, 1, 0, ord(".")
    style.dxf.dimblk = ""


def _dimension(document: Drawing, dimension: Dimension, view: View) -> None:
    """A linear dimension; a diameter's words stand above the view, along its line."""
    words = words_of(dimension, "<>").replace("⌀", "%%c")
    base = (dimension.stand, 0.0) if dimension.across else (0.0, dimension.stand)
    made = document.modelspace().add_linear_dim(
        base=base,
        p1=dimension.low,
        p2=dimension.high,
        angle=90.0 if dimension.across else 0.0,
        text=words,
        dimstyle=STYLE,
        dxfattribs={"layer": "DIMENSIONS"},
        location=(
            (dimension.stand - 0.7 * TEXT, view.high[1] + 16.0 * TEXT * 0.7)
            if dimension.across
            else None
        ),
    )
    made.render()


def words_of(dimension: Dimension, value: str) -> str:
    """A dimension's words around its value."""
    sign = "⌀" if dimension.across else ""
    return f"{sign}{value} {dimension.text}".strip()


def _text(document: Drawing, text: str, place: tuple[float, float], layer: str) -> None:
    made = document.modelspace().add_text(
        text, height=TEXT, dxfattribs={"layer": layer, "style": "OpenSans"}
    )
    made.set_placement(place, align=TextEntityAlignment.LEFT)
