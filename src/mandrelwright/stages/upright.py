"""The compensated mould as it stands on the printer's bed: which end is down, marks cut in."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.spec import Job
from mandrelwright.stages.fit import Fit
from mandrelwright.stages.mould import READABLE_SLOPE, Mould
from mandrelwright.stages.print import PrintForm
from mandrelwright.stages.record import result
from mandrelwright.stages.shape import Shape
from mandrelwright.stages.turned import decimate

Array = NDArray[np.float64]

GROOVE = 0.15e-3  # m; seen and felt by a nail, filled flush by wax; no source
NARROWEST_FOOT = 8e-3  # m; radius: a mould does not stand on less


@dataclass(frozen=True, eq=False)
class Upright:
    """Profile of the mould (k,) over height above the bed, m; the flange is not part of it.

    ``wanted`` is x of the part's places, ``file`` where they lie in the print file.
    """

    z: Array
    r: Array
    base_down: bool
    flange: tuple[float, float] | None
    wanted: Array
    file: Array

    def height(self, x: float) -> float:
        """Height of a place of the part, x from its tip."""
        at = float(np.interp(x, self.wanted, self.file))
        return float(self.z[0] + self.file[-1] - at if self.base_down else at - self.file[0])

    def place(self, height: float) -> float:
        """x from the part's tip of a height."""
        at = self.file[-1] - (height - self.z[0]) if self.base_down else self.file[0] + height
        return float(np.interp(at, self.file, self.wanted))

    def span(self, start: float, stop: float) -> tuple[float, float]:
        """Lower and upper height of a stretch of the part, from x to x."""
        low, high = sorted((self.height(start), self.height(stop)))
        return low, high

    @property
    def top(self) -> float:
        """Height of the topmost face."""
        return float(self.z[-1])


def stand(job: Job, fit: Fit, mould: Mould, form: PrintForm) -> Upright:
    """Stand the mould on its base; on its tip only if that leans less, without a flange.

    A face that widens upwards hangs over: lean = dr/dz.
    """
    z, r = np.asarray(form.height), np.asarray(form.radius)
    lean = np.diff(r) / np.diff(z)
    limit = math.tan(job.printer.steepest.value)
    turned = lean.max() > limit and -lean.min() < lean.max() and r[-1] > NARROWEST_FOOT
    x, file = mould.curve.x, fit.file.x
    if turned and form.flange is None:
        return Upright((z[-1] - z)[::-1], r[::-1], False, None, x, file)
    foot = form.flange[1] if form.flange else 0.0
    return Upright(z + foot, r, True, form.flange, x, file)


@dataclass(frozen=True)
class Groove:
    """A shallow ring cut to find a place again: trim line, end of a fit, caliper mark.

    It lies at the ends of fits, never inside one, and elsewhere only where the slope is low.
    """

    name: str
    height: float = result("height in the print file", "mm")
    from_base: float = result("distance from the base trim line", "mm")
    depth: float = result("depth", "mm")


def find_grooves(shape: Shape, mould: Mould, upright: Upright) -> list[Groove]:
    """Both trim lines, both ends of every fit, and the caliper marks that lie outside fits.

    Of two nearer than 10 depths only the first is cut: |Δheight| ≥ 10·depth.
    """
    places = [("base trim line", shape.base), ("tip trim line", shape.tip)]
    for fit in shape.fits:
        places += [(f"{fit.name}, base end", fit.stop), (f"{fit.name}, tip end", fit.start)]
    inside = [(fit.start, fit.stop) for fit in shape.fits]
    places += [
        (f"mark {mark.name}", mark.x)
        for mark in mould.marks
        if abs(mark.slope) <= READABLE_SLOPE
        and not any(low <= mark.x <= high for low, high in inside)
    ]
    grooves: list[Groove] = []
    for name, x in places:
        height = upright.height(x)
        free = all(abs(height - other.height) > 10.0 * GROOVE for other in grooves)
        kept = upright.z[0] + GROOVE < height < upright.top - GROOVE
        if free and kept and float(np.interp(height, upright.z, upright.r)) > NARROWEST_FOOT:
            grooves.append(Groove(name, height, shape.base - x, GROOVE))
    return sorted(grooves, key=lambda groove: groove.height)


def with_grooves(upright: Upright, grooves: list[Groove], steepest: float) -> tuple[Array, Array]:
    """Height and radius (k,) of the profile with its grooves: a V with flanks the printer lays.

    Points that lie on the line between their neighbours are dropped.

    Half width h = d/(tan s − r'), d depth, s the printer's angle up to 45°, r' the slope.
    """
    z, r = upright.z, upright.r
    flank = math.tan(min(steepest, math.pi / 4))
    for groove in grooves:
        at = groove.height
        slope = float(np.interp(at, upright.z, np.gradient(upright.r, upright.z)))
        half = groove.depth / max(flank - max(slope, 0.0), 0.1)
        sides = np.array([at - half, at, at + half])
        cut = np.interp(sides, upright.z, upright.r) - np.array([0.0, groove.depth, 0.0])
        outside = (z < sides[0]) | (z > sides[2])
        order = np.argsort(np.concatenate([z[outside], sides]))
        z = np.concatenate([z[outside], sides])[order]
        r = np.concatenate([r[outside], cut])[order]
    line = decimate(np.column_stack([r, z]))
    return line[:, 1], line[:, 0]
