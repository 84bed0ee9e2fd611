"""Which layers share a cup of resin: as few cups as pot life and size allow, filled evenly."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

EVENING_STEPS = 24  # halvings of the cup's size: to a ten-millionth of the largest


@dataclass(frozen=True)
class Work:
    """What one layer asks: resin (kg); before it, wetting and squeezing it (s)."""

    resin: float
    before: float
    wet: float
    squeeze: float


@dataclass(frozen=True)
class Share:
    """One part of so many, equal ones, of the layer of this number (from 0)."""

    layer: int
    part: int = 0
    parts: int = 1


Cupful = tuple[Share, ...]


def fill_cups(work: Sequence[Work], most: float, lasts: float) -> list[Cupful]:
    """Fewest cups for the layers in order, then the smallest largest cup among so many.

    In every cup resin ≤ most and time ≤ lasts.
    A cup serves whole layers one after another, or an equal part of one that asks for more than
    ``most`` (kg) or more than ``lasts`` (s) of wetting. ``lasts`` counts from the end of mixing
    to the end of wetting, what is squeezed and pulled in between included. Both positive, either
    may be inf. Taking each cup as far as it goes is fewest, because every shorter run of a
    feasible run is feasible too.
    """
    fewest = _greedy(work, most, lasts)
    low, high = 0.0, min(most, sum(item.resin for item in work))
    for _ in range(EVENING_STEPS if high > 0.0 else 0):
        middle = 0.5 * (low + high)
        if len(_greedy(work, middle, lasts)) == len(fewest):
            high = middle
        else:
            low = middle
    return _greedy(work, high, lasts) if high > 0.0 else fewest


def _greedy(work: Sequence[Work], most: float, lasts: float) -> list[Cupful]:
    """Every cup taken as far as it goes; a layer that takes several shares none of them."""
    cups: list[Cupful] = []
    resin = time = 0.0
    open_cup = False
    for number, item in enumerate(work):
        parts = max(1, math.ceil(item.resin / most), math.ceil(item.wet / lasts))
        if parts > 1:
            cups += [(Share(number, part, parts),) for part in range(parts)]
            open_cup = False
            continue
        resin += item.resin
        time += item.before + item.wet + (work[number - 1].squeeze if number else 0.0)
        if open_cup and resin <= most and time <= lasts:
            cups[-1] = (*cups[-1], Share(number))
        else:
            cups.append((Share(number),))
            resin, time, open_cup = item.resin, item.wet, True
    return cups
