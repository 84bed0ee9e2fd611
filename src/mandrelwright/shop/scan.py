"""A scan of this mould or part becomes readings at its marks."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.records import Reading, Stage
from mandrelwright.job.values import InputError
from mandrelwright.physics import scan
from mandrelwright.physics.curves import Curve
from mandrelwright.plan import Plan

Array = NDArray[np.float64]

BAND = 5e-3  # m, each way along the axis from a mark: longer than the noise needs, short for a nose
END_PLACE = 1e-3  # m: how well the ends of points tell a place along the axis, assumed
SCANNER = 0.05e-3  # m on a diameter of about 100 mm: a hobby scanner, common practice, no source


@dataclass(frozen=True)
class Seen:
    """A mark on a scan: its reading, and half the height of its oval and of its three lobes (m)."""

    reading: Reading
    oval: float
    lobes: float


@dataclass(frozen=True)
class Scan:
    """What a scan says: marks seen, marks not seen with the reason, and how well it is placed.

    placed: standard uncertainty along the axis (m); infinite where the shape does not tell, and
    then the base end of the points was laid on the drawing's.
    """

    seen: tuple[Seen, ...]
    unread: tuple[tuple[str, str], ...]
    placed: float

    @property
    def readings(self) -> tuple[Reading, ...]:
        """The readings alone."""
        return tuple(item.reading for item in self.seen)


def read_scan(
    plan: Plan, points: Array, stage: Stage, at: float | None = None, scanner: float = SCANNER
) -> Scan:
    """Readings at the marks of the plan's mould, or at the part's leading fit.

    points (n, 3) in m; scanner: standard uncertainty of a diameter from the machine itself (m).
    Raises InputError for points that are not this thing, or that show no mark.
    """
    drawing = _drawn(plan, stage)
    marks = plan.mould.marks[:1] if stage in ("part", "finished") else plan.mould.marks
    try:
        own = scan.find_axis(points).place(points)
        own = own[np.argsort(own[:, 0])]
        seat = scan.seat(own, drawing.x, drawing.r)
    except scan.ScanError as error:
        raise InputError(f"the scan: {error}", "check its unit and what was scanned") from None
    seen, unread = [], []
    for mark in marks:
        try:
            ring = scan.ring_at(own, seat.sense * (mark.x - seat.shift), BAND)
        except scan.ScanError as error:
            unread.append((mark.name, str(error)))
            continue
        spread = float(np.hypot(ring.doubt, scanner))
        place = min(seat.doubt, END_PLACE)
        reading = Reading(stage, mark.name, ring.diameter, spread, at, tool="scan", place=place)
        seen.append(Seen(reading, ring.oval, ring.lobes))
    if not seen:
        raise InputError(f"the scan shows no mark: {unread[0][1]}", "scan it all round")
    return Scan(tuple(seen), tuple(unread), seat.doubt)


def _drawn(plan: Plan, stage: Stage) -> Curve:
    """The surface that is scanned at a stage."""
    if stage in ("part", "finished"):
        return plan.fit.bore if plan.fit.lead.kind == "bore" else plan.stack.outside
    return plan.fit.file if stage == "printed" else plan.fit.ready
