"""Step 12, Joints: glued couplers, shear pins and vents, against what the flight asks of them."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.assembly import Assembly as Stated
from mandrelwright.job.assembly import Bond, Pins
from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.physics import joints
from mandrelwright.physics.atmosphere import atmosphere
from mandrelwright.physics.strength import resin_kept
from mandrelwright.stages.assembly import Assembly
from mandrelwright.stages.course import Course
from mandrelwright.stages.edge import JUDGED, Edged, hang_on_edge
from mandrelwright.stages.fit import Fit
from mandrelwright.stages.flight import Case, Flight
from mandrelwright.stages.loads import Drag, body_of
from mandrelwright.stages.record import result
from mandrelwright.stages.shape import FitPlace, Shape
from mandrelwright.stages.stack import Stack
from mandrelwright.stages.wall import Wall

Array = NDArray[np.float64]

LITTLE = 500.0  # Pa: a lag that nobody has to mind
GLUE = (
    "job.assembly.bond",
    "job.fit[*]",
    "shape.fits",
    "fit.results",
    "materials.adhesives.*.shear_strength",
)
GLUED = (*GLUE, "materials.adhesives.*.shear_modulus", "wall.axial_modulus", "stack.wall")
HOT = ("materials.adhesives.*.glass_transition", "materials.practice.strength.*")
ASKED = ("flight.cases", *GLUED, *HOT)
PIN = ("job.assembly.pins", "job.fit[*]", "shape.fits", "shape.tip", "shape.base")
SHEARED = (*PIN, "materials.pins.*.shear_strength")
HOLES = (
    *PIN,
    "stack.wall",
    *(f"materials.practice.joints.{key}" for key in ("bearing", "tear_out")),
)
HOLE = ("job.assembly.vent", "stack.mould", "shape.tip", "shape.base")
CLIMB = ("job.flight", "materials.practice.flight.*", "materials.practice.joints.discharge")
LAG = (*HOLE, *CLIMB)
PULLED = (*LAG, *PIN, "assembly.mass_per_length", "assembly.items",
          "shape.pieces", "stack.x", "stack.r")  # fmt: skip
OUT = (*PIN, "flight.cases")
PINNED = (*SHEARED, *HOLES, *PULLED, *OUT)


@dataclass(frozen=True)
class Bonded:
    """A glued sleeve and the case that asks most of it; NaN where no flight is stated."""

    fit: str
    adhesive: str
    length: float = result("glued length", "mm", (), GLUE)
    radius: float = result("radius of the glue", "mm", (), GLUE)
    gap: float = result("thickness of the glue", "mm", (), GLUE, "gap_spread")
    gap_spread: float = result("its standard uncertainty", "mm", (), GLUE)
    peak_share: float = result("largest over mean stress", "", joints.peak_share, GLUED)
    strength: float = result("lap strength, cold", "MPa", (), GLUE, "strength_spread")
    strength_spread: float = result("its standard uncertainty", "MPa", (), GLUE)
    case: str = result("the load that asks most", "", (), ASKED)
    force: float = result("force along the joint then", "N", (), ASKED)
    stress: float = result("largest shear stress then", "MPa", joints.bond_stress, ASKED)
    temperature: float = result("temperature of the glue then", "degC", (), ASKED)
    kept: float = result("share of its strength kept then", "%", resin_kept, ASKED)
    reserve: float = result("strength over stress then, less one spread", "", (), ASKED)

    @property
    def area(self) -> float:
        """Glued area, m²."""
        return 2.0 * math.pi * self.radius * self.length


@dataclass(frozen=True)
class Pinned:
    """Shear pins, the wall round them, what pulls at them and what must shear them; N."""

    fit: str
    x: float = result("their place, from the tip", "mm", (), PIN)
    diameter: float = result("diameter where they shear", "mm", joints.thread_root, PIN)
    bears: float = result("diameter that bears on the holes", "mm", (), PIN)
    edge: float = result("from the middle of the holes to the end", "mm", (), PIN)
    wall: float = result("wall there", "mm", (), HOLES)
    hold: float = result("force that shears them", "N", joints.pins_hold, SHEARED, "hold_spread")
    hold_spread: float = result("its standard uncertainty", "N", (), SHEARED)
    crush: float = result(
        "force that crushes the holes", "N", joints.holes_hold, HOLES, "crush_spread"
    )
    crush_spread: float = result("its standard uncertainty", "N", (), HOLES)
    tear: float = result("force that tears them out", "N", joints.holes_hold, HOLES, "tear_spread")
    tear_spread: float = result("its standard uncertainty", "N", (), HOLES)
    trapped: float = result("of it, by air that has not got out", "N", joints.vent_lag, PULLED)
    drag: float = result("of it, by drag and inertia", "N", (), PULLED)
    asked: float = result("largest pull before ejection", "N", joints.vent_lag, PULLED)
    at: float = result("when, from the start", "s", (), PULLED)
    ejection: float = result("force of the ejection", "N", (), OUT)


@dataclass(frozen=True)
class Vented:
    """Air behind the holes on the way up; pressures inside above outside, Pa."""

    volume: float = result("air behind them", "L", (), HOLE)
    area: float = result("area of the holes, none where none is stated", "mm^2", (), HOLE)
    lag: float = result("largest lag of the pressure", "kPa", joints.vent_lag, LAG)
    shut: float = result("the same without any hole", "kPa", (), LAG)
    wanted: float = result("hole that keeps it below half a kilopascal", "mm", joints.vent_lag, LAG)


@dataclass(frozen=True)
class Joints:
    """Bond, pins and vent as far as the job states them; the open edge under the cord."""

    bond: Bonded | None = result("glued coupler", "", (), ASKED)
    pins: Pinned | None = result("shear pins", "", (), PINNED)
    vent: Vented | None = result("vent", "", (), LAG)
    edge: Edged | None = result("open edge under the cord", "", (), JUDGED)


def join(
    job: Job,
    shape: Shape,
    stack: Stack,
    wall: Wall,
    fit: Fit,
    assembly: Assembly,
    flight: Flight | None,
    library: Library,
) -> Joints:
    """Strength of glue, pins and holes, and the largest that the cases of the flight ask.

    A pin bears n (π/4) d² τ; before ejection it is pulled by N = −q D(x) − m(x) a of all that
    lies tipwards and by the air shut in behind it, Δp (π/4) d².  Without a stated hole the air
    stays in.  Glue: largest stress of a lap, strength as far as its resin keeps it when warm.
    """
    stated = job.assembly or Stated.model_validate({})
    course = flight.course if flight is not None else None
    vent, lag = _vent(shape, stack, stated, course, library)
    bond = pins = None
    if stated.bond is not None:
        bond = _bond(stated.bond, shape, stack, wall, fit, flight, library)
    if stated.pins is not None:
        pins = _pins(stated.pins, shape, stack, library)
        pins = _pulled(pins, lag, job, shape, stack, assembly, flight)
    edge = hang_on_edge(job, shape, stack, flight, library)
    return Joints(bond, pins, vent if stated.vent is not None or pins is not None else None, edge)


def _place(shape: Shape, name: str) -> FitPlace:
    return next(place for place in shape.fits if place.name == name)


def _vent(
    shape: Shape, stack: Stack, stated: Stated, course: Course | None, library: Library
) -> tuple[Vented, Array]:
    """The lag and its run (time,) over the climb, as if the rocket flew straight up."""
    hole = stated.vent
    told = hole.volume if hole is not None else None
    volume = _bore_volume(shape, stack) if told is None else told.value
    area = 0.0 if hole is None else 0.25 * math.pi * hole.diameter.value**2 * hole.count
    discharge = library.practice["joints"]["discharge"].value
    if course is None:
        return Vented(volume, area, math.nan, math.nan, math.nan), np.zeros(0)
    unit = _lags(course, volume, 1.0, discharge)  # of 1 m², goes with the square of the area
    needed = math.sqrt(float(unit.max()) / LITTLE)
    shut = _shut(course)
    lag = np.minimum(shut, unit / area**2) if area > 0.0 else shut
    wanted = math.sqrt(4.0 * needed / math.pi)
    return Vented(volume, area, float(lag.max()), float(shut.max()), wanted), lag


def _bore_volume(shape: Shape, stack: Stack) -> float:
    """Air inside the part between its trim lines, m³."""
    x, r = stack.mould.x, stack.mould.r
    at = np.concatenate(([shape.tip], x[(x > shape.tip) & (x < shape.base)], [shape.base]))
    return float(np.pi * np.trapezoid(np.interp(at, x, r) ** 2, at))


def _rising(course: Course) -> slice:
    return slice(0, course.at(course.top) + 1)


def _lags(course: Course, volume: float, area: float, discharge: float) -> Array:
    """Lag (time,) on the way up through holes of an area."""
    up, air = _rising(course), course.air
    density, pressure = air.density[up], air.pressure[up]
    return joints.vent_lag(volume, area, discharge, course.speed[up], density, pressure)


def _shut(course: Course) -> Array:
    """Pressure of the site shut in, above that outside, (time,) on the way up."""
    site = float(atmosphere(course.site, course.warmer).pressure)
    return np.asarray(np.maximum(site - course.air.pressure[_rising(course)], 0.0))


def _bond(
    stated: Bond,
    shape: Shape,
    stack: Stack,
    wall: Wall,
    fit: Fit,
    flight: Flight | None,
    library: Library,
) -> Bonded:
    """A bond by its fit: length and gap as stated, else its own; the mate as stiff as the wall."""
    place, glue = _place(shape, stated.fit), library.adhesives[stated.adhesive]
    length = stated.length.value if stated.length else place.stop - place.start
    play = next(item for item in fit.results if item.name == stated.fit)
    gap = (0.5 * play.play, 0.5 * play.spread)
    if stated.gap is not None:
        gap = stated.gap.value, stated.gap.spread
    radius, x = 0.5 * place.fit.mates.value, 0.5 * (place.start + place.stop)
    stiff = _at(stack, x, wall.axial_modulus * stack.wall)
    line = max(gap[0], 0.25 * gap[1], 10e-6)  # a dry fit still has a film of glue
    peak = float(joints.peak_share(length, line, glue["shear_modulus"].value, stiff, stiff))
    bond = Bonded(
        stated.fit, stated.adhesive, length, radius, *gap, peak,
        glue["shear_strength"].value, glue["shear_strength"].spread,
        "", math.nan, math.nan, math.nan, math.nan, math.nan,
    )  # fmt: skip
    if flight is None:
        return bond
    cases = (_glued(bond, case, flight, x, library) for case in flight.cases)
    return min(cases, key=lambda one: one.reserve, default=bond)


def _glued(bond: Bonded, case: Case, flight: Flight, x: float, library: Library) -> Bonded:
    """The bond under one case."""
    force = float(np.interp(x, flight.x, case.axial))
    bond_line = float(np.interp(x, flight.x, case.bond))
    warm = bond_line if math.isfinite(bond_line) else float(np.interp(x, flight.x, case.mean))
    glass = library.adhesives[bond.adhesive]["glass_transition"].value
    practice = library.practice["strength"]
    kept = float(
        resin_kept(warm, glass, practice["resin_reference"].value, practice["resin_exponent"].value)
    )
    stress = float(joints.bond_stress(abs(force), bond.radius, bond.length)) * bond.peak_share
    sure = (bond.strength - bond.strength_spread) * kept
    reserve = sure / stress if stress > 0.0 else math.inf
    return replace(
        bond,
        case=case.name,
        force=force,
        stress=stress,
        temperature=warm,
        kept=kept,
        reserve=reserve,
    )


def _pins(stated: Pins, shape: Shape, stack: Stack, library: Library) -> Pinned:
    """Pins and the wall round their holes, before anything pulls."""
    place = _place(shape, stated.fit)
    fore = place.start - shape.tip < shape.base - place.stop
    x = shape.tip + stated.edge.value if fore else shape.base - stated.edge.value
    bears, pitch = stated.size
    root = float(joints.thread_root(bears, pitch))
    tau = library.pins[stated.material]["shear_strength"]
    practice, t = library.practice["joints"], _at(stack, x, stack.wall)
    bearing, shear = practice["bearing"], practice["tear_out"]
    hold = float(joints.pins_hold(stated.count, root, tau.value))
    crush, tear = (
        float(force)
        for force in joints.holes_hold(
            stated.count, bears, stated.edge.value, t, bearing.value, shear.value
        )
    )
    shares = (tau.spread / tau.value, bearing.spread / bearing.value, shear.spread / shear.value)
    none = math.nan
    return Pinned(
        stated.fit, x, root, bears, stated.edge.value, t, hold, hold * shares[0],
        crush, crush * shares[1], tear, tear * shares[2], none, none, none, none, none,
    )  # fmt: skip


def _pulled(
    pins: Pinned,
    lag: Array,
    job: Job,
    shape: Shape,
    stack: Stack,
    assembly: Assembly,
    flight: Flight | None,
) -> Pinned:
    """The pins with the largest pull over the climb, and the push of the ejection."""
    if flight is None:
        return pins
    area = 0.25 * math.pi * _place(shape, pins.fit).fit.mates.value ** 2
    out = flight.case("ejection")
    ejection = math.nan if out is None else -float(np.interp(pins.x, flight.x, out.pressure)) * area
    course = flight.course
    if course is None:
        return replace(pins, ejection=ejection)
    up = _rising(course)
    body = body_of(job, shape, stack, assembly, flight.nodes)
    drag = Drag(body, float(course.mach.max()), course.reynolds * float(np.ptp(body.x)))
    areas = [float(np.interp(pins.x, body.x, row)) for row in drag.areas]
    drags = np.interp(course.mach[up], drag.machs, areas)
    tipwards = float(np.interp(pins.x, body.x, body.ahead))
    inertia = -course.pressure[up] * drags - tipwards * course.felt[up]
    air = area * lag
    at = int(np.argmax(inertia + air))
    return replace(
        pins,
        trapped=float(air[at]),
        drag=float(inertia[at]),
        asked=max(float(inertia[at] + air[at]), 0.0),
        at=float(course.times[up][at]),
        ejection=ejection,
    )


def _at(stack: Stack, x: float, values: Array) -> float:
    """A value of the wall at one x."""
    return float(np.interp(x, 0.5 * (stack.x[0] + stack.x[-1]), values))
