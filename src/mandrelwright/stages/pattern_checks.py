"""Whether the patterns can be cut and lie down: strain, roll width, overlaps."""

from __future__ import annotations

import math
from itertools import product

from mandrelwright.findings import patterns as say
from mandrelwright.findings.finding import Finding
from mandrelwright.job.layup import MOST_GORES
from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.stages.patterns import ClothPiece, Patterns

SAME = 1e-9  # rad


def check_patterns(job: Job, patterns: Patterns, library: Library) -> list[Finding]:
    """Every pattern against what cloth and roll allow, and against the layer below."""
    takes = library.practice["cloth"]["strain_taken"].value
    rolls = {each.name: each for each in job.cloths}
    found = []
    for piece in patterns.pieces:
        if abs(piece.leftover) > takes:
            place = piece.leftover_at
            strain = piece.leftover
            found.append(
                say.folds(piece.label, piece.count, strain, takes, piece.needed, MOST_GORES, place)
            )
        width = rolls[piece.textile].width.value
        if piece.width > width:
            found.append(say.too_narrow(piece.label, piece.width, width, piece.textile))
    found += _meetings(patterns.pieces)
    if patterns.pieces:
        count = sum(piece.count for piece in patterns.pieces)
        found.append(say.ridge(count, patterns.ridge))
    return found


def _meetings(pieces: tuple[ClothPiece, ...]) -> list[Finding]:
    """Pieces of successive cloth layers over the same stretch whose overlaps lie on each other."""
    layers = sorted({piece.layer for piece in pieces})
    below = dict(zip(layers[1:], layers, strict=False))
    return [
        say.overlaps_meet(one.label, two.label)
        for one, two in product(pieces, pieces)
        if below.get(two.layer) == one.layer and _lie_together(one, two) and _meet(one, two)
    ]


def _lie_together(one: ClothPiece, two: ClothPiece) -> bool:
    return one.start < two.stop and two.start < one.stop


def _meet(one: ClothPiece, two: ClothPiece) -> bool:
    """Whether an azimuth lies in overlaps of both."""
    return any(
        (a - b) % (2.0 * math.pi) < two.band - SAME or (b - a) % (2.0 * math.pi) < one.band - SAME
        for a, b in product(_seams(one), _seams(two))
    )


def _seams(piece: ClothPiece) -> list[float]:
    return [piece.seam + 2.0 * math.pi * gore / piece.count for gore in range(piece.count)]
