"""The pieces of the mould as meshes, in the order they are printed."""

from __future__ import annotations

from mandrelwright.out.solid import CHORD, Mesh, facets_of
from mandrelwright.out.turning import put_together
from mandrelwright.stages.segments import Segments


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
