"""Step 13, Flight: what loads and warms the finished part, case by case.

The cases in the order in which such parts fail: handling, ejection (on a wall that has soaked
hot), landing, the cord, the sun, then the flight, each of its peaks at its own time.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.flying import Flight as Stated
from mandrelwright.job.materials import Library
from mandrelwright.job.sections import Bore
from mandrelwright.job.spec import Job
from mandrelwright.physics import aerodynamics, driven, gas_dynamics, heating
from mandrelwright.stages import loads
from mandrelwright.stages.assembly import Assembly
from mandrelwright.stages.course import Course, set_course
from mandrelwright.stages.cure import Cure
from mandrelwright.stages.loads import Body, Drag, Load, body_of
from mandrelwright.stages.record import derived, result
from mandrelwright.stages.shape import Shape
from mandrelwright.stages.stack import THINNEST, Stack
from mandrelwright.stages.wall_heat import Warmth, warm_up

Array = NDArray[np.float64]

PLACES = 64
ALL = ("job.flight", "shape.pieces", "stack.x", "stack.r", "assembly.mass_per_length",
       "assembly.items", "materials.practice.flight.*",
       "materials.practice.surroundings.enclosed_air")  # fmt: skip
WARM = (*ALL, "stack.thickness", "stack.fibre_fraction", "assembly.coats",
        "materials.fibres.{fibre}.conductivity_across", "materials.fibres.{fibre}.specific_heat",
        "materials.fibres.{fibre}.density", "materials.resins.{resin}.*")  # fmt: skip
AIR = (gas_dynamics.cone, aerodynamics.pressure_coefficient, aerodynamics.side_force)
HEAT = (heating.film, driven.driven)


@dataclass(frozen=True)
class Case:
    """One load with the temperatures that the wall has then; arrays along the stations (place,).

    time: s from the start, None where it is no moment of the flight. edge: force of the cord
    across the open edge. Temperatures K; bond is NaN where nothing is bonded inside.
    """

    id: str
    name: str
    time: float | None = result("when, from the start", "s", (), ALL)
    mach: float = result("Mach number", "", (), ALL)
    dynamic_pressure: float = result("dynamic pressure", "kPa", (), ALL)
    angle: float = result("angle of attack", "deg", (), ALL)
    felt: float = result("acceleration along the rocket", "m/s^2", (), ALL)
    pressure: Array = result("pressure outside minus inside", "kPa", AIR, ALL)
    axial: Array = result("axial force, tension positive", "N", AIR, ALL)
    shear: Array = result("shear force", "N", aerodynamics.side_force, ALL)
    moment: Array = result("bending moment", "N m", aerodynamics.side_force, ALL)
    edge: float = result("force of the cord across the open edge", "N", (), ALL)
    skin: Array = result("temperature of the outer surface", "degC", HEAT, WARM)
    mean: Array = result("mean temperature of the laminate", "degC", HEAT, WARM)
    inner: Array = result("temperature of its inner face", "degC", HEAT, WARM)
    bond: Array = result("temperature of the bond line", "degC", HEAT, WARM)

    def warmest(self, name: str) -> float:
        """The warmest of skin, mean, inner or bond along the part (K), NaN where none is."""
        values = getattr(self, name)
        return float(np.nanmax(values)) if np.isfinite(values).any() else float("nan")


@dataclass(frozen=True)
class Flight:
    """Loads and temperatures of the finished part; stations x (place,) are nodes of the stack."""

    nodes: NDArray[np.int64]
    course: Course | None
    warmth: Warmth | None
    x: Array = result("stations, x from the tip of the full profile", "mm", (), ALL)
    cases: tuple[Case, ...] = result("loads, in the order in which such parts fail", "", (), WARM)
    glass: float = result(
        "glass transition when it flies: as stated, else two weeks after the schedule",
        "degC",
        (),
        ("cure.glass",),
        "glass_spread",
    )
    glass_spread: float = result("its standard uncertainty", "K", (), ("cure.glass_spread",))
    colour: str = result("colour that takes up the sun", "", (), ALL)
    start: float = result("wall as the flight begins", "degC", heating.sunned, ALL)
    sun: float = result("wall in the sun, facing it", "degC", heating.sunned, ALL, "sun_spread")
    sun_spread: float = result(
        "its standard uncertainty: sun, wind and what the colour takes up", "K", (), ALL
    )
    sun_mean: float = result("wall in the sun, its mean round about", "degC", heating.sunned, ALL)
    heat_doubt: float = result(
        "standard uncertainty of a rise in flight, over itself", "%", (),
        ("materials.practice.flight.heat_doubt",),
    )  # fmt: skip

    def case(self, name: str) -> Case | None:
        """The case of this id."""
        return next((case for case in self.cases if case.id == name), None)

    def mean_spread(self, case: Case) -> float:
        """Standard uncertainty of the warmest mean (K): the film's doubt on what it rose, and the
        sun's where it starts in it or only stands in it; none at the site's own temperature.
        """
        sunny = self.sun_spread if self.start == self.sun or case.id == "sun" else 0.0
        if case.time is None:
            return sunny if case.id == "sun" else 0.0
        return math.hypot(self.heat_doubt * (case.warmest("mean") - self.start), sunny)

    @property
    @derived("K", None, "flight.cases", "flight.glass")
    def margin(self) -> float:
        """Least of glass transition less mean of the laminate, over all cases, K."""
        return self.glass - max(case.warmest("mean") for case in self.cases)


def fly(
    job: Job, shape: Shape, stack: Stack, cure: Cure, assembly: Assembly, library: Library
) -> Flight | None:
    """Every case that the job states or that practice lends, None without a [flight] table.

    Loads are those of a slender rigid body, quasi-steady: N = −q D(x) − m(x) a,
    V = ∫ (2 q α dA/dx − m' a_across) dx, M = ∫ V dx; temperatures those of the wall at the
    moment of the load, from its own start in the sun. The peaks are the largest |N| at the
    base, q, q α and mean temperature.
    """
    stated = job.flight
    if stated is None or not (stack.wall > THINNEST).any():
        return None
    nodes = _nodes(shape, stack)
    body = body_of(job, shape, stack, assembly, nodes)
    lent = {key: datum.value for key, datum in library.practice["flight"].items()}
    colour = stated.colour or _bare(stack)
    site = stated.temperature.value
    sun, sun_spread = _in_sun(stated, colour, float(2.0 * body.radius.max()), library)
    start = sun.hottest if stated.colour is not None else site
    course = set_course(job, library)
    drag = thin = warmth = None
    if course is not None:
        drag = Drag(body, float(course.mach.max()), course.reynolds * float(np.ptp(body.x)))
        thin = course.thinned()
        warmth = warm_up(job, stack, assembly, body, nodes, drag, thin, start, library)
    make = _Maker(body, body.x[body.part], _bonded(shape, body.x[body.part]), warmth, start)
    cases = _by_hand(make, stated, lent, sun.hottest, course)
    if course is not None and drag is not None and warmth is not None:
        cases += _in_flight(make, drag, course, warmth)
    return Flight(
        nodes,
        thin,
        warmth,
        make.x,
        tuple(cases),
        _ripe(cure, job),
        cure.glass_spread,
        colour,
        start,
        sun.hottest,
        sun_spread,
        sun.mean,
        lent["heat_doubt"],
    )


def _in_sun(
    stated: Stated, colour: str, diameter: float, library: Library
) -> tuple[heating.Sunned, float]:
    """The wall in the sun, and the spread of its hottest side: what sun, wind and colour are
    doubted by, half of one step up less one down of each; what the job states is not doubted.
    """
    practice, inside = library.practice["flight"], library.practice["surroundings"]["enclosed_air"]
    emits, site = practice["emits"].value, stated.temperature.value
    lent = (practice["sun"], practice["wind"], practice[colour.replace(" ", "_")])
    told = (stated.sun, stated.wind, None)
    now = [_or(own, datum.value) for own, datum in zip(told, lent, strict=True)]

    def stands(sun: float, wind: float, absorbs: float) -> heating.Sunned:
        return heating.sunned(sun, site, wind, diameter, absorbs, emits, inside.value)

    moved = 0.0
    for n, (own, datum) in enumerate(zip(told, lent, strict=True)):
        step = np.eye(3)[n] * (datum.spread if own is None else 0.0)
        up, down = (stands(*np.maximum(now + sign * step, 0.0)).hottest for sign in (1.0, -1.0))
        moved += (0.5 * (up - down)) ** 2
    return stands(*now), math.sqrt(moved)


def _ripe(cure: Cure, job: Job) -> float:
    """Glass transition when it flies (K): as stated, else two weeks after the schedule."""
    if job.stated.glass_transition is not None:
        return cure.glass
    off = cure.off_mould
    warm = cure.glass if off is None else float(off.glass[-1].min())
    return max(warm, float(cure.states.glass[-1].min()))


def _or(stated: tuple[float, float] | None, lent: float) -> float:
    return lent if stated is None else stated[0]


def _nodes(shape: Shape, stack: Stack) -> NDArray[np.int64]:
    """Nodes of the stack that carry a wall between the trim lines, a few of them."""
    x = stack.mould.x
    laid = np.flatnonzero(
        (x >= shape.tip - 1e-9) & (x <= shape.base + 1e-9) & (stack.wall > THINNEST)
    )
    wanted = np.linspace(x[laid[0]], x[laid[-1]], PLACES)
    return np.unique(laid[np.abs(x[laid][:, None] - wanted).argmin(0)])


def _bare(stack: Stack) -> str:
    """The colour of a part that nobody painted, by its outermost fibre."""
    return "bare carbon" if "carbon" in stack.layers[-1].textile.fibre.lower() else "bare glass"


def _bonded(shape: Shape, x: Array) -> NDArray[np.bool_]:
    """Where something may be bonded inside."""
    inside = np.zeros(len(x), dtype=bool)
    for place in shape.fits:
        if isinstance(place.fit, Bore):
            inside |= (x >= place.start - 1e-9) & (x <= place.stop + 1e-9)
    return inside


@dataclass(frozen=True)
class _Maker:
    """Makes cases: cuts loads to the part and puts temperatures beside them."""

    body: Body
    x: Array
    bonded: NDArray[np.bool_]
    warmth: Warmth | None
    start: float

    def still(self, id: str, name: str, load: Load, kelvin: float) -> Case:
        """A case at one temperature all through."""
        return self._case(id, name, load, self._even(kelvin), None)

    def at(self, id: str, name: str, load: Load, time: float | None) -> Case:
        """A case at a moment of the flight; at the start's temperature where there is none."""
        if self.warmth is None or time is None:
            return self._case(id, name, load, self._even(self.start), None)
        return self._case(id, name, load, self.warmth.at(time, self.x), time)

    def _even(self, kelvin: float) -> tuple[Array, Array, Array]:
        even = np.full_like(self.x, kelvin)
        return even, even, even

    def _case(
        self, id: str, name: str, load: Load, warm: tuple[Array, Array, Array], time: float | None
    ) -> Case:
        skin, mean, inner = warm
        bond = np.where(self.bonded, inner, np.nan)
        here = Load(*(values[self.body.part] for values in load))
        return Case(
            id,
            name,
            time,
            0.0,
            0.0,
            0.0,
            0.0,
            here.pressure,
            here.axial,
            here.shear,
            here.moment,
            0.0,
            skin,
            mean,
            inner,
            bond,
        )


def _by_hand(
    make: _Maker, stated: Stated, lent: dict[str, float], sun: float, course: Course | None
) -> list[Case]:
    """Handling, ejection, landing, the cord, and the sun that loads nothing."""
    body, site = make.body, stated.temperature.value
    ejects = None if course is None else course.ejects
    out = loads.pushed_out(body, _or(stated.ejection_pressure, lent["ejection"]))
    cord = _or(stated.zippering, lent["zippering"])
    hand = loads.leant_on(body, _or(stated.handling, lent["handling"]))
    ground = loads.struck(body, _or(stated.landing, lent["landing"]), lent["landing_angle"])
    taut = make.at("zippering", "cord comes taut", loads.snatched(body, cord), ejects)
    none = np.zeros_like(body.x)
    return [
        make.still("handling", "handling", hand, site),
        make.at("ejection", "ejection", out, ejects),
        make.still("landing", "landing", ground, site),
        replace(taut, edge=body.mass * cord),
        make.still("sun", "sun", Load(none, none, none, none), sun),
    ]


def _in_flight(make: _Maker, drag: Drag, course: Course, warmth: Warmth) -> list[Case]:
    """The peaks of the flight, each at its own time; searched over every moment there is."""
    rising = slice(0, course.at(course.ejects) + 1)
    q = course.pressure[rising]
    axial = q * drag.whole(course.mach[rising]) + make.body.mass * course.felt[rising]
    hottest = warmth.times[int(np.argmax(warmth.mean.max(axis=1)))]
    peaks = (
        ("peak-axial", "peak axial force", int(np.argmax(np.abs(axial)))),
        ("max-q", "peak dynamic pressure", int(np.argmax(q))),
        ("peak-angle", "peak angle of attack", int(np.argmax(q * course.angle[rising]))),
        ("hottest", "hottest laminate", course.at(float(hottest))),
    )
    cases = []
    for id, name, at in peaks:
        mach, felt, angle = (float(v[at]) for v in (course.mach, course.felt, course.angle))
        pressure, across = float(course.pressure[at]), float(course.across[at])
        load = loads.flown(make.body, drag, pressure, mach, felt, angle, across)
        case = make.at(id, name, load, float(course.times[at]))
        cases.append(replace(case, mach=mach, dynamic_pressure=pressure, angle=angle, felt=felt))
    return cases
