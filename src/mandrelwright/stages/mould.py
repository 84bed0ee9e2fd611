"""Step 5, Mould: the wanted mould, whether the part comes off it, and how every layer ends."""

from __future__ import annotations

from dataclasses import dataclass
from string import ascii_uppercase

import numpy as np
from numpy.typing import NDArray

from mandrelwright.findings import mould as say
from mandrelwright.findings.finding import Finding
from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.physics.curves import Curve
from mandrelwright.stages.ends import ENDS, LayerEnd, find_ends
from mandrelwright.stages.layers import STEEPEST_OF_RAMP
from mandrelwright.stages.record import result
from mandrelwright.stages.shape import Shape
from mandrelwright.stages.stack import Stack

Array = NDArray[np.float64]

COMES_OFF = 2e-6  # m: below what a print or a film can resolve
MARK_APART = 10e-3  # m: nearer marks tell nothing new
READABLE_SLOPE = np.tan(np.radians(7.0))  # 1 mm of position is then 0.25 mm of diameter


@dataclass(frozen=True)
class Mark:
    """A place to set the calipers: letter, x from the tip, distance from the base, what it is."""

    name: str
    x: float = result("from the tip of the full profile", "mm")
    from_base: float = result("from the base trim line", "mm")
    diameter: float = result("diameter wanted of the finished mould there", "mm")
    slope: float = result("slope of the mould there")
    purpose: str = result("what it tells")


@dataclass(frozen=True)
class Mould:
    """The finished mould wanted at the reference temperature, trim margins included."""

    curve: Curve = result("surface wanted of the finished mould", "mm", (), ("stack.mould",))
    slope: Array = result("slope dr/dx of that surface", uses=("stack.mould",))
    undercut: Array = result(
        "by how much a place is smaller than one the bore must pass",
        "mm",
        uses=("mould.curve", "job.mould.leaves"),
    )
    comes_off: bool = result("the bore can be swept off the mould", uses=("mould.undercut",))
    marks: tuple[Mark, ...] = result(
        "caliper marks, A on the leading fit",
        "",
        (),
        ("mould.curve", "mould.slope", "shape.fits", "shape.tip", "shape.base"),
    )
    ends: tuple[LayerEnd, ...] = result("how every layer ends", "", find_ends, ENDS)


def want_mould(job: Job, shape: Shape, stack: Stack, library: Library) -> Mould:
    """The mould the layers ask for, swept for coming off, with marks and layer ends.

    The part leaves along the axis; a place of the bore passes every place of the mould on its
    way, so it comes off when undercut = largest radius still to pass − own radius is never
    above 2 µm.
    Shrink of the part is the same strain before and during the sweep at equal places: it makes
    the part grip (a question for the cold), not interlock.
    """
    curve = stack.mould
    tangent = stack.meridian.tangent(curve)
    slope = tangent.sine / tangent.cosine
    undercut = sweep(curve.r, job.mould.leaves == "tipwards")
    marks = _marks(shape, curve, slope)
    ends = find_ends(job, shape, stack, library)
    return Mould(curve, slope, undercut, bool(undercut.max() <= COMES_OFF), marks, ends)


def sweep(radius: Array, tipwards: bool) -> Array:
    """Interference of each place of a bore with the mould it passes on the way off (m).

    radius (place,) from tip to base; the bore starts in contact everywhere.
    """
    r = radius if tipwards else radius[::-1]
    depth = np.maximum.accumulate(r) - r
    return depth if tipwards else depth[::-1]


def _marks(shape: Shape, curve: Curve, slope: Array) -> tuple[Mark, ...]:
    """Caliper marks: the leading fit's middle first, the other fits, then the mid of the rest."""
    places = sorted(shape.fits, key=lambda place: not place.fit.leads)
    wanted = [(0.5 * (place.start + place.stop), place.fit.name) for place in places]
    wanted.append((0.5 * (shape.tip + shape.base), "shape check"))
    marks: list[Mark] = []
    for x, purpose in wanted:
        if all(abs(x - mark.x) >= MARK_APART for mark in marks):
            radius = float(np.interp(x, curve.x, curve.r))
            local = float(np.interp(x, curve.x, slope))
            name = ascii_uppercase[len(marks)]
            marks.append(Mark(name, x, shape.base - x, 2.0 * radius, local, purpose))
    return tuple(marks)


def check_mould(
    job: Job, shape: Shape, stack: Stack, mould: Mould, library: Library
) -> list[Finding]:
    """Coming off, the flange in the way, marks on slopes, slip and growth of the layers."""
    found = []
    if not mould.comes_off:
        found.append(say.undercut(*_undercut_place(mould), shape.base, job.mould.leaves))
    if job.mould.flange is not None and job.mould.leaves == "basewards":
        found.append(say.flange_blocks())
    found += [
        say.sloping_mark(mark.name, mark.x, mark.slope)
        for mark in mould.marks
        if abs(mark.slope) > READABLE_SLOPE
    ]
    ridges = [end for end in mould.ends if end.ridge > 0.0]
    if ridges:
        worst = max(ridges, key=lambda end: end.ridge)
        stretch = (min(end.x for end in ridges), max(end.x for end in ridges))
        found.append(say.ridges(len(ridges), shape.base, worst.ridge, worst.width, stretch))
    found += _rebates(shape, stack, library)
    found += [
        say.cannot_grow(end.layer, end.side, end.x, end.growth, end.slip)
        for end in mould.ends
        if end.free and end.growth > end.slip
    ]
    return found


def _rebates(shape: Shape, stack: Stack, library: Library) -> list[Finding]:
    """Whether the rebates earn themselves, by the worst: ridge after a slide, against fairing.

    Slid by δ a ramp of length L leaves t·min(1, 1.875 δ/L); a square end faired outside, t/2.
    """
    ragged = library.practice["braid"]["ragged_end"].value
    ends = []
    for layer in stack.layers:
        for end in (layer.start, layer.stop):
            if layer.rebate and np.isfinite(end):
                t = layer.thickness(stack.scale * shape.radius(end))
                slid = t * min(1.0, STEEPEST_OF_RAMP * ragged / layer.ramp)
                ends.append((slid - 0.5 * t, layer.label, end, slid, 0.5 * t))
    if not ends:
        return []
    _, label, x, slid, faired = max(ends)
    return [say.rebate_to_earn(len(ends), label, x, ragged, slid, faired)]


def _undercut_place(mould: Mould) -> tuple[float, float, float]:
    """Worst undercut (m) and the stretch over which the bore would interlock."""
    caught = np.flatnonzero(mould.undercut > COMES_OFF)
    worst = float(mould.undercut.max())
    return worst, float(mould.curve.x[caught[0]]), float(mould.curve.x[caught[-1]])
