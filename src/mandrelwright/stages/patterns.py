"""Step 11, Patterns: what to cut of cloth and of paper, flat and in true size."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.layup import Cloth
from mandrelwright.job.layup import Layer as Stated
from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.physics import cloth
from mandrelwright.physics.curves import Curve
from mandrelwright.stages.flat import Line, arc, edge, seam_lines, square_to
from mandrelwright.stages.layers import Layer, PlanError
from mandrelwright.stages.layup import LayUp
from mandrelwright.stages.mould import Mould
from mandrelwright.stages.record import result
from mandrelwright.stages.shape import Shape
from mandrelwright.stages.stack import Stack
from mandrelwright.stages.stretches import Stretch, find_stretches
from mandrelwright.stages.templates import Template, draw_templates

Array = NDArray[np.float64]

SEAM_STEP = math.radians(135.0)  # eight seams at 45° apart, neighbours in the stack 135° apart
WARP_MARK = 30e-3  # m, half the arrow along the warp
LAID = (
    "stack.scale",
    "stack.x",
    "stack.r",
    "stack.layers",
    "shape.pieces",
    "job.layer[*]",
    "job.cloth[*]",
)


@dataclass(frozen=True)
class ClothPiece:
    """One pattern of cloth, X towards the base and seen from outside; SI, angles in rad.

    kind: "rectangle", "sector" or "gore"; count of it are cut.
    """

    label: str
    layer: int
    textile: str
    kind: str
    lines: tuple[Line, ...]
    count: int = result("how many are cut of it", "", (), ("job.layer[*]",))
    turns: int = result("how often it goes round", "", (), ("job.layer[*]",))
    warp: float = result("angle of the warp from the centre line", "deg", (), ("job.layer[*]",))
    warp_range: tuple[float, float] = result(
        "least and largest angle of the warp from the part's axis, laid",
        "deg",
        cloth.ply_angle,
        LAID,
    )
    start: float = result("its tipward end, x from the tip", "mm", (), LAID)
    stop: float = result("its baseward end, x from the tip", "mm", (), LAID)
    overlap: float = result("by which its edges overlap, at most", "mm", (), ("job.layer[*]",))
    band: float = result("azimuth that its overlap covers, at most", "deg", (), LAID)
    seam: float = result("azimuth of its first seam", "deg", (), LAID)
    leftover: float = result(
        "largest strain that lying down leaves over, at its edges", "%", cloth.leftover, LAID
    )
    leftover_at: float = result("where that is, x from the tip", "mm", cloth.leftover, LAID)
    needed: int = result(
        "pieces round the part that would leave no more than cloth takes",
        "",
        cloth.leftover,
        (*LAID, "materials.practice.cloth.strain_taken"),
    )
    area: float = result("cloth area of one", "m^2", cloth.outline_area, LAID)
    mass: float = result("cloth mass of all of them", "g", cloth.outline_area, LAID)
    length: float = result("extent along the warp", "mm", cloth.extent, LAID)
    width: float = result("extent across the warp", "mm", cloth.extent, LAID)

    @property
    def outline(self) -> Array:
        """The line to cut, closed, (n, 2) in m."""
        return self.lines[0].points


@dataclass(frozen=True)
class Patterns:
    """Everything to cut in true size: cloth, and paper that marks sleeves, trims and angles."""

    pieces: tuple[ClothPiece, ...] = result(
        "patterns of cloth in the order of the layers", "", None, LAID
    )
    templates: tuple[Template, ...] = result("paper templates", "", draw_templates)
    ridge: float = result("height of the thickest overlap above its layer", "mm", (), LAID)


def cut_patterns(
    job: Job, shape: Shape, stack: Stack, mould: Mould, layup: LayUp, library: Library
) -> Patterns:
    """Every cloth layer on the middle of its own thickness, unrolled stretch by stretch.

    A stretch whose meridian is straight to 0.2 mm is one piece round the part. Another is n
    gores, y = (r/sin β)·sin(π sin β/n) wide to either side, π r/n where it is hardly inclined.
    Seams of successive layers lie 135° apart, of gores half a gore.
    Raises PlanError where an overlap is no shorter than the way round.
    """
    pieces: list[ClothPiece] = []
    ridge = 0.0
    takes = library.practice["cloth"]["strain_taken"].value
    shelf = {each.name: each for each in job.cloths}
    stated = [each for each in job.layers for _ in range(each.repeat)]
    order = 0
    for number, (layer, wanted) in enumerate(zip(stack.layers, stated, strict=True)):
        if wanted.cloth is None:
            continue
        middle = Curve(*(0.5 * (each[number] + each[number + 1]) for each in (stack.x, stack.r)))
        stretches = find_stretches(
            shape, stack.scale, middle, layer.start, layer.stop, wanted.overlap.value
        )
        pieces += [
            _piece(shape, layer, wanted, shelf[wanted.cloth], stretch, order, takes)
            for stretch in stretches
        ]
        ridge = max(ridge, layer.thickness(shape.radius(shape.base)) / wanted.turns)
        order += 1
    return Patterns(tuple(pieces), draw_templates(shape, stack, mould, layup), ridge)


def _piece(
    shape: Shape,
    layer: Layer,
    stated: Stated,
    roll: Cloth,
    stretch: Stretch,
    order: int,
    takes: float,
) -> ClothPiece:
    """The pattern of one stretch of one layer."""
    count = stated.gores if stretch.curved else 1
    turns = 1 if stretch.curved else stated.turns
    half = math.pi * turns / count
    overlap = _overlap(layer, stated, stretch, half)
    outline = _outline(stretch, half, overlap)
    warp = stated.angle.value
    strain = np.where(
        stretch.own,
        cloth.leftover(stretch.radius, stretch.sine, stretch.turning, half),
        0.0,
    )
    worst = int(np.argmax(np.abs(strain)))
    turned = cloth.ply_angle(warp, stretch.sine[:, None], np.array([-half, half]))
    length, width = cloth.extent(outline, warp)
    area = cloth.outline_area(outline)
    return ClothPiece(
        f"{layer.label}, {stretch.name}",
        layer.number,
        roll.name,
        _kind(stretch),
        (Line("cut", outline), *_marks(shape, layer, stretch, half, overlap, stated)),
        count,
        turns,
        warp,
        (float(turned.min()), float(turned.max())),
        float(stretch.x[0]),
        float(stretch.x[-1]),
        float(overlap.max()),
        float((overlap / stretch.radius).max()),
        _seam(order, count),
        float(strain[worst]),
        float(stretch.x[worst]),
        math.ceil(count * max(1.0, math.sqrt(abs(float(strain[worst])) / takes))),
        area,
        count * area * roll.areal_weight.value,
        length,
        width,
    )


def _kind(stretch: Stretch) -> str:
    if stretch.curved:
        return "gore"
    return "rectangle" if abs(float(stretch.sine[0])) < 1e-6 else "sector"


def _seam(order: int, count: int) -> float:
    """Azimuth of the first seam of the order-th cloth layer, rad from an agreed line."""
    if count > 1:
        return (order % 2) * math.pi / count
    return order * SEAM_STEP % (2.0 * math.pi)


def _overlap(layer: Layer, stated: Stated, stretch: Stretch, half: float) -> Array:
    """Overlap along the parallel at every place: as stated, of gores no more than half a gore."""
    wanted = np.full_like(stretch.radius, stated.overlap.value)
    if stretch.curved:
        return np.minimum(wanted, half * stretch.radius)
    least = 2.0 * math.pi * float(stretch.radius.min())
    if stated.overlap.value >= least:
        raise PlanError(
            f"layer {layer.number} of {layer.textile.name} overlaps itself by "
            f"{stated.overlap.value * 1e3:.0f} mm where the way round is {least * 1e3:.0f} mm",
            "use a smaller overlap, or turns = 2 for two layers in one piece",
        )
    return wanted


def _outline(stretch: Stretch, half: float, overlap: Array) -> Array:
    """Round the piece: tip arc, overlap edge, base arc, plain edge; closed, (n, 2)."""
    extra = overlap / stretch.radius
    tip = arc(stretch, 0, -half, half + float(extra[0]))
    base = arc(stretch, -1, half + float(extra[-1]), -half)
    return np.concatenate(
        (tip, edge(stretch, half + extra), base, edge(stretch, -half)[::-1], tip[:1])
    )


def _marks(
    shape: Shape, layer: Layer, stretch: Stretch, half: float, overlap: Array, stated: Stated
) -> Iterator[Line]:
    """Centre line, seams with ticks, trim lines, laps and the warp."""
    extra = overlap / stretch.radius
    turns, warp = (1 if stretch.curved else stated.turns), stated.angle.value

    def across(x: float) -> tuple[float, float]:
        return -half, half + float(np.interp(x, stretch.x, extra))

    yield Line("centre", edge(stretch, 0.0))
    yield from seam_lines(stretch, half, turns)
    for x, name in ((shape.tip, "tip trim line"), (shape.base, "base trim line")):
        if stretch.reaches(x):
            yield square_to(stretch, x, across(x), "trim", name)
    if math.isfinite(stretch.joint):
        x = stretch.joint
        yield square_to(stretch, x, across(x), "lap", "next piece begins here")
    s, r, a = stretch.at(0.5 * float(stretch.x[0] + stretch.x[-1]))
    middle = cloth.unroll(s, r, a, 0.0)
    thread = min(WARP_MARK, 0.35 * float(stretch.arc[-1]), 0.7 * half * r) * np.array(
        [math.cos(warp), math.sin(warp)]
    )
    yield Line("warp", np.array([middle - thread, middle + thread]), f"warp {_degrees(warp)}")
    for share, text in ((0.02, "tip"), (0.95, "base"), (0.2, layer.label)):
        s, r, a = stretch.at(stretch.x[0] + share * (stretch.x[-1] - stretch.x[0]))
        yield Line("name", cloth.unroll(s, r, a, -0.15 * half)[None], text)


def _degrees(angle: float) -> str:
    return f"{math.degrees(angle):.0f}°"
