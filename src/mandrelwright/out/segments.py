"""The mould as meshes: its pieces in the order they are printed, and uncut."""

from __future__ import annotations

import numpy as np

from mandrelwright.out.solid import CHORD, Mesh, facets_of
from mandrelwright.out.turning import put_together
from mandrelwright.stages.print import PrintForm
from mandrelwright.stages.segments import Segments
from mandrelwright.stages.turned import Turned, decimate, pillar


def make_segments(segments: Segments) -> dict[str, Mesh]:
    """One checked mesh for each piece by its name, down-face at z = 0.

    All bodies have the same facets, so their surfaces run on across the joints.
    Raises SolidError when a piece is not closed, outward, whole and of the genus counted
    beforehand.
    """
    widest = max(float(piece.body.contour[:, 0].max()) for piece in segments.pieces)
    facets = facets_of(widest, CHORD)
    return {
        piece.name: put_together(
            piece.body, (*piece.takes, *piece.sockets), piece.pins, piece.genus, facets
        )
        for piece in segments.pieces
    }


def make_whole(form: PrintForm, facets: int | None = None) -> Mesh:
    """The mould uncut and unmarked, on its flange with its holes; of so many ``facets`` if given.

    Raises SolidError when it is not closed, outward, whole and of the genus counted beforehand.
    """
    rim, foot = form.flange or (0.0, 0.0)
    line = decimate(np.column_stack([form.radius, form.height + foot]).astype(float))
    if foot:
        line = np.vstack([[rim, 0.0], [rim, foot], line])
    top = float(line[-1, 1])
    holes = form.holes()
    axial = next((d / 2.0 for x, d in holes if x == 0.0), 0.0)
    end = [[axial, top]] if line[-1, 0] > axial else []
    body = Turned(np.array([[axial, 0.0], *line, *end]))
    beside = [pillar(d / 2.0, -1e-3, top + 1e-3).at(x, 0.0) for x, d in holes if x > 0.0]
    return put_together(body, beside, (), len(holes), facets)
