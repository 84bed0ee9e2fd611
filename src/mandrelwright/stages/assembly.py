"""Step 12, Assembly: mass, balance point and inertia of the finished part."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple, get_args

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.assembly import Coat, Item, Metal
from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.physics import rigid
from mandrelwright.physics.curves import Curve
from mandrelwright.physics.uncertainty import Model, propagate
from mandrelwright.stages.pieces import BARE_MASS, MIDDLE, RESIN, TRIM, VOLUME, voids
from mandrelwright.stages.record import derived, result
from mandrelwright.stages.shape import Shape
from mandrelwright.stages.stack import Stack
from mandrelwright.stages.textiles import NET
from mandrelwright.stages.weighing import FromWeight, weigh

Array = NDArray[np.float64]

TINY = 1e-30
METALS = get_args(Metal)
WEAK_RESIN = (
    "job.compaction.fibre_fraction | materials.compactions.{compaction}.fibre_fraction",
    "materials.compactions.{compaction}.voids",
)
LAMINATE = (*BARE_MASS, *VOLUME, *RESIN)
COATS = ("job.assembly.finish[*]", "materials.coatings.*.density", *MIDDLE, *TRIM)
ITEMS = ("job.assembly.item[*]", "shape.base")
ITEM = ("job.assembly.item[{row}]", "shape.base")
WHOLE = (*LAMINATE, *TRIM, *COATS, "assembly.items")
WHOLE_SPREAD = (*WHOLE, *NET, *WEAK_RESIN)


@dataclass(frozen=True)
class Fixed:
    """A thing fixed to the part; x from the tip of the full profile, SI."""

    name: str
    material: str
    isolated: bool = result("something keeps it off the wall", "", (), ITEM)
    mass: float = result("its mass", "g", (), ITEM, "mass_spread")
    mass_spread: float = result("standard uncertainty of its mass", "g", (), ITEM)
    x: float = result("its middle, from the tip of the full profile", "mm", (), ITEM, "x_spread")
    x_spread: float = result("standard uncertainty of its place", "mm", (), ITEM)
    length: float = result("its length along the axis", "mm", (), ITEM)
    outer: float = result("its outer radius", "mm", (), ITEM)
    inner: float = result("radius of its hole", "mm", (), ITEM)

    def moments(self, mass: Array | float, x: Array | float) -> Array:
        """Its moments (..., 4) at a mass and a place."""
        return rigid.tube(mass, x, self.length, self.outer, self.inner)


@dataclass(frozen=True)
class CoatLaid:
    """One coat on the outside; SI."""

    label: str
    do: str
    uses: tuple[str, ...]
    metallic: bool = result("holds metal flakes")
    thickness: float = result("per side", "mm", spread="spread")
    spread: float = result("standard uncertainty of that", "mm")
    start: float = result("tipward end, x from the tip", "mm")
    stop: float = result("baseward end, x from the tip", "mm")
    mass: float = result("its mass", "g", rigid.shell, spread="mass_spread")
    mass_spread: float = result("by thickness and density", "g")
    over_arc: Array = result("its mass over length along the outside", "g/m")


@dataclass(frozen=True)
class Assembly:
    """The finished part; arrays (place,), inertia about the axis and across it at the balance."""

    x: Array = result("middle of the wall, from the tip", "mm", (), MIDDLE)
    radius: Array = result("radius of the middle of the wall", "mm", (), MIDDLE)
    mass_per_length: Array = result(
        "mass of wall and coats over length, none beyond the trim lines",
        "g/m",
        (),
        (*LAMINATE, *TRIM, *COATS),
    )
    coats: tuple[CoatLaid, ...] = result("coats on the outside, in order", "", (), COATS)
    items: tuple[Fixed, ...] = result("things fixed to the part", "", (), ITEMS)
    laminate: float = result("fibre and resin of the part", "g", rigid.shell, (*LAMINATE, *TRIM))
    mass: float = result("mass of the finished part", "g", rigid.shell, WHOLE, "mass_spread")
    mass_spread: float = result("its standard uncertainty", "g", propagate, WHOLE_SPREAD)
    balance: float = result(
        "balance point, from the base",
        "mm",
        rigid.balance,
        (*WHOLE, "shape.base"),
        "balance_spread",
    )
    balance_spread: float = result("its standard uncertainty", "mm", propagate, WHOLE_SPREAD)
    axial_inertia: float = result(
        "inertia about the axis", "kg m^2", (rigid.shell, rigid.tube), WHOLE, "axial_spread"
    )
    axial_spread: float = result("its standard uncertainty", "kg m^2", propagate, WHOLE_SPREAD)
    transverse_inertia: float = result(
        "inertia across the axis at the balance point",
        "kg m^2",
        (rigid.balance, rigid.shell, rigid.tube),
        WHOLE,
        "transverse_spread",
    )
    transverse_spread: float = result("its standard uncertainty", "kg m^2", propagate, WHOLE_SPREAD)

    weighed: FromWeight | None = result(
        "what the weight of the bare part tells", "", weigh, (*WHOLE_SPREAD, "job.assembly.weighed")
    )

    @property
    @derived("g", None, "assembly.coats")
    def coating(self) -> float:
        """Mass of all coats, kg."""
        return sum(coat.mass for coat in self.coats)

    @property
    @derived("g", None, "assembly.items")
    def fixed(self) -> float:
        """Mass of all that is fixed to the part, kg."""
        return sum(item.mass for item in self.items)


def assemble(job: Job, shape: Shape, stack: Stack, library: Library) -> Assembly:
    """Mass, balance point and inertia of wall, coats and items, each with its spread.

    dm/ds = 2π r (A + ρ_r t ((1 − V_v)/V_f − 1) V_f) on every layer's middle, 2π r ρ t of every
    coat on the outside; moments ∫ (1, x, x² + r²/2, r²) dm between the trim lines, items added
    as bodies.  Spread to first order: all fibre heavy or light at once, V_f and V_v (they move
    the resin round a known mass of fibre), every coat, every item's mass and place.
    """
    lines = [_line(job, stack, library, number) for number in range(len(stack.layers))]
    coats = tuple(_coat(job, shape, stack, library, row) for row in range(len(_stated(job)[0])))
    items = tuple(_fixed(item, shape.base) for item in _stated(job)[1])
    bodies = _bodies(job, shape, stack, library, lines, coats, items)
    whole = [
        propagate(bodies.result(number), bodies.mean, bodies.covariance) for number in range(4)
    ]
    mass, place, axial, across = whole
    x, radius = 0.5 * (stack.x[0] + stack.x[-1]), 0.5 * (stack.r[0] + stack.r[-1])
    return Assembly(
        x,
        radius,
        _per_length(shape, stack, lines, coats, x),
        coats,
        items,
        float(bodies.fibre[:, 0].sum() + bodies.resin[:, 0].sum()),
        mass.value,
        mass.spread,
        shape.base - place.value,
        place.spread,
        axial.value,
        axial.spread,
        across.value,
        across.spread,
        _weighed(job, shape, stack, bodies),
    )


def _weighed(job: Job, shape: Shape, stack: Stack, bodies: _Bodies) -> FromWeight | None:
    """Fibre fraction and voids from the bare part's weight, and its wall where it was read."""
    stated = job.assembly.weighed if job.assembly else None
    if stated is None:
        return None
    bare = bodies._replace(coats=bodies.coats[:0], items=())
    wall, place = None, shape.base - stated.from_base.value
    if stated.wall is not None:
        planned = np.interp(place, 0.5 * (stack.x[0] + stack.x[-1]), stack.wall)
        wall = stated.wall, float(planned)
    spread = float(np.mean(bodies.fibre_spread))
    prior = bodies.mean[:3], bodies.covariance[:3, :3]
    return weigh(lambda rows: bare.moments(rows)[:, 0], prior, stated.mass, wall, spread)


class _Line(NamedTuple):
    """One layer along its middle: arc, x, r, fibre and resin over arc length (place,)."""

    arc: Array
    x: Array
    r: Array
    fibre: Array
    resin: Array


class _Bodies(NamedTuple):
    """Moments of all that the part is made of, and the uncertain inputs that scale or move it.

    Inputs in order: fibre's own unit error, V_f, V_v, a factor on every coat, mass and place of
    every item.
    """

    fibre: Array
    resin: Array
    coats: Array
    items: tuple[Fixed, ...]
    fibre_spread: Array
    mean: Array
    covariance: Array

    def result(self, number: int) -> Model:
        """Mass, balance point from the tip, axial or transverse inertia over rows of inputs."""

        def model(rows: Array) -> Array:
            return np.asarray(rigid.balance(self.moments(rows))[number])

        return model

    def moments(self, rows: Array) -> Array:
        """Moments (row, 4) of the whole part for rows of inputs."""
        error, fraction, empty = rows[:, :3].T
        heavy = 1.0 + np.outer(error, self.fibre_spread)
        share = _resin_share(fraction, empty) / max(
            float(_resin_share(self.mean[1], self.mean[2])), TINY
        )
        total = heavy @ self.fibre + (heavy * share[:, None]) @ self.resin
        coats, items = len(self.coats), len(self.items)
        total = total + rows[:, 3 : 3 + coats] @ self.coats
        for number, item in enumerate(self.items):
            at = 3 + coats + number
            total = total + item.moments(rows[:, at], rows[:, at + items])
        return np.asarray(total)


def _resin_share(fraction: Array | float, empty: Array | float) -> Array:
    """Resin over fibre by volume, (1 − V_v)/V_f − 1; none where fibre and voids leave no room."""
    return np.asarray(np.maximum((1.0 - empty) / fraction - 1.0, 0.0))


def _stated(job: Job) -> tuple[tuple[Coat, ...], tuple[Item, ...]]:
    """Coats and items of the job; none where it does not say."""
    return (job.assembly.finish, job.assembly.items) if job.assembly else ((), ())


def _line(job: Job, stack: Stack, library: Library, number: int) -> _Line:
    """Mass of one layer over the arc of its middle."""
    middle = Curve(*(0.5 * (each[number] + each[number + 1]) for each in (stack.x, stack.r)))
    ring = 2.0 * np.pi * middle.r
    share = float(_resin_share(stack.fibre_fraction, voids(job, library)))
    density = library.resins[job.resin.name]["density"].value
    resin = ring * stack.thickness[number] * stack.fibre_fraction * share * density
    fibre = ring * stack.areal_weight[number]
    return _Line(stack.meridian.arc_length(middle), middle.x, middle.r, fibre, resin)


def _coat(job: Job, shape: Shape, stack: Stack, library: Library, row: int) -> CoatLaid:
    """One coat over the outside between its ends."""
    coat = _stated(job)[0][row]
    density, depth = library.coatings[coat.do]["density"], coat.per_side
    start = shape.tip
    stop = shape.base - (coat.from_base.value if coat.from_base else 0.0)
    over_arc = 2.0 * np.pi * stack.outside.r * depth.value * density.value
    mass = float(_moments_of(stack, stack.outside, over_arc, (start, stop))[0])
    share = math.hypot(density.spread / density.value, depth.spread / max(depth.value, TINY))
    return CoatLaid(
        f"{coat.do} {row + 1}",
        coat.do,
        (
            f"job.assembly.finish[{row + 1}]",
            f"materials.coatings.{coat.do}.density",
            *MIDDLE,
            *TRIM,
        ),
        coat.metallic,
        depth.value,
        depth.spread,
        start,
        stop,
        mass,
        mass * share,
        over_arc,
    )


def _moments_of(stack: Stack, curve: Curve, over_arc: Array, ends: tuple[float, float]) -> Array:
    """Moments of a coat of a surface."""
    return rigid.shell(stack.meridian.arc_length(curve), curve.x, curve.r, over_arc, ends)


def _fixed(item: Item, base: float) -> Fixed:
    """A stated item as a body; both ends err apart from one another."""
    low, high = item.from_base, item.to_base or item.from_base
    doubt = low.spread if item.to_base is None else 0.5 * math.hypot(low.spread, high.spread)
    return Fixed(
        item.name,
        item.material,
        item.isolated,
        item.mass.value,
        item.mass.spread,
        base - 0.5 * (low.value + high.value),
        doubt,
        high.value - low.value,
        0.5 * item.diameter.value if item.diameter else 0.0,
        0.5 * item.bore.value if item.bore else 0.0,
    )


def _bodies(
    job: Job,
    shape: Shape,
    stack: Stack,
    library: Library,
    lines: Sequence[_Line],
    coats: Sequence[CoatLaid],
    items: tuple[Fixed, ...],
) -> _Bodies:
    """Moments of every part, and the means and spreads of what they depend on."""
    ends = (shape.tip, shape.base)
    compaction = library.compactions[job.compaction.method]
    fraction = job.compaction.fibre_fraction or compaction["fibre_fraction"]
    fibre = [rigid.shell(each.arc, each.x, each.r, each.fibre, ends) for each in lines]
    resin = [rigid.shell(each.arc, each.x, each.r, each.resin, ends) for each in lines]
    laid = [
        _moments_of(stack, stack.outside, coat.over_arc, (coat.start, coat.stop)) for coat in coats
    ]
    inputs = [(0.0, 1.0), (stack.fibre_fraction, fraction.spread)]
    inputs += [(voids(job, library), compaction["voids"].spread)]
    inputs += [(1.0, coat.mass_spread / max(coat.mass, TINY)) for coat in coats]
    inputs += [(item.mass, item.mass_spread) for item in items]
    inputs += [(item.x, item.x_spread) for item in items]
    mean, spread = np.array(inputs).T
    return _Bodies(
        np.array(fibre),
        np.array(resin),
        np.reshape(laid, (len(coats), 4)),
        items,
        np.array([layer.textile.weight_spread for layer in stack.layers]),
        mean,
        np.diag(spread**2),
    )


def _per_length(
    shape: Shape, stack: Stack, lines: Sequence[_Line], coats: Sequence[CoatLaid], x: Array
) -> Array:
    """Mass of wall and coats over x at the middle of the wall, 0 beyond the trim lines, kg/m."""
    total = np.zeros_like(x)
    for each in lines:
        slant = stack.meridian.tangent(Curve(each.x, each.r)).cosine
        total += np.interp(x, each.x, (each.fibre + each.resin) / slant)
    out = stack.outside
    slant = stack.meridian.tangent(out).cosine
    for coat in coats:
        line = np.interp(x, out.x, coat.over_arc / slant)
        total += np.where((x >= coat.start) & (x <= coat.stop), line, 0.0)
    return np.where((x >= shape.tip) & (x <= shape.base), total, 0.0)
