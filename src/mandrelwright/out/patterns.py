"""patterns.pdf: every pattern and template in true size, on as many sheets as it takes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from textwrap import wrap

from mandrelwright import __version__
from mandrelwright.out.plot import PAPERS, Sheet, Words, set_sheets
from mandrelwright.out.tiles import (
    LETTER,
    MARGIN,
    SMALL,
    Board,
    Thing,
    boards_of,
    draw_map,
    draw_tile,
    laid,
    sheets_of,
    tile_name,
)
from mandrelwright.plan import Plan
from mandrelwright.stages.patterns import ClothPiece
from mandrelwright.stages.templates import Template

BAND = 58.0  # mm at the foot: check square, map, what it is
SQUARE = 50.0  # mm
HOW = (
    "Print all sheets at 100 %, without scaling. On one sheet measure the square: 50 mm each way, "
    "to half a millimetre. If it is not, change the printer's setting, not the pattern.",
    "Join sheets: cut one on its pale joint line, lay it on the same line of its neighbour so "
    "that the crosses meet, tape. The map at the foot shows where a sheet lies.",
    "Full line: cut. Dashed: where the other edge comes to lie, or a turn ends. Long dashes: trim "
    "line of the part. Dots and dashes: centre line, along the part. Double arrow: warp, along "
    "the roll. Ticks with one number on both edges meet.",
)


def write_patterns(plan: Plan) -> bytes:
    """The sheets as PDF, first the list of them; same plan, same bytes."""
    width, height = PAPERS[plan.job.shop.paper]
    tile = (width - 2.0 * MARGIN, height - 2.0 * MARGIN - BAND)
    things = [_cloth(piece) for piece in plan.patterns.pieces]
    things += [_paper(template) for template in plan.patterns.templates]
    boards = boards_of([laid(thing, tile) for thing in things], tile)
    places = [(board, place) for board in boards for place in sheets_of(board, tile)]
    count = 1 + len(places)
    pages = [[n for n, (one, _) in enumerate(places, 2) if one is board] for board in boards]
    listed = [(each, page[0], page[-1]) for each, page in zip(boards, pages, strict=True)]
    sheets = [_cover(plan, listed, count)]
    for number, (board, place) in enumerate(places, 2):
        sheet = Sheet(width, height)
        draw_tile(sheet, board, place, tile)
        _draw_band(sheet, plan, board, place, tile, f"sheet {number} of {count}")
        sheets.append(sheet)
    return set_sheets(f"Patterns: {plan.job.part.name}", sheets)


def _cloth(piece: ClothPiece) -> Thing:
    """A cloth piece and what its cutter must know."""
    least, most = (math.degrees(angle) for angle in piece.warp_range)
    turned = "" if most - least < 0.5 else f", laid {least:.0f}° to {most:.0f}° from the axis"
    times = "once round" if piece.turns == 1 else f"{piece.turns} times round in one piece"
    notes = (
        f"{piece.label}: cut {piece.count}" + (f", {times}" if piece.count == 1 else ""),
        f"warp {math.degrees(piece.warp):.0f}° from the centre line{turned}",
        f"overlap {piece.overlap * 1e3:.0f} mm, first seam at {math.degrees(piece.seam):.0f}°",
        "printed face outwards",
    )
    return Thing(piece.label, notes, piece.lines, (0.0, 0.0), False)


def _paper(template: Template) -> Thing:
    return Thing(
        template.label, (template.label, template.purpose), template.lines, (0.0, 0.0), False
    )


def _foot(sheet: Sheet, plan: Plan, page: str) -> float:
    """The check square and what every sheet says; returns where the band begins."""
    top = sheet.height - MARGIN - SQUARE
    sheet.box("edge", MARGIN, top, SQUARE, SQUARE)
    sheet.write(
        MARGIN + 3.0,
        top + 6.0,
        (
            "50 mm each way.",
            "Measure it before",
            "you cut. Print at 100 %,",
            "never “fit to page”.",
        ),
    )
    part = plan.job.part
    lines = (
        f"{part.name}" + (f" · {part.club}" if part.club else ""),
        f"job {plan.job.digest[:12]} · mandrelwright {__version__} · {page}",
    )
    sheet.write(MARGIN + SQUARE + 4.0, sheet.height - MARGIN - 4.5, lines, SMALL)
    return top


def _draw_band(
    sheet: Sheet,
    plan: Plan,
    board: Board,
    place: tuple[int, int],
    tile: tuple[float, float],
    page: str,
) -> None:
    """Check square, map of the board with this tile marked, and notes."""
    top = _foot(sheet, plan, page)
    left = MARGIN + SQUARE + 4.0
    notes = board.things[0][0].notes if len(board.things) == 1 else ("several, each as marked",)
    beside = left
    if (board.columns, board.rows) != (1, 1):
        beside += draw_map(sheet, board, place, tile, (left, top)) + 4.0
        notes = (*notes, f"this is {tile_name(*place)}; cut on one joint line, lay it on the other")
    room = sheet.width - MARGIN - beside
    lines = [text for note in notes for text in wrap(note, int(room / LETTER))]
    sheet.write(beside, top + 3.0, lines, SMALL)


def _cover(plan: Plan, boards: Sequence[tuple[Board, int, int]], count: int) -> Sheet:
    """What there is, on which sheets, and how to use it."""
    sheet = Sheet(*PAPERS[plan.job.shop.paper])
    part = plan.job.part
    sheet.words.append(Words(MARGIN, MARGIN + 6.0, f"Patterns: {part.name}", 6.0, bold=True))
    rows = [
        (f"{first}" if first == last else f"{first} to {last}", thing)
        for board, first, last in boards
        for thing, _, _ in board.things
    ]
    y = MARGIN + 18.0
    for text in HOW:
        for line in wrap(text, int((sheet.width - 2.0 * MARGIN) / LETTER / 1.15)):
            sheet.words.append(Words(MARGIN, y, line))
            y += 4.4
        y += 1.2
    y += 4.0
    for pages, thing in rows:
        sheet.words.append(Words(MARGIN, y, f"sheet {pages}", bold=True))
        for line in wrap(
            "; ".join(thing.notes), int((sheet.width - 2 * MARGIN - 32) / LETTER / 1.15)
        ):
            sheet.words.append(Words(MARGIN + 32.0, y, line))
            y += 4.4
        y += 1.2
    _foot(sheet, plan, f"sheet 1 of {count}")
    return sheet
