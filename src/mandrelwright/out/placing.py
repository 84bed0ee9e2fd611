"""Labels that do not overlap: rows above a picture, each label tied to its place by a leader."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from mandrelwright.out.svg import text_width

CLEAR = 6.0  # units between two labels of one row
FROM_LEADER = 3.0  # units between a leader and its own label


@dataclass(frozen=True)
class Label:
    """A text whose leader stands ``x`` across, on a layer's outer surface at a place (m)."""

    x: float
    text: str
    surface: int
    place: float


@dataclass(frozen=True)
class Placed:
    """A label with its row (0 is nearest to the picture) and the side its text lies on."""

    label: Label
    row: int
    anchor: str
    left: float
    right: float


def place(labels: Sequence[Label], size: float, least: float, most: float) -> list[Placed]:
    """Give every label the lowest row in which neither texts nor leaders cross.

    Texts lie left of their leaders, or right of them near the left edge ``least``; a text never
    passes the right edge ``most``. Where no row is free the leader crosses a text.
    """
    widths = {id(label): text_width(label.text, size) for label in labels}

    def near_edge(label: Label) -> bool:
        return label.x - FROM_LEADER - widths[id(label)] < least

    rightwards = sorted(filter(near_edge, labels), key=lambda label: -label.x)
    leftwards = sorted((label for label in labels if not near_edge(label)), key=lambda item: item.x)
    placed: list[Placed] = []
    for label in (*rightwards, *leftwards):
        sides = ("start",) if near_edge(label) else ("end", "start")
        placed.append(_lowest(label, sides, widths[id(label)], most, placed))
    return placed


def _lowest(
    label: Label, sides: Sequence[str], width: float, most: float, placed: Sequence[Placed]
) -> Placed:
    """The lowest free row on the first side that has one."""
    above = max((old.row for old in placed), default=-1) + 1
    for side in sides:
        for row in range(above + 1):
            candidate = _candidate(label, row, side, width, most)
            if _free(candidate, placed):
                return candidate
    return _candidate(label, above, sides[0], width, most)


def _candidate(label: Label, row: int, side: str, width: float, most: float) -> Placed:
    left = label.x - FROM_LEADER - width if side == "end" else label.x + FROM_LEADER
    left = min(left, most - width)
    return Placed(label, row, side, left, left + width)


def _free(new: Placed, placed: Sequence[Placed]) -> bool:
    """Whether the new label and its leader cross nothing placed so far."""
    for old in placed:
        if new.row == old.row and new.left < old.right + CLEAR and old.left < new.right + CLEAR:
            return False
        if old.row >= new.row and new.left - 2.0 < old.label.x < new.right + 2.0:
            return False
        if new.row >= old.row and old.left - 2.0 < new.label.x < old.right + 2.0:
            return False
    return True


def spread_out(wanted: Sequence[float], gap: float) -> list[float]:
    """Heights moved apart to at least ``gap``, in their order, about where they were wanted."""
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    groups: list[tuple[float, list[int]]] = []
    for i in order:
        groups.append((wanted[i], [i]))
        while len(groups) > 1:
            (above, first), (below, second) = groups[-2], groups[-1]
            if below - above >= 0.5 * gap * (len(first) + len(second)):
                break
            both = first + second
            centre = (above * len(first) + below * len(second)) / len(both)
            groups[-2:] = [(centre, both)]
    out = [0.0] * len(wanted)
    for centre, members in groups:
        for place_in_group, i in enumerate(members):
            out[i] = centre + gap * (place_in_group - 0.5 * (len(members) - 1))
    return out
