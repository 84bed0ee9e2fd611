"""Forces along the part: air, inertia, ejection, cord, ground and hands, each as a free body."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.flying import Flight
from mandrelwright.job.spec import Job
from mandrelwright.physics.aerodynamics import cumulative, friction, pressure_coefficient
from mandrelwright.stages.assembly import Assembly
from mandrelwright.stages.shape import TUBES, Shape
from mandrelwright.stages.stack import Stack

Array = NDArray[np.float64]

CAP = 24  # stations on a tip that is another piece
STEEP = 1e3  # slope of a meridian square to the axis
MACHS = np.array([0.0, 0.6, 0.9, 1.05, 1.2, 1.4, 1.7, 2.1, 2.6, 3.2, 4.0])


class Load(NamedTuple):
    """Along the stations (place,): pressure outside minus inside (Pa), axial force (N, tension
    positive), shear (N) and bending moment (N m)."""

    pressure: Array
    axial: Array
    shear: Array
    moment: Array


@dataclass(frozen=True)
class Body:
    """The part and its tip as the air and inertia see it, at stations x (place,) from the very
    tip: radius and slope of the outside, bore radius, mass per length, mass tipwards of each.

    part: the stations that belong to the part. mass, balance, inertia: of all of it, lumped
    things included, inertia across about the balance with each thing as a point. lumps: mass
    and x of things fixed to it. front: side force per q and α and its arm ahead of the first
    station, from whatever sits tipwards of a part that is no nose.
    """

    x: Array
    part: slice
    radius: Array
    slope: Array
    bore: Array
    line: Array
    lumps: tuple[tuple[float, float], ...]
    front_mass: float
    front_length: float

    @property
    def area(self) -> Array:
        """Cross-section of the outside, m²."""
        return np.asarray(np.pi * self.radius**2)

    @property
    def ahead(self) -> Array:
        """Mass tipwards of each station, kg."""
        return self.summed(self.line, [mass for mass, _ in self.lumps]) + self.front_mass

    @property
    def mass(self) -> float:
        """All of it, kg."""
        return float(self.ahead[-1])

    @property
    def arms(self) -> tuple[Array, Array]:
        """Masses (kg) and their x (m): every stretch between stations at its own centre,
        every lump, and what sits ahead."""
        a, b, h = self.line[:-1], self.line[1:], np.diff(self.x)
        mass = 0.5 * (a + b) * h
        centre = self.x[:-1] + h * (a + 2.0 * b) / (3.0 * np.maximum(a + b, 1e-30))
        lumps = [*self.lumps, (self.front_mass, float(self.x[0]) - 0.5 * self.front_length)]
        return (
            np.concatenate((mass, [m for m, _ in lumps])),
            np.concatenate((centre, [x for _, x in lumps])),
        )

    def summed(self, line: Array, lumps: list[float]) -> Array:
        """∫ line dx and the lumps tipwards of each station, (place,)."""
        total = cumulative(self.x, line)
        for (_, x), value in zip(self.lumps, lumps, strict=True):
            total = total + value * (self.x >= x - 1e-12)
        return total


def body_of(
    job: Job, shape: Shape, stack: Stack, assembly: Assembly, nodes: NDArray[np.int64]
) -> Body:
    """The part at some nodes of the stack, with its tip and what is fixed to it."""
    x, r = stack.x[-1][nodes], stack.r[-1][nodes]
    with np.errstate(divide="ignore", invalid="ignore"):  # at the tip, or laid ahead of it
        slope = shape.profile(x)[1]
    slope = np.where(np.isfinite(slope), slope, STEEP)
    flight = job.flight
    nose = not isinstance(job.sections[0], TUBES)
    cap_x, cap_r, cap_slope = _cap(shape, float(x[0])) if nose else (x[:0], x[:0], x[:0])
    bare = np.zeros(len(cap_x))
    ahead = flight.ahead if flight is not None and not nose else None
    lumps = tuple((item.mass, max(item.x, 0.0)) for item in assembly.items)
    return Body(
        np.concatenate((cap_x, x)),
        slice(len(cap_x), None),
        np.concatenate((cap_r, r)),
        np.concatenate((cap_slope, slope)),
        np.concatenate((bare, stack.mould.r[nodes])),
        np.concatenate((bare, assembly.mass_per_length[nodes])),
        lumps,
        ahead.mass.value if ahead else 0.0,
        ahead.length.value if ahead else 0.0,
    )


def _cap(shape: Shape, start: float) -> tuple[Array, Array, Array]:
    """x, radius and slope from the very tip to where the part begins."""
    first = shape.pieces[0]
    apex = min(first.start, shape.tip) if shape.tip == first.start else 0.0
    if start - apex < 1e-6:
        return np.zeros(0), np.zeros(0), np.zeros(0)
    share = 0.5 * (1.0 - np.cos(np.linspace(0.0, np.pi, CAP + 1)))[:-1]
    x = apex + (start - apex) * share
    with np.errstate(divide="ignore", invalid="ignore"):
        r, slope = first.law(x)
    steep = np.where(np.isfinite(slope), slope, STEEP)
    return x, np.where(np.isfinite(r), r, 0.0), steep


class Drag:
    """Axial force of the air over dynamic pressure at the stations, by Mach number up to
    ``fastest``; Reynolds number on the length.
    """

    def __init__(self, body: Body, fastest: float, reynolds: float) -> None:
        self.body = body
        self.machs = MACHS[: int(np.searchsorted(MACHS[1:-1], fastest)) + 2]
        self.coefficients = pressure_coefficient(self.machs, np.arctan(body.slope))
        growth = 2.0 * np.pi * body.radius * body.slope
        pressed = cumulative(body.x, self.coefficients * growth)
        wet = cumulative(body.x, 2.0 * np.pi * body.radius)
        rubbed = friction(reynolds, self.machs)[:, None] * wet
        front = np.zeros(len(self.machs))
        if body.front_length > 0.0:
            tip = np.arctan(body.radius[0] / body.front_length)
            front = pressure_coefficient(self.machs, tip)[:, 0] * body.area[0]
        self.areas = pressed + rubbed + front[:, None]

    def at(self, mach: float) -> Array:
        """Drag over q of all that lies tipwards of each station, (place,), m²."""
        return np.asarray(self._between(self.areas, np.array([mach]))[0])

    def whole(self, mach: Array) -> Array:
        """Drag over q at the base, m², any number of Mach numbers."""
        return np.asarray(np.interp(mach, self.machs, self.areas[:, -1]))

    def pressure(self, mach: Array) -> Array:
        """C_p (mach, place) at the stations."""
        return self._between(self.coefficients, mach)

    def _between(self, table: Array, mach: Array) -> Array:
        """Rows of a table by Mach number, straight between its own."""
        rows = self.machs
        low = np.clip(np.searchsorted(rows, mach, side="right") - 1, 0, len(rows) - 2)
        share = np.clip((mach - rows[low]) / (rows[low + 1] - rows[low]), 0.0, 1.0)[:, None]
        return np.asarray((1.0 - share) * table[low] + share * table[low + 1])


def flown(
    body: Body, drag: Drag, pressure: float, mach: float, felt: float, angle: float, across: float
) -> Load:
    """Air and inertia in flight, at dynamic pressure q, angle of attack α.

    N = −q D(x) − m(x) a, D over q from the tip to x, m(x) the mass there and tipwards;
    V = ∫ (2 q α dA/dx − m' a_across) dx, M = ∫ V dx: both nought at the free tip; what sits
    ahead of a part that is no nose acts at its own middle. The inside is at the pressure of
    the free air: the part is vented.
    """
    axial = -pressure * drag.at(mach) - body.ahead * felt
    lift = 2.0 * pressure * angle * body.area
    weight = body.summed(body.line, [m for m, _ in body.lumps]) + body.front_mass
    V = lift - weight * across
    M = _bent(body, V, across, 0.5 * body.front_length * float(V[0]))
    return Load(pressure * drag.pressure(np.array([mach]))[0], axial, V, M)


def _bent(body: Body, shear: Array, across: float, start: float) -> Array:
    """M = M_0 + ∫ V dx with the jumps of V at lumps where they are."""
    M = cumulative(body.x, shear) + start
    for mass, x in body.lumps:  # a jump inside a step: trapezia spread it over the step
        at = int(np.searchsorted(body.x, x - 1e-12))
        if 0 < at < len(body.x):
            early = 0.5 * (body.x[at] - body.x[at - 1]) - (body.x[at] - x)
            M[at:] += mass * across * early
    return M


def pushed_out(body: Body, pressure: float) -> Load:
    """Ejection: gas at p inside a part closed at its tip and still held: N = p π r_bore²."""
    p = np.full_like(body.x, -pressure)
    none = np.zeros_like(p)
    return Load(p, pressure * np.pi * body.bore**2, none, none)


def snatched(body: Body, deceleration: float) -> Load:
    """Cord at the base: N = m(x) a, nought at the free tip."""
    none = np.zeros_like(body.x)
    return Load(none, body.ahead * deceleration, none, none)


def struck(body: Body, deceleration: float, tilt: float) -> Load:
    """The ground at the tip, the part's axis ``tilt`` (rad) off the vertical, nothing behind it.

    Along: N = −F cos + m(x) a cos. Across: a free rigid body under F sin at its tip moves with
    F/m and turns with F d/I, so V and M vanish at the base as well.
    """
    F, total = body.mass * deceleration, body.mass
    axial = -F * np.cos(tilt) * (1.0 - body.ahead / total)
    side = F * np.sin(tilt)
    masses, places = body.arms
    centre = float((masses * places).sum() / total)
    inertia = float((masses * (places - centre) ** 2).sum())
    tip = float(body.x[0])
    a = side / total + side * (centre - tip) * (centre - places) / inertia
    behind = body.x[:, None] - places
    V = side - np.where(behind >= -1e-12, masses * a, 0.0).sum(1)
    M = side * (body.x - tip) - (masses * a * np.maximum(behind, 0.0)).sum(1)
    return Load(np.zeros_like(V), axial, V, M)


def leant_on(body: Body, force: float) -> Load:
    """A hand across the tip of a part that is held at its base: V = F, M = F (x − x_tip)."""
    arm = body.x - body.x[body.part][0]
    none = np.zeros_like(arm)
    return Load(none, none, np.where(arm >= 0.0, force, 0.0), force * np.maximum(arm, 0.0))


def has_no_front(job: Job, flight: Flight) -> bool:
    """Whether a part that is no nose was told without what sits ahead of it."""
    return isinstance(job.sections[0], TUBES) and flight.ahead is None
