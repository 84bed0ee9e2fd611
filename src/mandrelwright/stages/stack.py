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
    read_layers,
)
from mandrelwright.stages.record import derived, result
from mandrelwright.stages.shape import FitPlace, Shape
from mandrelwright.stages.surfaces import DENSE, build, build_pointwise, mould_under, peel_pointwise

Array = NDArray[np.float64]

PLACES = 400
THINNEST = 1e-6  # m; less is the foot of a ramp, not a wall that sets or grips
SCALE_STEPS = 6
CLOSED = 1e-13  # last step of the scale
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
    vanishes, meridian, mould, closure = mould_under(shape, layers, scale, places)
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


def fibre_fraction(job: Job, library: Library) -> float:
    """V_f as stated in the job, else of the compaction in the library."""
    stated = job.compaction.fibre_fraction
    if stated is not None:
        return float(stated.value)
    return library.compactions[job.compaction.method]["fibre_fraction"].value


def _with_room(layers: list[Layer], shape: Shape, tipwards: bool) -> list[Layer]:
    """Decide which layers the mould makes room for, and by how long a fair ramp.

    Where a layer begins, seen in the direction the part leaves, the mould gets smaller; the
    surface's own slope must pay for that, else the layer lies proud of the drawn surface. When
    no ramp is long enough for all, the layer that begins nearest to the fall gives up its room.
    """
    out = [replace(layer, room=_pays_for(layer, shape, tipwards)) for layer in layers]
    shortest = [layer if layer.rebate else replace(layer, ramp=FAIR_RAMPS[0]) for layer in out]
    through = [layer for layer in out if not np.isfinite(_begins(layer, tipwards))]
    if _falls(through, shape, tipwards) is not None:
        return shortest  # the drawn surface itself locks the part on
    while True:
        for ramp in FAIR_RAMPS:
            faired = [layer if layer.rebate else replace(layer, ramp=ramp) for layer in out]
            fall = _falls(faired, shape, tipwards)
            if fall is None:
                return faired
        begin = [
            _begins(layer, tipwards) if layer.room and not layer.rebate else np.inf for layer in out
        ]
        nearest = int(np.argmin(np.abs(np.array(begin) - fall)))
        out[nearest] = replace(out[nearest], room=False)


def _begins(layer: Layer, tipwards: bool) -> float:
    """The end at which the layer begins, seen in the direction the part leaves."""
    return float(layer.start if tipwards else layer.stop)


def _pays_for(layer: Layer, shape: Shape, tipwards: bool) -> bool:
    """Whether the surface's slope pays for the longest ramp of the layer taken alone."""
    begin = _begins(layer, tipwards)
    if layer.rebate or not np.isfinite(begin):
        return True
    r, slope = shape.profile(np.array([begin]))
    draft = float(slope[0]) if tipwards else -float(slope[0])
    needed = STEEPEST_OF_RAMP * layer.thickness(float(r[0])) / FAIR_RAMPS[-1]
    return draft * DRAFT_SHARE >= needed


def _falls(layers: list[Layer], shape: Shape, tipwards: bool) -> float | None:
    """Where the mould under faired layers falls the most on the part's way off, if it does."""
    x = np.linspace(shape.start, shape.stop, DENSE)
    fair = [layer for layer in layers if layer.room and not layer.rebate]
    mould = peel_pointwise(shape, fair, 1.0, x)
    x = x[np.isfinite(mould)]
    rise = np.diff(mould[np.isfinite(mould)]) * (1.0 if tipwards else -1.0)
    return None if np.all(rise >= 0.0) else float(x[int(np.argmin(rise))])


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

    scale, closing, rate = 1.0, closing_radius(1.0), shape.radius(place.stop)
    for _ in range(SCALE_STEPS):
        if not np.isfinite(closing):
            return 1.0
        step = (wanted - closing) / rate
        if abs(step) < CLOSED:
            break
        before, closing = closing, closing_radius(scale + step)
        scale, rate = scale + step, (closing - before) / step
    return scale


def wanted_radius(place: FitPlace) -> float:
    """Radius that the leading fit asks of its own surface, form error not counted (m)."""
    fit = place.fit
    if fit.kind == "flush":
        return fit.mates.value / 2.0 + place.wanted
    sign = 1.0 if fit.kind == "bore" else -1.0
    return (fit.mates.value + sign * place.wanted) / 2.0
