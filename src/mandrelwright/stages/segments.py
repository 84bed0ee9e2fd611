"""Step 9, Print, continued: the pieces the mould is printed in, each as solids to put together."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.job.tooling import Thread
from mandrelwright.stages.cuts import CLEAR_OF_FIT, SKIN, Joint, Room, dowel_angles
from mandrelwright.stages.filament import Filament, spend
from mandrelwright.stages.fit import Fit
from mandrelwright.stages.hollow import AIR, Cavity, Hollow, air_distance, find_cavities
from mandrelwright.stages.mould import Mould
from mandrelwright.stages.print import HOLE_WALL, PrintForm
from mandrelwright.stages.record import derived, result
from mandrelwright.stages.shape import Shape
from mandrelwright.stages.turned import Dowel, Turned, pillar, steepest_face
from mandrelwright.stages.upright import Groove, Upright, find_grooves, stand, with_grooves

Array = NDArray[np.float64]

LONGEST_DOWEL = 15e-3  # m; a longer pin finds its socket no better
OVERSHOOT = 1e-3  # m; cutters stick out of what they cut: surfaces never coincide

TAP_DRILLS: dict[Thread, float] = {
    "M3": 2.5e-3,
    "M4": 3.3e-3,
    "M5": 4.2e-3,
    "M6": 5.0e-3,
    "M8": 6.8e-3,
    "M10": 8.5e-3,
    "M12": 10.2e-3,
}
"""Tap drills of the ISO metric coarse threads: nominal less pitch. ISO 2306, from memory."""

ACROSS, UP = "fit.sizes.shrink_across", "fit.sizes.shrink_up"
UPRIGHT = ("print.height", "print.radius", "print.flange", "job.printer.steepest")
CUT = (
    *(*UPRIGHT, "print.pull_rod", "print.vent", "shape.fits", ACROSS, UP),
    *("job.mould.split_at", "job.mould.dowels", "job.printer.height"),
)
MADE = (*UPRIGHT, "segments.joints", "segments.grooves", "job.mould.core", "segments.screw")


@dataclass(frozen=True)
class Segment:
    """One piece as printed, its down-face at height 0.

    A body, what is taken from it (cavities, holes), its sockets below and its pins on top.
    """

    name: str
    body: Turned
    takes: tuple[Turned, ...]
    sockets: tuple[Turned, ...]
    pins: tuple[Turned, ...]
    low: float = result("height of its down-face in the mould", "mm", (), MADE)
    high: float = result("height of its upper face in the mould", "mm", (), MADE)
    genus: int = result("through holes of its surface", "", (), MADE)
    overhang: float = result("steepest face, from vertical", "deg", steepest_face, MADE)
    volume: float = result("volume of the solid", "cm^3", (), MADE)
    filament: Filament = result("plastic, time and cost", "", spend)

    @property
    @derived("mm", None, *MADE)
    def printed_height(self) -> float:
        """Height on the bed with its pins, m."""
        tops = [float(pin.contour[:, 1].max()) for pin in self.pins]
        return max([self.high - self.low, *tops])


@dataclass(frozen=True)
class Segments:
    """How the mould is cut, pinned, marked and hollowed, and every piece of it."""

    dowel: Dowel
    base_down: bool = result("the base stands on the bed", "", stand, UPRIGHT)
    joints: tuple[Joint, ...] = result(
        "cuts with their dowels, upwards",
        "",
        (Room.fewest, dowel_angles),
        CUT,
    )
    complete: bool = result("cuts were found that fit the printer", "", Room.fewest, CUT)
    grooves: tuple[Groove, ...] = result(
        "marks cut into the surface", "", find_grooves, ("shape.fits", "mould.marks", *UPRIGHT)
    )
    screws: int = result("push-off screws in the flange", "", (), ("job.mould.flange",))
    screw: float = result(
        "their holes in the print file, for the tap", "mm", (), ("job.mould.flange", ACROSS)
    )
    screw_circle: float = result(
        "radius of the circle they stand on", "mm", (), ("print.radius", "segments.screw")
    )
    bay: float = result(
        "longest bare bay of the hollow wall", "mm", find_cavities, ("job.mould.core",)
    )
    bay_radius: float = result(
        "middle radius of that wall", "mm", find_cavities, ("print.radius", "job.mould.core")
    )
    pieces: tuple[Segment, ...] = result("the pieces, upwards", "", ())


def cut_segments(
    job: Job, shape: Shape, mould: Mould, fit: Fit, form: PrintForm, library: Library
) -> Segments:
    """Cut the print file's mould into pieces for the bed and give each its solids.

    Dowels, holes and screws take the print's shrink: in the file = stated/(1 − s), across and
    up each by its own.
    """
    upright = stand(job, fit, mould, form)
    across, up = 1.0 - fit.sizes.shrink_across, 1.0 - fit.sizes.shrink_up
    dowel = make_dowel(job, across, up)
    column = max((x + d / 2.0 + HOLE_WALL for x, d in form.holes()), default=0.0)
    heights, complete = _cuts(job, shape, upright, dowel, column)
    joints = _joints(job, shape, upright, dowel, column, heights)
    grooves = find_grooves(shape, mould, upright)
    screws = _screws(job, form, across)
    plan = _Carving(job, form, upright, dowel, joints, grooves, column, screws, across)
    pieces, bays = plan.carve(library)
    bay = max(bays, default=(0.0, 0.0))
    return Segments(
        dowel,
        upright.base_down,
        tuple(joints),
        complete,
        tuple(grooves),
        *screws,
        *bay,
        tuple(pieces),
    )


def make_dowel(job: Job, across: float, up: float) -> Dowel:
    """The pin in the print file: as stated over 1 − s; as long as thick, at most 15 mm."""
    stated = job.mould.dowels
    return Dowel(
        stated.diameter.value / 2.0 / across,
        min(stated.diameter.value, LONGEST_DOWEL) / up,
        stated.taper.value,
        stated.gap.value / across,
        1.0 / math.tan(job.printer.steepest.value),
    )


def _room(job: Job, upright: Upright, dowel: Dowel, column: float) -> Room:
    foot = upright.flange[1] if upright.flange else 0.0
    count = job.mould.dowels.count
    return Room(upright.z, upright.r, column, dowel, count, foot, job.printer.height.value)


def _cuts(
    job: Job, shape: Shape, upright: Upright, dowel: Dowel, column: float
) -> tuple[list[float], bool]:
    """Heights of the cuts, stated or chosen, and whether that could be done."""
    if job.mould.split_at != "auto":
        places = [job.from_tip(place.value) for place in job.mould.split_at]
        heights = sorted(upright.height(x) for x in places)
        return [height for height in heights if 0.0 < height < upright.top], True
    shut = [upright.span(fit.start, fit.stop) for fit in shape.fits]
    shut = [(low - CLEAR_OF_FIT, high + CLEAR_OF_FIT) for low, high in shut]
    found = _room(job, upright, dowel, column).fewest(shut)
    return found or [], found is not None


def _joints(
    job: Job, shape: Shape, upright: Upright, dowel: Dowel, column: float, heights: list[float]
) -> list[Joint]:
    """Each cut with its dowels; without where there is no room or the next cut is too near."""
    room = _room(job, upright, dowel, column)
    around = [upright.z[0] if upright.flange else 0.0, *heights, upright.top]
    joints = []
    for number, height in enumerate(heights, 1):
        near = min(height - around[number - 1], around[number + 1] - height) < room.least
        circle = float(room.circle(np.array([height]))[0])
        angles = () if near or math.isnan(circle) else dowel_angles(job.mould.dowels.count)
        joints.append(
            Joint(f"joint {number}", height, shape.base - upright.place(height), circle, angles)
        )
    return joints


def _screws(job: Job, form: PrintForm, across: float) -> tuple[int, float, float]:
    """Count, diameter and circle of the push-off screws' holes, as near the mould as they may."""
    flange = job.mould.flange
    if flange is None or form.flange is None or flange.push_off_screws is None:
        return 0, 0.0, 0.0
    drill = TAP_DRILLS[flange.thread] / across
    return flange.push_off_screws, drill, float(form.radius[0]) + SKIN + drill / 2.0


@dataclass(frozen=True)
class _Carving:
    """All that decides the solids of the pieces."""

    job: Job
    form: PrintForm
    upright: Upright
    dowel: Dowel
    joints: list[Joint]
    grooves: list[Groove]
    column: float
    screws: tuple[int, float, float]
    across: float

    def carve(self, library: Library) -> tuple[list[Segment], list[tuple[float, float]]]:
        """The pieces upwards, and length and radius of every bay."""
        faces = [0.0, *(joint.height for joint in self.joints), self.upright.top]
        rooms = [self._cavities(number, *span) for number, span in enumerate(pairwise(faces))]
        profile = with_grooves(self.upright, self.grooves, self.job.printer.steepest.value)
        last = max((number for number, found in enumerate(rooms) if found), default=-1)
        pieces = [
            self._piece(number, low, high, rooms[number], number - last, profile, library)
            for number, (low, high) in enumerate(pairwise(faces))
        ]
        return pieces, [(cavity.bay, cavity.radius) for found in rooms for cavity in found]

    def _cavities(self, number: int, low: float, high: float) -> list[Cavity]:
        core = self.job.mould.core
        if core.hollow is None:
            return []
        wall, diaphragm = core.hollow.value / self.across, core.diaphragm.value
        spread = math.tan(self.job.printer.steepest.value)
        hollow = Hollow(wall, diaphragm, core.bay.value, self.column, spread)
        plate = self.dowel.depth + SKIN if number and self.joints[number - 1].angles else diaphragm
        z, r = self.upright.z, self.upright.r
        return find_cavities(z, r, max(low + plate, float(z[0])), high - diaphragm, hollow)

    def _piece(
        self,
        number: int,
        low: float,
        high: float,
        rooms: list[Cavity],
        beyond: int,
        profile: tuple[Array, Array],
        library: Library,
    ) -> Segment:
        """One piece; ``beyond``: how many pieces it stands above the last one with a cavity."""
        holes = self.form.holes()
        axial = next((d / 2.0 for x, d in holes if x == 0.0), 0.0)
        body = Turned(self._outline(low, high, axial, profile))
        beside = [(x, d) for x, d in holes if x > 0.0]
        through = [self._bore(d / 2.0, low, high).at(x, 0.0) for x, d in beside]
        count, drill, circle = self.screws if number == 0 else (0, 0.0, 0.0)
        foot = self.upright.flange[1] if self.upright.flange else 0.0
        around = _on_circle(circle, [2.0 * math.pi * k / count for k in range(count)])
        drilled = [self._bore(drill / 2.0, 0.0, foot).at(x, y) for x, y in around]
        cavities = [room.body.at(0.0, 0.0, -low) for room in rooms]
        air = self._air_hole(low, high, rooms, beyond)
        below = self.joints[number - 1] if number else None
        above = self.joints[number] if number < len(self.joints) else None
        sockets = tuple(self.dowel.socket().at(x, y) for x, y in _stands(below))
        pins = tuple(self.dowel.pin().at(x, y, high - low) for x, y in _stands(above))
        takes = (*cavities, *through, *drilled, *air)
        ring = 1 if self.column else 0
        genus = (axial > 0.0) + len(beside) + count + ring * len(rooms) + (beyond < 0)
        solid = body.volume - sum(room.volume for room in cavities)
        solid += self.dowel.added * len(pins) - self.dowel.removed * len(sockets)
        solid -= sum(math.pi / 4.0 * d**2 * (high - low) for _, d in beside)
        solid -= math.pi / 4.0 * drill**2 * foot * count
        return Segment(
            self._name(number),
            body,
            takes,
            sockets,
            pins,
            low,
            high,
            int(genus),
            max(
                steepest_face(body.contour),
                *(steepest_face(room.contour, hollow=True) for room in cavities),
                *(steepest_face(room.contour, hollow=True) for room in sockets[:1]),
                0.0,
            ),
            solid,
            spend(self.job, body.contour, solid, high - low, library),
        )

    def _name(self, number: int) -> str:
        if not self.joints:
            return "mould"
        ends = ("base", "tip") if self.upright.base_down else ("tip", "base")
        end = {0: f" {ends[0]}", len(self.joints): f" {ends[1]}"}.get(number, "")
        return f"segment {number + 1}{end}"

    def _outline(
        self, low: float, high: float, axial: float, profile: tuple[Array, Array]
    ) -> Array:
        """Contour of a piece: its stretch of the profile, the flange, the hole on the axis."""
        z, r = profile
        inside = (z > low) & (z < high)
        ends = np.interp([low, high], z, r)
        line = np.column_stack([[ends[0], *r[inside], ends[1]], [low, *z[inside], high]])
        if low == 0.0 and self.upright.flange is not None:
            rim, thickness = self.upright.flange
            line = np.vstack([[rim, 0.0], [rim, thickness], [r[0], thickness], line[2:]])
        if line[-1, 0] > axial:
            line = np.vstack([line, [axial, high]])
        line = np.vstack([[axial, low], line])
        outline: Array = line - np.array([0.0, low])
        return outline

    def _bore(self, radius: float, low: float, high: float) -> Turned:
        return pillar(radius, -OVERSHOOT, high - low + OVERSHOOT)

    def _air_hole(self, low: float, high: float, rooms: list[Cavity], beyond: int) -> list[Turned]:
        """The hole that joins all cavities and opens at the base, away from the dowels."""
        if beyond > 0:
            return []
        top = high - low + OVERSHOOT if beyond < 0 else rooms[-1].air - low
        count = self.job.mould.dowels.count
        away = math.pi / count * (2 * count - 4 + 1.25)  # the middle of the widest gap
        distance = air_distance(self.column)
        x, y = distance * math.cos(away), distance * math.sin(away)
        return [pillar(AIR / 2.0, -OVERSHOOT, top).at(x, y)]


def _stands(joint: Joint | None) -> list[tuple[float, float]]:
    """Middles of a joint's dowels."""
    return [] if joint is None else _on_circle(joint.circle, joint.angles)


def _on_circle(radius: float, angles: Iterable[float]) -> list[tuple[float, float]]:
    return [(radius * math.cos(a), radius * math.sin(a)) for a in angles]
