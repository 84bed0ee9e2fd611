"""The size map: from the print file's curve to the bore of the released part, and back.

Every radius and length passes the same steps as the dimension chain, at the mean inputs:
print (shrink across and up, offset), treatments and coats along the normal, heat, release.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.physics.curves import Curve, Meridian
from mandrelwright.stages.chain import Chain
from mandrelwright.stages.record import result
from mandrelwright.stages.shape import Shape
from mandrelwright.stages.stack import Stack
from mandrelwright.stages.wall import Wall

Array = NDArray[np.float64]
WARM = ("input.set temperature", "job.shop.measured_at")


@dataclass(frozen=True)
class SizeMap:
    """Mean size changes. Diametral lengths in m; strains of the part by place (axial, hoop,
    radial); ``base`` is the x of the datum that lengths are counted from."""

    meridian: Meridian
    base: float = result("datum of lengths, x from the tip", "mm", (), ("shape.base",))
    shrink_across: float = result("print shrink of diameters", "%", (), ("input.shrink",))
    shrink_up: float = result("print shrink of heights", "%", (), ("input.shrink up",))
    offset: float = result(
        "printed minus intended diameter", "mm", (), ("input.offset", "input.scatter")
    )
    treatments: float = result("all treatments on diameter", "mm", (), ("input.{treatment}",))
    allowance: float = result(
        "left on for sanding, on diameter", "mm", (), ("fit.gate.aim", "fit.outcome.best")
    )
    heat: float = result(
        "growth of the mould when it sets", "%", (), ("input.mould expansion", *WARM)
    )
    films: float = result("wax and film on diameter", "mm", (), ("input.{film}",))
    strain: Array = result(
        "strain of the part when it is free",
        "%",
        uses=("wall.cure", "input.share kept", "wall.expansion", "input.springback", *WARM),
    )
    wall: Array = result("thickness of all layers", "mm", (), ("stack.wall",))

    def bore(self, file: Curve) -> Curve:
        """The bore that follows from a curve in the print file.

        Per diameter, coats along the normal: printed = file·(1 − s) + o,
        ready = printed + treatments − allowance, held = ready·(1 + heat) + films,
        bore = held·(1 + e_θ) + t·(e_θ − e_r).
        """
        return self._released(self._held(self.ready(file)))

    def ready(self, file: Curve) -> Curve:
        """The prepared mould, planned sanding done, that follows from the print file."""
        printed = Curve(
            self.base + (file.x - self.base) * (1.0 - self.shrink_up),
            file.r * (1.0 - self.shrink_across) + 0.5 * self.offset,
        )
        return self._coated(printed, self.treatments - self.allowance)

    def file(self, bore: Curve) -> Curve:
        """The curve in the print file from which the wanted bore follows."""
        return self.file_of_ready(self.ready_of_bore(bore))

    def ready_of_bore(self, bore: Curve) -> Curve:
        """The prepared mould, at the reference temperature, from which the bore follows.

        ready = ((bore − t·(e_θ − e_r))/(1 + e_θ) − films)/(1 + heat) per diameter, the films
        along the normal; e strain of the part once free, t its wall.
        """
        hoop, through = self.strain[:, 1], self.strain[:, 2]
        radius = (bore.r - 0.5 * self.wall * (hoop - through)) / (1.0 + hoop)
        warm = self._coated(Curve(self._stretched(bore.x, -1.0), radius), -self.films)
        return Curve(
            self.base + (warm.x - self.base) / (1.0 + self.heat), warm.r / (1.0 + self.heat)
        )

    def file_of_ready(self, ready: Curve) -> Curve:
        """The print file's curve from which the prepared mould follows.

        file = (ready + allowance − treatments − o)/(1 − s) per diameter, treatments along the
        normal; o offset, s shrink across.
        """
        printed = self._coated(ready, self.allowance - self.treatments)
        return Curve(
            self.base + (printed.x - self.base) / (1.0 - self.shrink_up),
            (printed.r - 0.5 * self.offset) / (1.0 - self.shrink_across),
        )

    def _held(self, ready: Curve) -> Curve:
        """The prepared mould warmed to the setting temperature, with its coats."""
        warm = Curve(
            self.base + (ready.x - self.base) * (1.0 + self.heat), ready.r * (1.0 + self.heat)
        )
        return self._coated(warm, self.films)

    def _released(self, held: Curve) -> Curve:
        """The bore once it is free and back at the reference temperature."""
        hoop, through = self.strain[:, 1], self.strain[:, 2]
        radius = held.r * (1.0 + hoop) + 0.5 * self.wall * (hoop - through)
        return Curve(self._stretched(held.x, 1.0), radius)

    def _stretched(self, x: Array, sign: float) -> Array:
        """x after the part's own axial strain, counted from the datum.

        sign 1 stretches by 1 + e, −1 undoes it by 1/(1 + e).
        """
        factor = (1.0 + self.strain[:, 0]) ** sign
        steps = np.diff(x) * 0.5 * (factor[1:] + factor[:-1])
        from_first = np.concatenate(([0.0], np.cumsum(steps)))
        at_datum = np.interp(self.base, x, from_first)
        return np.asarray(self.base + from_first - at_datum)

    def _coated(self, curve: Curve, on_diameter: float) -> Curve:
        """A coat of constant thickness along the normal, half of ``on_diameter`` a side."""
        return curve.moved(self.meridian.tangent(curve), 0.5 * on_diameter)


def map_sizes(shape: Shape, stack: Stack, wall: Wall, chain: Chain, allowance: float) -> SizeMap:
    """Mean size changes of the chain at every place; ``allowance`` is left on for sanding (m)."""
    mean = chain.values(chain.mean[:, None])
    warm = float(mean["set temperature"][0]) - chain.reference
    return SizeMap(
        meridian=stack.meridian,
        base=shape.base,
        shrink_across=float(mean["shrink"][0]),
        shrink_up=float(mean["shrink up"][0]),
        offset=float(mean["offset"][0] + mean["scatter"][0]),
        treatments=sum(float(mean[name][0]) for name in chain.treatments),
        allowance=allowance,
        heat=float(mean["mould expansion"][0]) * warm,
        films=sum(float(mean[name][0]) for name in chain.films),
        strain=_released_strain(
            wall, warm, float(mean["share kept"][0]), float(mean["springback"][0])
        ),
        wall=stack.wall,
    )


def _released_strain(wall: Wall, warm: float, kept: float, springback: float) -> Array:
    """Strain of the part from setting to the reference temperature once free, (place, 3).

    Springback adds to the hoop alone.
    Where the wall is no laminate the nearest sound place is taken.
    """
    strain = kept * wall.cure - warm * wall.expansion + np.array([0.0, springback, 0.0])
    sound = np.isfinite(strain[:, 0])
    if not sound.any():
        return np.zeros_like(strain)
    place = np.arange(len(strain))
    columns = [np.interp(place, place[sound], column[sound]) for column in strain.T]
    return np.array(columns).T
