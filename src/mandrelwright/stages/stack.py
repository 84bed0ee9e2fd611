"""Step 2, Stack: the layers on their own surfaces, from the drawn side to the mould and back."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.physics import braid
from mandrelwright.physics.curves import Curve, Meridian
from mandrelwright.stages.layers import (
    DRAFT_SHARE,
    FAIR_RAMPS,
    LAYERS,
    STEEPEST_OF_RAMP,
    Layer,
    PlanError,
    read_layers,
)
from mandrelwright.stages.record import derived, result
from mandrelwright.stages.shape import LEAST_RADIUS, FitPlace, Shape

Array = NDArray[np.float64]

PLACES = 400
RAMP_NODES = 11
CLOSEST_NODES = 5e-5  # m
DENSE = 1500  # stations of the first, pointwise look along the part
CORRECTIONS = 8
CLOSED = 2e-10  # m: built-up surface against the wanted one
OPEN = 1e-9  # m: a build-up that misses by more has not closed
THICKER_STARTS = 16
SCALE_STEPS = 6
FIT_STATIONS = 9

FIBRE_FRACTION = (
    "job.compaction.fibre_fraction | materials.compactions.{compaction}.fibre_fraction",
)
PEELED = ("shape.describes", "shape.pieces", "stack.scale", "stack.layers", "job.mould.leaves")
LAID = ("stack.mould", "stack.layers")


@dataclass(frozen=True)
class Stack:
    """Every layer's surfaces, angle and weight; axes (layer, place), SI."""

    layers: tuple[Layer, ...] = result(
        "layers from the mould outwards", "", (braid.layer_constant, braid.lock_angles), LAYERS
    )
    fibre_fraction: float = result("fibre volume fraction V_f", "%", (), FIBRE_FRACTION)
    scale: float = result(
        "drawn radii are multiplied by this so that the leading fit closes",
        uses=("shape.pieces", "stack.layers", "job.fit[{lead}]"),
    )
    vanishes: float | None = result(
        "x baseward of which the mould has a radius", "mm", braid.thickness_under, PEELED
    )
    meridian: Meridian = result("common parameter of all surfaces", uses=PEELED)
    mould: Curve = result("surface the first layer lies on", "mm", uses=PEELED)
    x: Array = result("x of the surfaces, mould first", "mm", braid.thickness_over, LAID)
    r: Array = result("radius of the surfaces, mould first", "mm", braid.thickness_over, LAID)
    thickness: Array = result(
        "thickness of each layer along its carrier's normal", "mm", braid.thickness_over, LAID
    )
    share: Array = result(
        "share of full thickness at ramps", "", Layer.share, ("stack.layers", "stack.x")
    )
    angle: Array = result(
        "braid angle from the meridian", "deg", braid.angle, ("stack.r", "stack.layers")
    )
    closure: float = result(
        "largest distance between the built and the wanted surface", "um", uses=(*LAID, *PEELED)
    )
    ridge: Array = result(
        "outside as laid with square-cut ends minus outside with ramps",
        "mm",
        braid.thickness_over,
        (*LAID, "materials.practice.braid.ragged_end"),
    )

    @property
    def pairs(self) -> tuple[Array, Array]:
        """Angle (rad) and thickness (m) of every balanced pair, (pair, place)."""
        angles: list[Array] = []
        thickness: list[Array] = []
        for layer, theta, t in zip(self.layers, self.angle, self.thickness, strict=True):
            families = layer.textile.families(theta)
            angles += families
            thickness += [t / len(families)] * len(families)
        return np.array(angles), np.array(thickness)

    @property
    @derived("mm", None, "stack.thickness")
    def wall(self) -> Array:
        """Thickness of all layers, (place,), m."""
        return np.asarray(self.thickness.sum(axis=0))

    @property
    @derived("mm", None, "stack.x", "stack.r")
    def outside(self) -> Curve:
        """The outermost surface."""
        return Curve(self.x[-1], self.r[-1])

    @property
    def middle_radius(self) -> Array:
        """Mid-surface radius of each layer, (layer, place), m."""
        return 0.5 * (self.r[1:] + self.r[:-1])

    @property
    @derived("g/m^2", braid.areal_weight, "stack.r", "stack.angle", "stack.share", "stack.layers")
    def areal_weight(self) -> Array:
        """Fibre mass per area of each layer, (layer, place), kg/m²."""
        weights = [
            layer.textile.areal_weight(r, theta) * share
            for layer, r, theta, share in zip(
                self.layers, self.middle_radius, self.angle, self.share, strict=True
            )
        ]
        return np.asarray(weights)

    @property
    @derived("", braid.lock_angles, "stack.free_angle", "stack.share", "stack.layers")
    def jammed(self) -> NDArray[np.bool_]:
        """Where a layer is present below its lower lock: bunched, not a laminate."""
        lower = np.array([[layer.textile.lower] for layer in self.layers])
        free = self.free_angle
        return np.asarray((self.share > 0.5) & (free < lower))

    @property
    @derived("deg", braid.angle, "stack.r", "stack.layers")
    def free_angle(self) -> Array:
        """Angle of the net without locks, (layer, place), rad; π/2 beyond its reach."""
        pairs = zip(self.layers, self.middle_radius, strict=True)
        return np.array([layer.textile.free_angle(r) for layer, r in pairs])


def lay_stack(job: Job, shape: Shape, library: Library, places: int = PLACES) -> Stack:
    """Solve the coupled radius and thickness of all layers and return their surfaces.

    Drawn outside: layers that the mould makes room for are peeled inwards,
    r_out² − r_in² = 2 cos β·c/cos θ, then the mould is corrected along its normals until the
    build-up on each surface's own normals returns the drawn surface. Drawn inside: the mould
    is the drawn surface. ``places``: stations along the part before ramps are refined.
    """
    fraction = fibre_fraction(job, library)
    layers = read_layers(job, shape, library, fraction)
    outside = shape.describes == "outside"
    if outside:
        layers = _with_room(layers, shape, job.mould.leaves == "tipwards")
    scale = _scale(shape, layers)
    vanishes, meridian, mould, closure = _mould_under(shape, layers, scale, places)
    surfaces, thickness = build(meridian, mould, layers)
    laid, _ = build(meridian, mould, layers, library.practice["braid"]["ragged_end"].value)
    xs, rs = np.array([s.x for s in surfaces]), np.array([s.r for s in surfaces])
    theta = np.array(
        [
            layer.textile.laid_angle(r)
            for layer, r in zip(layers, 0.5 * (rs[1:] + rs[:-1]), strict=True)
        ]
    )
    share = np.array([layer.share(s) for layer, s in zip(layers, xs, strict=False)])
    return Stack(
        tuple(layers),
        fraction,
        scale,
        vanishes,
        meridian,
        mould,
        xs,
        rs,
        thickness,
        share,
        theta,
        closure,
        laid[-1].r - rs[-1],
    )


def _mould_under(
    shape: Shape, layers: list[Layer], scale: float, places: int
) -> tuple[float | None, Meridian, Curve, float]:
    """The mould below the layers it makes room for, from where it is thick enough.

    Near a place where the mould vanishes its meridian turns square to the axis and no normal
    leads back; the start then moves to a thicker core until the build-up closes.
    """
    room = [layer for layer in layers if layer.room]
    least = LEAST_RADIUS
    for _ in range(THICKER_STARTS):
        start, vanishes = _first_station(shape, room, scale, least)
        x = _stations(shape, layers, start, places)
        meridian, wanted = _on_grid(shape, scale, x)
        mould, closure = _solve_mould(meridian, wanted, room) if room else (wanted, 0.0)
        if closure < OPEN:
            break
        least *= 1.3
    return vanishes, meridian, mould, closure


def fibre_fraction(job: Job, library: Library) -> float:
    """V_f as stated in the job, else of the compaction in the library."""
    stated = job.compaction.fibre_fraction
    if stated is not None:
        return float(stated.value)
    return library.compactions[job.compaction.method]["fibre_fraction"].value


def build(
    meridian: Meridian, mould: Curve, layers: list[Layer], ramp: float | None = None
) -> tuple[list[Curve], Array]:
    """Lay every layer on the surface below it, along that surface's own normals.

    Returns the surfaces (mould first) and the thicknesses (layer, place), m. ``ramp``
    replaces every layer's own ramp length.
    """
    surfaces, thickness = [mould], []
    for layer in layers:
        below = surfaces[-1]
        tangent = meridian.tangent(below)
        t = layer.over(below.r, tangent.cosine, layer.share(below.x, ramp))
        surfaces.append(below.moved(tangent, t))
        thickness.append(t)
    return surfaces, np.array(thickness)


def _solve_mould(meridian: Meridian, wanted: Curve, layers: list[Layer]) -> tuple[Curve, float]:
    """The mould on which the layers build up to the wanted surface, and the misfit left (m).

    A step d outside needs d·r_out/r_in at the mould, because a layer's area is conserved.
    """
    mould = wanted
    for layer in reversed(layers):
        tangent = meridian.tangent(mould)
        t = layer.under(mould.r, tangent.cosine, layer.share(mould.x))
        mould = mould.moved(tangent, -t)
    misfit = np.inf
    for _ in range(CORRECTIONS):
        outer = build(meridian, mould, layers)[0][-1]
        gap = meridian.distance(outer, wanted)
        misfit = float(np.abs(gap).max())
        if not np.isfinite(misfit):
            return mould, np.inf
        if misfit < CLOSED:
            break
        mould = mould.moved(meridian.tangent(mould), -gap * outer.r / mould.r)
    return mould, misfit


def _with_room(layers: list[Layer], shape: Shape, tipwards: bool) -> list[Layer]:
    """Decide which layers the mould makes room for, and by how long a fair ramp.

    Where a layer begins, seen in the direction the part leaves, the mould gets smaller; the
    surface's own slope must pay for that, else the layer lies proud of the drawn surface.
    """
    out = []
    for layer in layers:
        end = layer.start if tipwards else layer.stop
        room = layer.rebate or not np.isfinite(end)
        if not room:
            r, slope = shape.profile(np.array([end]))
            draft = float(slope[0]) if tipwards else -float(slope[0])
            needed = STEEPEST_OF_RAMP * layer.thickness(float(r[0])) / FAIR_RAMPS[-1]
            room = draft * DRAFT_SHARE >= needed
        out.append(replace(layer, room=room))
    x = np.linspace(shape.start, shape.stop, DENSE)
    for ramp in FAIR_RAMPS:
        faired = [layer if layer.rebate else replace(layer, ramp=ramp) for layer in out]
        fair_only = [layer for layer in faired if layer.room and not layer.rebate]
        mould = peel_pointwise(shape, fair_only, 1.0, x)
        mould = mould[np.isfinite(mould)]
        rise = np.diff(mould if tipwards else mould[::-1])
        if np.all(rise >= 0.0):
            return faired
    return [layer if layer.rebate else replace(layer, ramp=FAIR_RAMPS[0]) for layer in out]


def peel_pointwise(shape: Shape, layers: list[Layer], scale: float, x: Array) -> Array:
    """Mould radius at x with the drawn slope for every layer, NaN where the axis is reached.

    Good to micrometres; used to look before the exact solution. x (place,), m.
    """
    r, slope = shape.profile(x)
    r, cosine = scale * r, 1.0 / np.hypot(1.0, scale * slope)
    for layer in reversed(layers):
        t = layer.under(r, cosine, layer.share(x))
        r = r - t * cosine
    return r


def build_pointwise(radius: Array, cosine: Array, layers: list[Layer], x: Array) -> Array:
    """Outside radius at x over a mould of given radius, with one slope for every layer."""
    for layer in layers:
        t = layer.over(radius, cosine, layer.share(x))
        radius = radius + t * cosine
    return radius


def _scale(shape: Shape, layers: list[Layer]) -> float:
    """Factor on the drawn radii that makes the leading fit come out as wanted (secant steps)."""
    place = shape.lead
    x = np.linspace(place.start, place.stop, FIT_STATIONS)
    wanted = wanted_radius(place)
    room = [layer for layer in layers if layer.room]
    slope = shape.profile(x)[1]

    def closing_radius(scale: float) -> float:
        mould = peel_pointwise(shape, room, scale, x)
        if place.fit.kind == "bore":
            return float(np.nanmin(mould))
        cosine = 1.0 / np.hypot(1.0, scale * slope)
        return float(np.nanmax(build_pointwise(mould, cosine, layers, x)))

    scale, before = 1.0, closing_radius(1.0)
    for _ in range(SCALE_STEPS):
        if not np.isfinite(before):
            return 1.0
        scale += (wanted - before) / shape.radius(place.stop)
        before = closing_radius(scale)
    return scale


def wanted_radius(place: FitPlace) -> float:
    """Radius that the leading fit asks of its own surface, form error not counted (m)."""
    fit = place.fit
    if fit.kind == "flush":
        return fit.mates.value / 2.0 + place.wanted
    sign = 1.0 if fit.kind == "bore" else -1.0
    return (fit.mates.value + sign * place.wanted) / 2.0


def _first_station(
    shape: Shape, room: list[Layer], scale: float, least: float
) -> tuple[float, float | None]:
    """Where the mould is first thick enough, and where it vanishes (None when it never does)."""
    x = np.linspace(shape.start, shape.stop, DENSE)
    mould = peel_pointwise(shape, room, scale, x)
    gone = np.flatnonzero(~np.isfinite(mould))
    thin = np.flatnonzero(~(mould >= least * (1.0 - 1e-9)))
    vanishes = float(x[gone[-1]]) if len(gone) else None
    if len(thin) == 0:
        return shape.start, vanishes
    if thin[-1] == len(x) - 1:
        raise PlanError(
            "the layers leave no mould at the base", "use fewer or lighter layers, or a larger part"
        )
    return float(x[thin[-1] + 1]), vanishes


def _stations(shape: Shape, layers: list[Layer], start: float, places: int) -> Array:
    """x of all places: cosine spacing on every piece, about ten more on every ramp."""
    length = shape.stop - start
    nodes = []
    for piece in shape.pieces:
        low = max(piece.start, start)
        if piece.stop - low <= CLOSEST_NODES:
            continue
        count = max(8, round(places * (piece.stop - low) / length))
        turn = np.linspace(0.0, np.pi, count)
        nodes.append(low + (piece.stop - low) * 0.5 * (1.0 - np.cos(turn)))
    joints = [piece[-1] for piece in nodes]
    for layer in layers:
        for end in (layer.start, layer.stop):
            if np.isfinite(end):
                nodes += [end + layer.ramp * np.linspace(-0.5, 0.5, RAMP_NODES)]
    x = np.unique(np.concatenate(nodes))
    x = x[(x >= start) & (x <= shape.stop)]
    near = np.min(np.abs(x[:, None] - np.array(joints)[None, :]), axis=1)
    fixed = near < 1e-12
    keep = [0]
    for i in range(1, len(x)):
        if x[i] - x[keep[-1]] >= CLOSEST_NODES:
            keep.append(i)
        elif fixed[i]:
            keep[-1] = i
    return np.asarray(x[keep])


def _on_grid(shape: Shape, scale: float, x: Array) -> tuple[Meridian, Curve]:
    """The drawn surface at x, and its arc length as the common parameter of all surfaces."""
    r, _ = shape.profile(x)
    point, weight = np.polynomial.legendre.leggauss(4)
    h = 0.5 * np.diff(x)
    inside = 0.5 * (x[1:] + x[:-1])[:, None] + h[:, None] * point
    slope = shape.profile(inside.ravel())[1].reshape(inside.shape)
    u = np.concatenate(([0.0], np.cumsum(h * (np.hypot(1.0, scale * slope) @ weight))))
    return Meridian(u, _joints(shape, x)), Curve(x, scale * r)


def _joints(shape: Shape, x: Array) -> tuple[int, ...]:
    """Nodes at which smooth pieces meet, so that every piece keeps at least four nodes."""
    joints: list[int] = []
    for piece in shape.pieces[:-1]:
        node = int(np.argmin(np.abs(x - piece.stop)))
        if node - (joints[-1] if joints else 0) >= 3 and node <= len(x) - 4:
            joints.append(node)
    return tuple(joints)
