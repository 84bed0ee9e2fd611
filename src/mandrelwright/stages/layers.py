"""Sleeves and layers of the job as numbers: net, locks, where each layer lies and how it ends."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job, Position
from mandrelwright.physics import braid
from mandrelwright.quantities import Quantity
from mandrelwright.stages.record import result
from mandrelwright.stages.shape import Shape
from mandrelwright.stages.textiles import GOOD, LOCKS, NET, ROLL, Textile, read_cloth, read_sleeve

Array = NDArray[np.float64]


class PlanError(ValueError):
    """A job that reads well but of which no plan can be computed: reason and remedy."""

    def __init__(self, reason: str, remedy: str) -> None:
        super().__init__(f"{reason}: {remedy}")
        self.reason = reason
        self.remedy = remedy


STEEPEST_OF_RAMP = 1.875  # slope of the C2 ramp 6z⁵ − 15z⁴ + 10z³ over its mean
REBATE_SLOPE = 1.0 / 20.0  # mean slope of a rebate's ramp when the job states no length
FAIR_RAMPS = (30e-3, 45e-3, 70e-3, 100e-3)  # m, tried from short to long
DRAFT_SHARE = 0.7  # share of the surface's own slope that a fair ramp may use up

CONSTANT = (*NET, *ROLL, "materials.fibres.{fibre}.density", "stack.fibre_fraction")
ENDS = ("job.layer[*]", "shape.pieces", "shape.base")
LAYERS = tuple(dict.fromkeys((*ENDS, *CONSTANT, *LOCKS, *GOOD)))


@dataclass(frozen=True)
class Layer:
    """One layer from the mould outwards: where it starts and stops, and its ramps.

    start, stop: x from the tip (m), −inf/+inf when it runs through the trim line. ramp:
    length over which the mould makes room, centred at the end; room: whether it does.
    """

    number: int
    textile: Textile = result("what it is made of", "", ())
    constant: float = result("layer constant c", "m²", braid.layer_constant, CONSTANT)
    start: float = result("tipward end, x from the tip", "mm", (), ENDS)
    stop: float = result("baseward end, x from the tip", "mm", (), ENDS)
    ramp: float = result("length of the ramp that the mould makes for an end", "mm")
    room: bool = result("whether the mould makes room for it")
    rebate: bool = result("whether by a short ramp", "", (), ("job.layer[*]",))

    @property
    def label(self) -> str:
        """Number and sleeve, as on every page."""
        return f"{self.number} {self.textile.name}"

    def share(self, x: Array, ramp: float | None = None) -> Array:
        """Share of full thickness at x: S((x − start)/ramp + ½)·S((stop − x)/ramp + ½).

        S(z) = 6z⁵ − 15z⁴ + 10z³ from 0 to 1: a C2 step of the ramp's length at either end.
        """
        length = self.ramp if ramp is None else ramp
        share = np.ones_like(x)
        if math.isfinite(self.start):
            share = _step((x - self.start) / length + 0.5)
        if math.isfinite(self.stop):
            share = share * _step((self.stop - x) / length + 0.5)
        return share

    def thickness(self, radius: float) -> float:
        """Full thickness where the mid-surface has this radius, m."""
        flat = np.array([radius])
        return float(self.over(flat, np.zeros(1), np.ones(1))[0])

    def over(self, radius: Array, cos_slope: Array, share: Array) -> Array:
        """Thickness of a share of this layer laid on a surface, along its normal (m)."""
        return self.textile.over(radius, cos_slope, self.constant * share)

    def under(self, radius: Array, cos_slope: Array, share: Array) -> Array:
        """Thickness of a share of this layer below a surface (m); NaN beyond the axis."""
        return self.textile.under(radius, cos_slope, self.constant * share)


def _step(z: Array) -> Array:
    """C2 step from 0 to 1 for z from 0 to 1: 6z⁵ − 15z⁴ + 10z³."""
    z = np.minimum(np.maximum(z, 0.0), 1.0)
    return np.asarray(z**3 * (10.0 + z * (6.0 * z - 15.0)))


def read_layers(job: Job, shape: Shape, library: Library, fibre_fraction: float) -> list[Layer]:
    """Every layer of the job, repeats staggered so that no two ends fall together.

    Each repeat is shorter than the one before by its stagger at every end inside the part;
    stagger never lengthens a layer. Raises PlanError where nothing is left of a layer.
    """
    sleeves = {sleeve.name: read_sleeve(sleeve, library) for sleeve in job.sleeves}
    cloths = {cloth.name: cloth for cloth in job.cloths}
    layers: list[Layer] = []
    for stated in job.layers:
        textile: Textile
        if stated.sleeve is not None:
            textile = sleeves[stated.sleeve]
        else:
            textile = read_cloth(cloths[str(stated.cloth)], stated)
        density = library.fibres[textile.fibre]["density"].value
        constant = textile.constant(density, fibre_fraction)
        start = _position(stated.start, shape, -math.inf)
        stop = _position(stated.stop, shape, math.inf)
        for turn in range(stated.repeat):
            shift = turn * stated.stagger.value
            if stop - shift <= start + shift:
                raise PlanError(
                    f"layer {len(layers) + 1} of {textile.name} ends before it begins",
                    "from is the tipward end; or use fewer repeats or a smaller stagger",
                )
            layer = Layer(
                len(layers) + 1,
                textile,
                constant,
                start + shift,
                stop - shift,
                FAIR_RAMPS[0],
                False,
                stated.rebate,
            )
            if stated.rebate:
                layer = replace(layer, ramp=_rebate_ramp(stated.ramp, layer, shape))
            layers.append(layer)
    return layers


def _rebate_ramp(stated: Quantity | None, layer: Layer, shape: Shape) -> float:
    """Length of a rebate's ramp: as stated, or a mean slope of 1:20 where the layer ends."""
    if stated is not None:
        return stated.value
    end = layer.start if math.isfinite(layer.start) else layer.stop
    if not math.isfinite(end):
        return layer.ramp  # it runs through both trim lines and has no ramp
    return layer.thickness(shape.radius(end)) / REBATE_SLOPE


def _position(stated: Position, shape: Shape, through: float) -> float:
    """x from the tip of a stated end: distance from the base, diameter, or the part's own end."""
    if stated.from_base is not None:
        return shape.base - stated.from_base.value
    if stated.diameter is None:
        return through
    x = shape.x_of_diameter(stated.diameter.value)
    if x is None:
        raise PlanError(
            f"no place of the drawn surface has a diameter of {stated.diameter.value * 1e3:.2f} mm",
            "give a diameter between the part's smallest and largest, or a distance from the base",
        )
    return x
