"""What every layer takes: length to cut, dry weight, and fibre and resin where it lies."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.physics import braid, wetout
from mandrelwright.physics.curves import Curve
from mandrelwright.stages.mould import Mould
from mandrelwright.stages.record import derived, result
from mandrelwright.stages.shape import Shape
from mandrelwright.stages.stack import Stack
from mandrelwright.stages.textiles import NET, ROLL, Sleeve

Array = NDArray[np.float64]

LAYUP = "materials.practice.lay-up."
MIDDLE = ("stack.x", "stack.r")
CUT = (*MIDDLE, "stack.angle", f"{LAYUP}end_allowance", f"{LAYUP}length_allowance")
VOLUME = (*MIDDLE, "stack.thickness")
RESIN = (
    "stack.fibre_fraction",
    "materials.compactions.{compaction}.voids",
    "materials.resins.{resin}.density",
)
TRIM = ("shape.tip", "shape.base")
BARE_MASS = (*MIDDLE, "stack.areal_weight")


@dataclass(frozen=True)
class Piece:
    """One layer on the bench and on the mould; SI. Cloth is cut by its pattern and not tied.

    laid: over the whole mould, trim margins included; trimmed: between the trim lines.
    """

    label: str
    textile: str
    tied: str = result("end to tie: tip, base or, of cloth, none", "", (), ("mould.ends",))
    inner: tuple[str, ...] = result("ends that lie inside the part", "", (), ("stack.layers",))
    grows: float = result("how far its free end moves when squeezed", "mm", (), ("mould.ends",))
    cut: float = result("length to cut, at the label angle", "m", braid.cut_length, CUT)
    dry: float = result("weight of the cut piece", "g", (), (*CUT, *NET))
    area: float = result("area it covers, laid", "m^2", (), MIDDLE)
    volume: float = result("volume, laid", "", (), VOLUME)
    fibre: float = result("fibre, laid", "g", braid.areal_weight, BARE_MASS)
    resin: float = result("resin, laid", "g", wetout.resin_mass, (*VOLUME, *RESIN))
    trimmed_fibre: float = result(
        "fibre between the trim lines", "g", braid.areal_weight, (*BARE_MASS, *TRIM)
    )
    trimmed_resin: float = result(
        "resin between the trim lines", "g", wetout.resin_mass, (*VOLUME, *RESIN, *TRIM)
    )
    fibre_spread: float = result(
        "relative standard uncertainty of its fibre", "%", (), (*NET, *ROLL)
    )

    @property
    @derived("g", None, *BARE_MASS, *VOLUME, *RESIN, *TRIM)
    def trimmed(self) -> float:
        """Fibre and resin between the trim lines, kg."""
        return self.trimmed_fibre + self.trimmed_resin


def cut_pieces(
    job: Job, shape: Shape, stack: Stack, mould: Mould, library: Library
) -> tuple[Piece, ...]:
    """Every layer's length to cut and its masses, from the stack's own surfaces.

    L = (∫ cos θ0/cos θ ds)·(1 + a) + 2 e between its square-cut ends, θ0 the angle at which it
    is measured; fibre ∫ A·2πr ds, volume ∫ t·2πr ds on the mid-surface; resin ρ·V·(1 − V_f − V_v).
    """
    return tuple(
        _piece(job, shape, stack, mould, library, number) for number in range(len(stack.layers))
    )


def _piece(
    job: Job, shape: Shape, stack: Stack, mould: Mould, library: Library, number: int
) -> Piece:
    layer, theta = stack.layers[number], stack.angle[number]
    middle = Curve(
        0.5 * (stack.x[number] + stack.x[number + 1]), 0.5 * (stack.r[number] + stack.r[number + 1])
    )
    arc = stack.meridian.arc_length(middle)
    ring = 2.0 * np.pi * middle.r
    everywhere, trimmed = (-np.inf, np.inf), (shape.tip, shape.base)
    weight, thickness = ring * stack.areal_weight[number], ring * stack.thickness[number]
    fibre, trimmed_fibre = (_over(middle.x, arc, weight, span) for span in (everywhere, trimmed))
    volume, trimmed_volume = (
        _over(middle.x, arc, thickness, span) for span in (everywhere, trimmed)
    )
    resin, trimmed_resin = (_resin(job, stack, library, each) for each in (volume, trimmed_volume))
    tied, grows, cut, dry = "", 0.0, np.nan, fibre
    if isinstance(layer.textile, Sleeve):
        tied, grows = _tied(mould, layer.label)
        net = _over(
            middle.x,
            arc,
            np.cos(layer.textile.label_angle) / np.cos(theta),
            (layer.start, layer.stop),
        )
        cut = with_allowances(net, library)
        dry = cut * layer.textile.tows * layer.textile.tow / np.cos(layer.textile.label_angle)
    ends = (("tip", layer.start), ("base", layer.stop))
    return Piece(
        layer.label,
        layer.textile.name,
        tied,
        tuple(side for side, x in ends if np.isfinite(x)),
        grows,
        float(cut),
        float(dry),
        _over(middle.x, arc, ring * stack.share[number], everywhere),
        volume,
        fibre,
        resin,
        trimmed_fibre,
        trimmed_resin,
        layer.textile.weight_spread,
    )


def with_allowances(net: float, library: Library) -> float:
    """Length to cut so that a net length lies: net·(1 + a) + 2 e, m."""
    practice = library.practice["lay-up"]
    return net * (1.0 + practice["length_allowance"].value) + 2.0 * practice["end_allowance"].value


def _over(x: Array, arc: Array, integrand: Array, ends: tuple[float, float]) -> float:
    """∫ integrand ds along a mid-surface between two x, trapezium rule with its ends put in."""
    first, last = np.interp(np.clip(ends, x[0], x[-1]), x, arc)
    s = np.concatenate(([first], arc[(arc > first) & (arc < last)], [last]))
    return float(np.trapezoid(np.interp(s, arc, integrand), s))


def voids(job: Job, library: Library) -> float:
    """Void volume fraction that the compaction leaves."""
    return library.compactions[job.compaction.method]["voids"].value


def _resin(job: Job, stack: Stack, library: Library, volume: float) -> float:
    density = library.resins[job.resin.name]["density"].value
    empty = min(voids(job, library), 1.0 - stack.fibre_fraction)
    return float(wetout.resin_mass(volume, stack.fibre_fraction, empty, density))


def _tied(mould: Mould, label: str) -> tuple[str, float]:
    """The end that is tied, and how far the other one moves (m)."""
    ends = [end for end in mould.ends if end.layer == label]
    return next(end.side for end in ends if not end.free), sum(end.growth for end in ends)
