"""A scan of this mould or part becomes readings at its marks."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.records import STAGES, Reading, Stage
from mandrelwright.job.values import InputError
from mandrelwright.physics import scan
from mandrelwright.physics.curves import Curve
from mandrelwright.plan import Plan
from mandrelwright.shop.entries import Entry, Photo, make
from mandrelwright.shop.log import Log, links, photo_of

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


def stage_of(text: str) -> Stage:
    """The stage a scan was taken at; raises InputError for none of them."""
    for stage in STAGES:
        if stage == text and stage != "ring":
            return stage
    known = ", ".join(stage for stage in STAGES if stage != "ring")
    raise InputError(f'stage "{text}" of a scan is not known', f"give --stage: {known}")


def scan_entries(found: Scan, about: Entry, file: Path, at: str = "") -> list[Entry]:
    """The scan's file, and its readings, as entries of the log."""
    head = links(about)
    form = ", ".join(f"{item.reading.mark}: oval {item.oval * 1e3:.3f} mm, "
                     f"lobes {item.lobes * 1e3:.3f} mm" for item in found.seen)  # fmt: skip
    scan_file = make(
        "photo", **head, **photo_of(file), caption=f"scan; half heights of form, {form}"
    )
    out = [scan_file]
    for reading in found.readings:
        place = {} if not reading.place else {"place": f"{reading.place * 1e3:.3f} mm"}
        reads = f"{reading.value * 1e3:.4f} mm +- {reading.spread * 1e3:.4f} mm"
        more = {"stage": reading.stage, "mark": reading.mark, "reads": reads, "temperature": at}
        out.append(make("reading", **head, **more, **place, source=scan_file.id))
    return out


def refuse_again(log: Log, about: Entry, file: Path) -> None:
    """Raises InputError for a scan whose readings of the same thing are in the log."""
    sha256 = photo_of(file)["sha256"]
    for number, entry in log.standing():
        if isinstance(entry, Photo) and entry.sha256 == sha256:
            own = links(about)
            if all(getattr(entry, name) == key for name, key in own.items()):
                told = f"{file.name} is in the log as entry {number}"
                raise InputError(told, f"withdraw {number} first, or import another scan")


def tell_scan(found: Scan) -> Iterator[str]:
    """What a person must know of a scan: marks it did not show, a place it did not tell."""
    for mark, reason in found.unread:
        yield f"mark {mark} is not read: {reason}"
    if not np.isfinite(found.placed):
        yield "its shape does not tell its place: its base end is laid on the drawing's"


def _drawn(plan: Plan, stage: Stage) -> Curve:
    """The surface that is scanned at a stage."""
    if stage in ("part", "finished"):
        return plan.fit.bore if plan.fit.lead.kind == "bore" else plan.stack.outside
    return plan.fit.file if stage == "printed" else plan.fit.ready
