"""Where a mould is cut for the printer, and where the dowels of a cut stand."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.stages.record import result
from mandrelwright.stages.turned import Dowel

Array = NDArray[np.float64]

SKIN = 2e-3  # m; plastic round dowels and holes: four lines of a 0.45 mm nozzle, no source
CLEAR_OF_FIT = 3e-3  # m; a joint's step is sanded over a few millimetres, no source
FINE = 0.25e-3  # m; spacing of the places tried
KEYED = 0.25  # of the even spacing: how far the last dowel stands off it
HALVINGS = 30


@dataclass(frozen=True)
class Joint:
    """A cut square to the axis, and its dowels; heights above the lowest face, as printed.

    ``angles`` are unequal, so the upper piece goes on one way only; empty where there is no
    room.
    """

    name: str
    height: float = result("height of the cut in the print file", "mm")
    from_base: float = result("distance from the base trim line", "mm")
    circle: float = result("radius of the circle the dowels stand on", "mm")
    angles: tuple[float, ...] = result("where on it they stand", "deg")


def dowel_angles(count: int) -> tuple[float, ...]:
    """Angles of the dowels, rad: evenly spaced but the last, a quarter of the spacing late.

    The gaps g, g, …, 5g/4, 3g/4, g = 2π/count, repeat under no turn, so the piece goes on one
    way only.
    """
    spacing = 2.0 * math.pi / count
    return tuple(spacing * (k + KEYED * (k == count - 1)) for k in range(count))


@dataclass(frozen=True)
class Room:
    """What a cut needs: the upright profile (k,), what runs along the axis, dowels, limits, m."""

    z: Array
    r: Array
    column: float
    dowel: Dowel
    count: int
    lowest: float
    printer: float

    @property
    def least(self) -> float:
        """Least height of a piece: the socket and a skin over it."""
        return self.dowel.depth + self.dowel.SUNK + SKIN

    @property
    def most(self) -> float:
        """Greatest height of a piece that carries pins, which stand out of it."""
        return self.printer - self.dowel.height

    def circle(self, heights: Array) -> Array:
        """Radius of the dowels' circle at cuts of these heights (m); NaN where they have no room.

        Midway between column and wall, further out where the pins would meet: neighbours at the
        least angle a = 3/4·2π/n stand 2ρ sin(a/2) apart.
        """
        mouth = self.dowel.mouth
        reach = np.linspace(-self.dowel.SUNK, self.dowel.depth, 9)
        wall = np.min([np.interp(heights + rise, self.z, self.r) for rise in reach], axis=0)
        inner, outer = self.column + mouth, wall - SKIN - mouth
        apart = math.sin((1.0 - KEYED) * math.pi / self.count)
        least = np.maximum(inner, (2.0 * mouth + SKIN) / (2.0 * apart))
        middle = np.clip(0.5 * (inner + outer), least, None)
        return np.where(middle <= outer + 1e-12, middle, np.nan)

    def fewest(self, shut: list[tuple[float, float]]) -> list[float] | None:
        """Heights of the fewest cuts, pieces as even as they can be; None where none will do.

        Of every piece below another, socket + skin ≤ height ≤ printer's height − pin.
        ``shut`` are stretches where no cut may lie.  A cut as high as allowed leaves the fewest;
        of all limits that give as many pieces the lowest is sought by halving.
        """
        top = float(self.z[-1])
        places = np.arange(self.lowest + self.least, top - self.least, FINE)
        free = ~np.isnan(self.circle(places))
        for low, high in shut:
            free &= (places < low) | (places > high)
        places = places[free]
        best = self._climb(places, top, self.most, self.printer)
        if not best:
            return best
        low, high = 0.0, self.most
        for _ in range(HALVINGS):
            middle = 0.5 * (low + high)
            trial = self._climb(places, top, middle, middle)
            if trial is not None and len(trial) == len(best):
                best, high = trial, middle
            else:
                low = middle
        return best

    def _climb(self, places: Array, top: float, most: float, last: float) -> list[float] | None:
        """Cuts upwards, each as high as ``most`` allows, until no more than ``last`` is left."""
        cuts: list[float] = []
        foot = 0.0
        while top - foot > last:
            reached = places[(places >= foot + self.least) & (places <= foot + most)]
            if len(reached) == 0:
                return None
            foot = float(reached[-1])
            cuts.append(foot)
        return cuts
