"""How each layer ends: ramp, ridge, how far it may slide, how much it grows, which end is tied."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.physics import braid
from mandrelwright.stages.layers import Layer
from mandrelwright.stages.record import result
from mandrelwright.stages.shape import Shape
from mandrelwright.stages.stack import Stack
from mandrelwright.stages.textiles import Sleeve

GROWTH = (
    "stack.angle",
    "stack.thickness",
    "stack.share",
    "stack.r",
    "stack.fibre_fraction",
    "materials.practice.braid.loose_fraction",
)
RIDGE = ("stack.layers", "stack.ridge", "stack.scale", "materials.practice.braid.ragged_end")
ROOM = ("stack.layers", "shape.fits", "shape.tip", "shape.base", "job.mould.beyond_trim")
ENDS = tuple(dict.fromkeys((*ROOM, *RIDGE, *GROWTH)))


@dataclass(frozen=True)
class LayerEnd:
    """One end of one layer; lengths in m, x from the tip of the full profile.

    kind: "through" (past the trim line), "faired" (the mould makes room by a long ramp),
    "rebate" (by a short one) or "proud" (no room: it stands on the drawn surface).
    ridge, width: height and length of what a square-cut end leaves outside, to be faired.
    slip: how far the end may slide without harm. growth: how far it moves while the wet
    layers below are squeezed, when this is the free end. free: the other end is tied.
    """

    layer: str
    side: str
    x: float = result("x from the tip of the full profile", "mm", (), ROOM)
    kind: str = result("how it ends", "", (), ("stack.layers",))
    ridge: float = result("height it leaves outside when cut square", "mm", uses=RIDGE)
    width: float = result("length of its ramp", "mm", (), ("stack.layers",))
    slip: float = result("how far it may slide without harm", "mm", (), ROOM)
    growth: float = result(
        "how far it moves while the layers below are squeezed",
        "mm",
        braid.growth_by_compaction,
        GROWTH,
    )
    free: bool = result("the other end is tied", "", (), ROOM)

    @property
    def label(self) -> str:
        """Layer and side, as on every page."""
        return f"{self.layer} {self.side}"


def find_ends(job: Job, shape: Shape, stack: Stack, library: Library) -> tuple[LayerEnd, ...]:
    """Both ends of every layer, the one that may slide less being tied.

    Growth by compaction: dL = ∫ tan²θ·dr/r ds, dr the squeeze of the layers below.
    """
    ragged = library.practice["braid"]["ragged_end"].value
    growth = _growth(stack, library)
    out = []
    for layer, grown in zip(stack.layers, growth, strict=True):
        pair = [_end(job, shape, stack, layer, side, ragged, grown) for side in ("tip", "base")]
        tied = 0 if pair[0].slip <= pair[1].slip else 1
        for i, end in enumerate(pair):
            free = i != tied
            out.append(LayerEnd(**{**end.__dict__, "growth": grown if free else 0.0, "free": free}))
    return tuple(out)


def _end(
    job: Job, shape: Shape, stack: Stack, layer: Layer, side: str, ragged: float, grown: float
) -> LayerEnd:
    """One end before it is decided which of the two is tied."""
    x = layer.start if side == "tip" else layer.stop
    if not np.isfinite(x):
        margin = job.mould.beyond_trim
        at, slip = (shape.start, margin.tip) if side == "tip" else (shape.stop, margin.base)
        return LayerEnd(layer.label, side, at, "through", 0.0, 0.0, slip.value, grown, False)
    near = np.abs(stack.x[-1] - x) <= 0.5 * layer.ramp + ragged
    ridge = float(stack.ridge[near].max(initial=0.0))
    if layer.rebate:
        return LayerEnd(layer.label, side, x, "rebate", ridge, layer.ramp, 0.0, grown, False)
    if not layer.room:
        radius = shape.radius(min(max(x, shape.start), shape.stop))
        ridge = layer.thickness(stack.scale * radius)
    kind = "faired" if layer.room else "proud"
    return LayerEnd(
        layer.label,
        side,
        x,
        kind,
        ridge,
        layer.ramp,
        _room_to_slide(shape, x, layer.ramp),
        grown,
        False,
    )


def _room_to_slide(shape: Shape, x: float, ramp: float) -> float:
    """How far an end may slide: half its ramp, but not into an outside fit or a trim line."""
    edges = [shape.tip, shape.base]
    for place in shape.fits:
        if place.fit.kind != "bore":
            edges += [place.start, place.stop]
    return float(min(0.5 * ramp, min(abs(x - edge) for edge in edges)))


def _growth(stack: Stack, library: Library) -> list[float]:
    """Growth in length of every layer while the layers below it are squeezed (m); cloth: none."""
    loose = library.practice["braid"]["loose_fraction"].value
    excess = max(stack.fibre_fraction / loose - 1.0, 0.0)
    below = np.cumsum(stack.thickness, axis=0) - 0.5 * stack.thickness
    strain = braid.growth_by_compaction(stack.angle, excess * below, stack.middle_radius)
    arc = stack.meridian.arc_length(stack.mould)
    return [
        float(np.trapezoid(e * share, arc)) if isinstance(layer.textile, Sleeve) else 0.0
        for layer, e, share in zip(stack.layers, strain, stack.share, strict=True)
    ]
