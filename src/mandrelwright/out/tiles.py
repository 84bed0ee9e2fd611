"""Flat things laid on paper: large ones cut into tiles that overlap, small ones sharing a sheet."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from string import ascii_uppercase
from textwrap import wrap

import numpy as np
from numpy.typing import NDArray

from mandrelwright.out.plot import Sheet, Words, clipped
from mandrelwright.stages.flat import Line
from mandrelwright.stages.turned import decimate

Array = NDArray[np.float64]

MARGIN = 12.0  # mm, printers leave less
LAP = 10.0  # mm by which tiles overlap; they are joined along the middle of it
GAP = 6.0  # mm between small things on one sheet
FINE = 0.004  # mm: a drawn line stays this close to the true one
LONG = 45.0  # mm: a run this long carries its line's words
ROW = 3.6  # mm, a line of small text
SMALL = 2.4  # mm, its size
LETTER = 1.42  # mm, mean width of its letters
HEAD_WIDTH = 70.0  # mm, least width of notes above a thing
MAP = (34.0, 36.0)  # mm, room for the map of a board
STYLES = {
    "cut": "cut", "centre": "centre", "seam": "hidden", "tick": "edge", "turn": "hidden",
    "trim": "trim", "lap": "hidden", "warp": "edge", "mark": "thin",
}  # fmt: skip


@dataclass(frozen=True)
class Thing:
    """A pattern or template laid flat on paper: lines in mm, y down, corner at the origin."""

    label: str
    notes: tuple[str, ...]
    lines: tuple[Line, ...]
    size: tuple[float, float]
    upright: bool


@dataclass(frozen=True)
class Board:
    """Things on one field of paper, cut into tiles: columns by rows."""

    things: tuple[tuple[Thing, float, float], ...]
    columns: int
    rows: int

    @property
    def label(self) -> str:
        """What lies on it."""
        return ", ".join(thing.label for thing, _, _ in self.things)


def laid(thing: Thing, tile: tuple[float, float]) -> Thing:
    """The thing in mm with its corner at the origin, turned to take the fewer tiles."""
    ways = [_turned(thing, upright) for upright in (False, True)]
    return min(ways, key=lambda each: math.prod(_tiles(each.size, tile)))


def _turned(thing: Thing, upright: bool) -> Thing:
    """Seen from outside: X to the right and Y up, or X down and Y to the right."""
    turn = np.array([[0.0, 1.0], [1.0, 0.0]]) if upright else np.array([[1.0, 0.0], [0.0, -1.0]])
    lines = [Line(line.kind, 1e3 * line.points @ turn.T, line.text) for line in thing.lines]
    corner = np.min([line.points.min(axis=0) for line in lines], axis=0)
    far = np.max([line.points.max(axis=0) for line in lines], axis=0)
    moved = tuple(Line(line.kind, _thinned(line.points - corner), line.text) for line in lines)
    size = far - corner
    return Thing(thing.label, thing.notes, moved, (float(size[0]), float(size[1])), upright)


def _thinned(points: Array) -> Array:
    """The line without the points it can do without; a closed one in two halves."""
    if len(points) < 3 or np.any(points[0] != points[-1]):
        return decimate(points, FINE)
    half = len(points) // 2
    return np.concatenate((decimate(points[: half + 1], FINE), decimate(points[half:], FINE)[1:]))


def _tiles(size: tuple[float, float], tile: tuple[float, float]) -> tuple[int, int]:
    """Columns and rows of overlapping tiles that hold a size."""
    columns, rows = (
        max(1, math.ceil((wanted - LAP) / (room - LAP)))
        for wanted, room in zip(size, tile, strict=True)
    )
    return columns, rows


def boards_of(things: Sequence[Thing], tile: tuple[float, float]) -> list[Board]:
    """A field for each large thing; small ones share sheets, in rows."""
    large = [thing for thing in things if _tiles(_with_head(thing), tile) != (1, 1)]
    small = [thing for thing in things if thing not in large]
    boards = [Board(((thing, 0.0, 0.0),), *_tiles(thing.size, tile)) for thing in large]
    placed: list[tuple[Thing, float, float]] = []
    x = y = deepest = 0.0
    for thing in small:
        width, height = _with_head(thing)
        if x + width > tile[0]:
            x, y, deepest = 0.0, y + deepest + GAP, 0.0
        if y + height > tile[1]:
            boards.append(Board(tuple(placed), 1, 1))
            placed, x, y, deepest = [], 0.0, 0.0, 0.0
        placed.append((thing, x, y + height - thing.size[1]))
        x, deepest = x + width + GAP, max(deepest, height)
    return [*boards, Board(tuple(placed), 1, 1)] if placed else boards


def _with_head(thing: Thing) -> tuple[float, float]:
    """Its size with its notes above it."""
    return max(thing.size[0], HEAD_WIDTH), thing.size[1] + ROW * len(_head(thing)) + 1.0


def _head(thing: Thing) -> list[str]:
    wide = max(thing.size[0], HEAD_WIDTH)
    return [text for note in thing.notes for text in wrap(note, int(wide / LETTER))]


def sheets_of(board: Board, tile: tuple[float, float]) -> Iterator[tuple[int, int]]:
    """Tiles of a board on which something lies, row by row."""
    for row, column in product(range(board.rows), range(board.columns)):
        low = _corner(column, row, tile)
        if any(
            clipped(line.points + np.array([x, y]), low, low + tile)
            for thing, x, y in board.things
            for line in thing.lines
        ):
            yield column, row


def _corner(column: int, row: int, tile: tuple[float, float]) -> Array:
    """Where a tile begins on its board."""
    return np.array([column * (tile[0] - LAP), row * (tile[1] - LAP)])


def draw_tile(
    sheet: Sheet, board: Board, place: tuple[int, int], tile: tuple[float, float]
) -> None:
    """What lies in one tile of a board, and the lines on which tiles are joined."""
    low = _corner(*place, tile)
    shift = MARGIN - low
    sheet.box("pale", MARGIN, MARGIN, *tile)
    for thing, x, y in board.things:
        for line in thing.lines:
            _draw_line(sheet, line, np.array([x, y]), (low, low + tile), shift, thing.upright)
        if len(board.things) > 1:
            head = _head(thing)
            sheet.write(x + MARGIN, y + MARGIN - ROW * len(head) + 1.5, head, SMALL)
    _join(sheet, board, place, tile)


def _draw_line(
    sheet: Sheet,
    line: Line,
    at: Array,
    window: tuple[Array, Array],
    shift: Array,
    upright: bool,
) -> None:
    """One line of a thing, and its words where it runs long enough."""
    turn = 90.0 if upright else 0.0
    if line.kind == "name":
        x, y = line.points[0] + at
        if np.all((window[0] <= (x, y)) & ((x, y) < window[1])):
            sheet.words.append(Words(x + shift[0], y + shift[1], line.text, SMALL, turn, bold=True))
        return
    whole = float(np.hypot.reduce(np.diff(line.points, axis=0), axis=1).sum())
    for run in clipped(line.points + at, *window):
        points = run + shift
        sheet.stroke(STYLES[line.kind], points)
        length = float(np.hypot.reduce(np.diff(points, axis=0), axis=1).sum())
        if line.text and length > min(LONG, 0.9 * whole):
            sheet.words.append(_along(points, line))
        if line.kind == "warp" and length > 0.99 * whole:
            for end, before in ((points[0], points[-1]), (points[-1], points[0])):
                sheet.stroke("edge", _arrow(end, end - before))


def _along(points: Array, line: Line) -> Words:
    """A line's words at the middle of a run, along it, the right way up."""
    if line.kind == "tick":
        return Words(points[-1, 0] + 0.8, points[-1, 1] + 0.8, line.text, SMALL)
    step = np.hypot.reduce(np.diff(points, axis=0), axis=1)
    place = int(np.searchsorted(np.cumsum(step), 0.5 * step.sum()))
    way = points[place + 1] - points[place]
    angle = math.degrees(math.atan2(way[1], way[0]))
    angle = (angle + 90.0) % 180.0 - 90.0
    x, y = 0.5 * (points[place] + points[place + 1])
    up = math.radians(angle)
    return Words(x + math.sin(up), y - math.cos(up), line.text, SMALL, angle, "middle")


def _arrow(tip: Array, way: Array) -> Array:
    """An open arrow head."""
    along = way / np.hypot(*way)
    aside = np.array([-along[1], along[0]])
    return np.array([tip - 4.0 * along + 1.4 * aside, tip, tip - 4.0 * along - 1.4 * aside])


def _join(sheet: Sheet, board: Board, place: tuple[int, int], tile: tuple[float, float]) -> None:
    """Lines on which this tile is cut or laid, crosses that must meet, names of both tiles."""
    low = _corner(*place, tile) - 0.5 * LAP
    xs = [c * (tile[0] - LAP) - low[0] for c in (place[0], place[0] + 1) if 0 < c < board.columns]
    ys = [r * (tile[1] - LAP) - low[1] for r in (place[1], place[1] + 1) if 0 < r < board.rows]
    for x in xs:
        sheet.stroke("pale", [[MARGIN + x, MARGIN], [MARGIN + x, MARGIN + tile[1]]])
        left = tile_name(place[0] - (x < tile[0] / 2.0), place[1])
        right = tile_name(place[0] + (x > tile[0] / 2.0), place[1])
        sheet.words.append(
            Words(MARGIN + x, MARGIN + 0.4 * tile[1], f"{left} | {right}", SMALL, 0.0, "middle")
        )
        for y in (0.25 * tile[1], 0.75 * tile[1]):
            sheet.cross(MARGIN + x, MARGIN + y)
    for y in ys:
        sheet.stroke("pale", [[MARGIN, MARGIN + y], [MARGIN + tile[0], MARGIN + y]])
        above = tile_name(place[0], place[1] - (y < tile[1] / 2.0))
        below = tile_name(place[0], place[1] + (y > tile[1] / 2.0))
        sheet.words.append(
            Words(MARGIN + 0.4 * tile[0], MARGIN + y - 0.8, f"{above} above, {below} below", SMALL)
        )
        for x in (0.25 * tile[0], 0.75 * tile[0]):
            sheet.cross(MARGIN + x, MARGIN + y)


def tile_name(column: int, row: int) -> str:
    """Letter of the column and number of the row: B3."""
    return f"{ascii_uppercase[column % 26]}{row + 1}"


def draw_map(
    sheet: Sheet,
    board: Board,
    place: tuple[int, int],
    tile: tuple[float, float],
    corner: tuple[float, float],
) -> float:
    """The whole board made small; returns the width it takes."""
    whole = _corner(board.columns - 1, board.rows - 1, tile) + tile
    scale = min(MAP[0] / whole[0], MAP[1] / whole[1])
    for row, column in product(range(board.rows), range(board.columns)):
        low = _corner(column, row, tile) + LAP / 2 * np.array([column > 0, row > 0])
        high = np.minimum(_corner(column + 1, row + 1, tile) + LAP / 2, whole)
        x, y = scale * low + corner
        width, height = scale * (high - low)
        here = (column, row) == place
        sheet.box("cut" if here else "pale", x, y, width, height)
        sheet.words.append(
            Words(
                x + width / 2,
                y + height / 2 + 0.8,
                tile_name(column, row),
                2.2,
                0.0,
                "middle",
                here,
            )
        )
    for thing, dx, dy in board.things:
        sheet.stroke("thin", scale * (thing.lines[0].points + np.array([dx, dy])) + corner)
    return float(scale * whole[0])
