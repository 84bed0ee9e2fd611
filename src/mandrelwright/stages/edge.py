"""Step 12, Joints: the cord that comes taut across the open edge of the wall."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.physics import joints
from mandrelwright.physics.strength import resin_kept
from mandrelwright.stages.flight import Flight
from mandrelwright.stages.record import result
from mandrelwright.stages.shape import Shape
from mandrelwright.stages.stack import Stack

CORD = ("job.flight.cord | materials.practice.joints.cord_width",)
DRAWN = ("flight.cases", "job.flight.zippering | materials.practice.flight.zippering")
WALL = ("shape.base", "stack.wall", "flight.cases", "flight.glass", "materials.practice.strength.*")
BEARS = (
    *CORD, *WALL, *(f"materials.practice.joints.{key}" for key in ("bearing", "tear_out")),
)  # fmt: skip
JUDGED = (*BEARS, *DRAWN)


@dataclass(frozen=True)
class Edged:
    """The open edge at the base under the cord: what cuts and tears it, what pulls; N."""

    width: float = result("width of the cord", "mm", (), CORD)
    wall: float = result("wall at the base", "mm", (), ("shape.base", "stack.wall"))
    force: float = result("pull of the cord", "N", (), DRAWN, "force_spread")
    force_spread: float = result("its standard uncertainty", "N", (), DRAWN)
    kept: float = result("share of its strength that the resin keeps then", "%", resin_kept, WALL)
    cut: float = result("force that crushes the edge under it", "N", joints.edge_holds, BEARS)
    tear: float = result("force that tears the wall beside it", "N", joints.edge_holds, BEARS)
    factor: float = result(
        "the lesser over the pull", "", joints.edge_holds, JUDGED, "factor_spread"
    )
    factor_spread: float = result("its standard uncertainty", "", (), JUDGED)

    @property
    def reserve(self) -> float:
        """The factor less one spread."""
        return self.factor - self.factor_spread


def hang_on_edge(
    job: Job, shape: Shape, stack: Stack, flight: Flight | None, library: Library
) -> Edged | None:
    """The cord sawing at the open edge, warm as at ejection; none where nothing pulls.

    F = m a against w t σ_b, what is crushed under a cord of width w, and 2 w t τ, two planes
    beside it as long as it is wide. Where a coupler is glued into the base the cord leans on
    that and not on the wall.
    """
    taut = None if flight is None else flight.case("zippering")
    if flight is None or job.flight is None or taut is None or not taut.edge > 0.0:
        return None
    if _glued_at_base(job, shape):
        return None
    practice, lent = library.practice["joints"], library.practice["flight"]["zippering"]
    cord, stated = job.flight.cord, job.flight.zippering
    width, doubt = practice["cord_width"].value, practice["cord_width"].spread
    if cord is not None:
        width, doubt = cord.value, cord.spread
    pull = 0.0 if stated is not None else lent.spread / lent.value
    warm, heat = float(taut.mean[-1]), library.practice["strength"]
    kept = float(
        resin_kept(warm, flight.glass, heat["resin_reference"].value, heat["resin_exponent"].value)
    )
    wall = float(np.interp(shape.base, 0.5 * (stack.x[0] + stack.x[-1]), stack.wall))
    bearing, shear = practice["bearing"], practice["tear_out"]
    ways = joints.edge_holds(width, wall, kept * bearing.value, kept * shear.value)
    cut, tear = (float(force) for force in ways)
    weaker = bearing if cut < tear else shear
    factor = min(cut, tear) / taut.edge
    relative = math.hypot(weaker.spread / weaker.value, doubt / width, pull)
    return Edged(
        width, wall, taut.edge, taut.edge * pull, kept, cut, tear, factor, factor * relative
    )


def _glued_at_base(job: Job, shape: Shape) -> bool:
    """Whether a coupler is glued into the base end."""
    glued = None if job.assembly is None else job.assembly.bond
    place = next((p for p in shape.fits if glued is not None and p.name == glued.fit), None)
    return place is not None and shape.base - place.stop < place.start - shape.tip
