"""The mould in section: outline with flange, holes and cavities, cuts with pins and sockets.

Millimetres; x from the tip trim line towards the base, y from the axis, as in the section. What
the pieces hold in the print file is brought back to the size of the finished mould.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.plan import Plan
from mandrelwright.quantities import show
from mandrelwright.stages.segments import Segment
from mandrelwright.stages.turned import Turned

Array = NDArray[np.float64]
Drawn = tuple[str, Array, bool]
"""Layer, line (n, 2) in mm, whether it is closed."""

IN_PLANE = 1e-9  # m off the plane of the section


@dataclass(frozen=True)
class Upright:
    """Where heights and radii of the print file come to lie in the section."""

    plan: Plan

    @property
    def foot(self) -> float:
        """Thickness of the flange in the print file, m."""
        flange = self.plan.print.flange
        return flange[1] if flange else 0.0

    def at(self, radii: Array, heights: Array) -> Array:
        """Places (n, 2) in mm of radii and heights above the lowest face, m."""
        plan, file = self.plan, self.plan.fit.file.x
        up = 1.0 if plan.segments.base_down else -1.0
        along = file[-1] + self.foot - heights if up > 0.0 else file[0] + heights
        beyond = np.maximum(along - file[-1], 0.0)
        x = np.interp(along, file, plan.mould.curve.x) + beyond - plan.shape.tip
        return 1e3 * np.stack((x, radii * (1.0 - plan.fit.sizes.shrink_across)), axis=1)


def draw_mould(plan: Plan) -> Iterator[Drawn]:
    """Everything of the mould that a plane through its axis and first dowel meets.

    Marks (0.15 mm deep, waxed flush) are left out.
    """
    yield "MOULD", _loop(plan), True
    upright = Upright(plan)
    top = plan.print.total_height
    for x, diameter in plan.print.holes():
        for side in (-0.5, 0.5):
            radii = np.full(2, x + side * diameter)
            yield "HOLES", upright.at(radii, np.array([0.0, top])), False
    for piece in plan.segments.pieces:
        yield from _piece(plan, upright, piece)
    for joint in plan.segments.joints:
        radius = float(np.interp(joint.height - upright.foot, plan.print.height, plan.print.radius))
        reach = np.array([-radius, radius])
        yield "JOINTS", upright.at(reach, np.full(2, joint.height)), False


def spans(plan: Plan) -> Iterator[tuple[str, float, float]]:
    """Name and both ends, x from the tip, of the lengths of the mould that are dimensioned, m."""
    base = plan.shape.base
    yield from ((joint.name, base - joint.from_base, base) for joint in plan.segments.joints)
    if flange := plan.job.mould.flange:
        yield "flange", plan.shape.stop, plan.shape.stop + flange.thickness.value


def legend(plan: Plan) -> Iterator[str]:
    """Holes and dowels in words."""
    mould, made = plan.job.mould, plan.segments
    across = 1.0 - plan.fit.sizes.shrink_across
    if mould.pull_rod is not None:
        yield f"pull-rod hole ø {show(mould.pull_rod.value, 'mm', 1)}, right through"
    if mould.vent is not None:
        (beside,) = (x for x, d in plan.print.holes() if d == plan.print.vent)
        off = f"{show(beside * across, 'mm', 1)} off the axis" if beside else "on the axis"
        yield f"vent ø {show(mould.vent.value, 'mm', 1)}, {off}, right through"
    if mould.flange is not None and made.screws:
        circle = show(2.0 * made.screw_circle * across, "mm", 1)
        yield f"{made.screws} push-off screws {mould.flange.thread} on ø {circle} in the flange"
    for joint in made.joints:
        if joint.angles:
            stated = mould.dowels
            yield (
                f"{joint.name}: {len(joint.angles)} dowels ø {show(stated.diameter.value, 'mm', 1)}"
                f" on ø {show(2.0 * joint.circle * across, 'mm', 1)}"
            )


def _loop(plan: Plan) -> Array:
    """The finished mould's outline, flange and all, both halves, (n, 2) in mm."""
    x, r = 1e3 * (plan.stack.x[0] - plan.shape.tip), 1e3 * plan.stack.r[0]
    upper = np.stack((x, r), axis=1)
    if flange := plan.job.mould.flange:
        rim, thickness = 0.5e3 * flange.diameter.value, 1e3 * flange.thickness.value
        upper = np.vstack((upper, [[x[-1], rim], [x[-1] + thickness, rim]]))
    return np.vstack((upper, upper[::-1] * np.array([1.0, -1.0])))


def _piece(plan: Plan, upright: Upright, piece: Segment) -> Iterator[Drawn]:
    """Cavities, push-off and air holes, sockets and pins of one piece that lie in the plane."""
    through = {x for x, _ in plan.print.holes()}
    for solid in piece.takes:
        if solid.x not in through or len(solid.contour) > 4:
            top = piece.high
            if solid.x and abs(solid.x) > plan.print.radius[0]:
                top = upright.foot
            yield from _turned(upright, solid, piece.low, (piece.low, top), "HOLES")
    for solid in piece.sockets:
        yield from _turned(upright, solid, piece.low, (piece.low, piece.high), "JOINTS")
    for solid in piece.pins:
        yield from _turned(upright, solid, piece.low, (piece.high, np.inf), "JOINTS")


def _turned(
    upright: Upright, solid: Turned, low: float, kept: tuple[float, float], layer: str
) -> Iterator[Drawn]:
    """Both halves of a turned solid about its own axis, where that lies in the plane."""
    if abs(solid.y) > IN_PLANE:
        return
    radii, heights = solid.contour[:, 0], np.clip(solid.contour[:, 1] + low, *kept)
    for side in (1.0, -1.0):
        yield layer, upright.at(solid.x + side * radii, heights), True
