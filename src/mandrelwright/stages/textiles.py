"""What a layer is made of: a sleeve that follows the radius, or cloth that keeps its angle."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.layup import Cloth as StatedCloth
from mandrelwright.job.layup import Layer as StatedLayer
from mandrelwright.job.layup import Sleeve as StatedSleeve
from mandrelwright.job.materials import Library
from mandrelwright.job.nets import read_net
from mandrelwright.physics import braid
from mandrelwright.stages.record import result

Array = NDArray[np.float64]

RIGHT = 0.5 * math.pi

BRAID = "materials.practice.braid."
NET = ("job.sleeve[{sleeve}]", "materials.sleeves.{shelf}.*")
WIDTH = (*NET, "materials.tows.{tow}.*")
GOOD = (f"{BRAID}practical_*_angle",)
ROLL = ("job.cloth[*]", "job.layer[*]")
LOCKS = (*WIDTH, f"{BRAID}hard_least_angle", f"{BRAID}hard_most_angle")


@dataclass(frozen=True)
class Sleeve:
    """A sleeve as a pin-jointed net; SI, angles in rad."""

    name: str
    fibre: str
    tows: int = result("tows in both directions together", "", (), NET)
    tow: float = result("linear density of one tow", "tex", (), NET, "tow_spread")
    tow_spread: float = result("its standard uncertainty", "tex", (), NET)
    radius_at_45: float = result(
        "radius at which it lies at 45°", "mm", (), NET, "radius_at_45_spread"
    )
    radius_at_45_spread: float = result("its standard uncertainty", "mm", (), NET)
    narrowest_tow: float = result("width below which a tow jams", "mm", (), WIDTH)
    lower: float = result("lower lock, below which tows pile up", "deg", braid.lock_angles, LOCKS)
    upper: float = result("upper lock, where it opens no further", "deg", braid.lock_angles, LOCKS)
    practical: tuple[float, float] = result("range of good practice", "deg", (), GOOD)
    label_angle: float = result("angle at which its length is counted", "deg", braid.angle, NET)

    @property
    def weight_spread(self) -> float:
        """Relative standard uncertainty of its weight."""
        return self.tow_spread / self.tow

    def free_angle(self, radius: Array) -> Array:
        """Angle of the net without locks at a mid-surface radius (rad); π/2 beyond its reach."""
        return braid.angle(radius, self.radius_at_45)

    def laid_angle(self, radius: Array) -> Array:
        """Angle at a mid-surface radius, held at the locks (rad)."""
        return np.clip(self.free_angle(radius), self.lower, self.upper)

    def constant(self, density: float, fibre_fraction: float) -> float:
        """Layer constant c of physics.braid, m²."""
        return float(braid.layer_constant(self.tows, self.tow, density, fibre_fraction))

    def over(self, radius: Array, cos_slope: Array, constant: Array) -> Array:
        """Thickness when laid on a surface, along its normal (m)."""
        net = (self.radius_at_45, self.lower, self.upper)
        return braid.thickness_over(radius, cos_slope, constant, *net)

    def under(self, radius: Array, cos_slope: Array, constant: Array) -> Array:
        """Thickness below a surface (m); NaN where it reaches the axis."""
        net = (self.radius_at_45, self.lower, self.upper)
        return braid.thickness_under(radius, cos_slope, constant, *net)

    def areal_weight(self, radius: Array, theta: Array) -> Array:
        """Fibre mass per area, kg/m²."""
        return braid.areal_weight(radius, theta, self.tows, self.tow)

    def turned(self, thickness: Array, theta: Array, turned: Array) -> Array:
        """Thickness when the tows lie at another angle than the net's: a tow keeps its section."""
        return thickness * np.cos(theta) / np.cos(turned)

    def families(self, theta: Array) -> tuple[Array, ...]:
        """Angles of the balanced ±θ pairs that share the layer's thickness equally."""
        return (theta,)


@dataclass(frozen=True)
class Cloth:
    """A balanced woven cloth laid with its warp at a fixed angle; SI, rad.

    On a cone the angle turns with azimuth (physics.cloth); here it is the mean.
    """

    name: str
    fibre: str
    areal: float = result("fibre mass per area of all turns", "g/m^2", (), ROLL)
    angle: float = result("of the warp from the part's axis", "deg", (), ("job.layer[*]",))
    weight_spread: float = result("relative uncertainty of its weight", "", (), ROLL)
    lower = 0.0  # cloth does not jam
    upper = RIGHT
    practical = (0.0, RIGHT)

    def free_angle(self, radius: Array) -> Array:
        """Angle of the warp from the part's axis (rad)."""
        return np.full_like(np.asarray(radius, float), self.angle)

    def laid_angle(self, radius: Array) -> Array:
        """The same: cloth does not change angle with radius."""
        return self.free_angle(radius)

    def constant(self, density: float, fibre_fraction: float) -> float:
        """Thickness A/(ρ_f V_f), m."""
        return self.areal / (density * fibre_fraction)

    def over(self, radius: Array, cos_slope: Array, constant: Array) -> Array:
        """Thickness when laid on a surface (m): the same everywhere."""
        return np.broadcast_to(np.asarray(constant, float), np.shape(radius)) + 0.0

    def under(self, radius: Array, cos_slope: Array, constant: Array) -> Array:
        """Thickness below a surface (m); NaN where it reaches the axis."""
        thickness = self.over(radius, cos_slope, constant)
        return np.where(radius - thickness * cos_slope > 0.0, thickness, np.nan)

    def areal_weight(self, radius: Array, theta: Array) -> Array:
        """Fibre mass per area, kg/m²."""
        return np.full_like(np.asarray(radius, float), self.areal)

    def turned(self, thickness: Array, theta: Array, turned: Array) -> Array:
        """Thickness when laid at another angle: unchanged."""
        return thickness + 0.0 * turned

    def families(self, theta: Array) -> tuple[Array, ...]:
        """Warp and weft: two balanced pairs, at θ and at 90° − θ, half the thickness each."""
        return (theta, RIGHT - theta)


Textile = Sleeve | Cloth


def read_cloth(stated: StatedCloth, layer: StatedLayer) -> Cloth:
    """A stated cloth as one layer of it is laid: all its turns together, warp at its angle."""
    weight = stated.areal_weight
    return Cloth(
        stated.name,
        stated.fibre,
        weight.value * layer.turns,
        layer.angle.value,
        weight.spread / weight.value,
    )


def read_sleeve(stated: StatedSleeve, library: Library) -> Sleeve:
    """A stated sleeve with its locks: where p·sin 2θ = w, inside the hard range of the library."""
    practice = library.practice["braid"]
    hard = (practice["hard_least_angle"].value, practice["hard_most_angle"].value)
    practical = (practice["practical_least_angle"].value, practice["practical_most_angle"].value)
    net = read_net(stated, library)
    radius = net.diameter_at_45.value / 2.0
    lower, upper = braid.lock_angles(radius, net.tows, net.narrowest_tow, hard)
    return Sleeve(
        stated.name,
        net.fibre,
        net.tows,
        net.tow.value,
        net.tow.spread,
        radius,
        net.diameter_at_45.spread / 2.0,
        net.narrowest_tow,
        lower,
        upper,
        practical,
        net.label_angle,
    )
