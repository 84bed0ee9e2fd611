"""The pieces of the mould as meshes, in the order they are printed."""

from __future__ import annotations

from mandrelwright.out.solid import Mesh
from mandrelwright.out.turning import put_together
from mandrelwright.stages.segments import Segments


def make_segments(segments: Segments) -> dict[str, Mesh]:
    """One checked mesh for each piece by its name, down-face at z = 0.

    Raises SolidError when a piece is not closed, outward, whole and of the genus counted
    beforehand.
    """
    return {
        piece.name: put_together(piece.body, piece.takes, piece.pins, piece.genus)
        for piece in segments.pieces
    }
