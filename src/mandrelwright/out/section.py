"""The part cut along its axis: above as laid on its mould, below finished on its mates.

Lengths and the mould's radius are true to each other; what stands on the mould (layers,
ridges, play) is drawn ``thicker`` times, and the picture says so.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from mandrelwright.draft import Draft
from mandrelwright.out import callouts
from mandrelwright.out.frame import (
    SIZE,
    WIDTH,
    Frame,
    Scale,
    Tone,
    at_base,
    frame_of,
    rulers,
    tones,
    trims,
)
from mandrelwright.out.placing import place, spread_out
from mandrelwright.out.svg import CAUTION, INK, PAPER, PLASTIC, SOFT, STOP, Drawing, Hatch, fitted
from mandrelwright.stages.chain import Station

Array = NDArray[np.float64]

THICKER = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20)
WALL_DRAWN, WALL_MOST = 32.0, 70.0  # units: typical and thickest wall as drawn
PRESENT = 2e-6  # m of thickness from which a layer is drawn
MATE_WALL = 3e-3  # m of a mate drawn; its own wall is not known
HEAD = 50.0  # units for the title


def draw_section(plan: Draft) -> str:
    """The section as one SVG text: layers, mould, trims, ends, fits, marks and trouble."""
    frame = frame_of(plan)
    drawing = Drawing(
        "section", WIDTH, f"Section of {plan.job.part.name}",
        "Upper half: the layers on the mould. Lower half: the finished part on its mates. "
        "Tip at the left, base at the right.",
    )  # fmt: skip
    ends = place(callouts.end_labels(plan, frame), SIZE, 6.0, WIDTH - 6.0)
    rows = max((item.row for item in ends), default=-1) + 1
    top = HEAD + callouts.ROW * rows
    mould = plan.stack.mould
    scale = Scale(frame, 0.0, _thicker(plan, frame), mould.x, mould.r)
    above, below = _reach(plan, scale)
    scale = replace(scale, axis=top + above)
    foot = scale.axis + below
    _title(drawing, plan, scale.thicker)
    trims(drawing, frame, top, foot + 6.0)
    layers = tones(plan.stack.layers)
    _mould(drawing, plan, scale)
    _layers(drawing, plan, scale, layers)
    _mates(drawing, plan, scale)
    _part(drawing, plan, scale, layers)
    _trouble(drawing, plan, scale)
    drawing.line(float(frame.at(frame.low)) - 8.0, scale.axis, frame.right + 8.0, scale.axis, SOFT,
                 0.7, "14 3 3 3")  # fmt: skip
    callouts.marks(drawing, plan, scale)
    callouts.leaders(drawing, plan, scale, ends, top)
    foot = max(foot + 4.0, callouts.worst_ridge(drawing, plan, scale))
    foot = callouts.fits(drawing, plan, scale, foot + 14.0)
    foot = callouts.trouble(drawing, plan, frame, foot)
    return drawing.finish(rulers(drawing, frame, foot + 8.0))


def _thicker(plan: Draft, frame: Frame) -> int:
    """How many times thicker the wall is drawn, so that its layers can be told apart."""
    x, wall = plan.stack.mould.x, plan.stack.wall
    inside = wall[(x >= frame.tip) & (x <= frame.base)]
    typical, most = float(np.median(inside)), float(inside.max())
    room = min(WALL_DRAWN / max(typical, 1e-6), WALL_MOST / max(most, 1e-6)) / frame.scale
    return max((factor for factor in THICKER if factor <= room), default=1)


def _reach(plan: Draft, scale: Scale) -> tuple[float, float]:
    """Units from the axis to the outermost thing drawn, above and below."""
    stack, flange = plan.stack, plan.job.mould.flange
    outside = float(scale.drawn(stack.x[-1], stack.r[-1] + np.maximum(stack.ridge, 0.0)).max())
    faces = [
        _face(station, scale) + (MATE_WALL if station.place.fit.kind == "shoulder" else 0.0)
        for station in plan.fit.chain.stations
    ]
    rim = flange.diameter.value / 2.0 if flange else 0.0
    return max(outside, rim) * scale.frame.scale, max(outside, *faces) * scale.frame.scale


def _title(drawing: Drawing, plan: Draft, thicker: int) -> None:
    note = "Section in mm: above the axis on its mould, below finished on its mates"
    if thicker > 1:
        note += f"; layers, ridges and play drawn {thicker} times thicker"
    drawing.text(14.0, 22.0, fitted(plan.job.part.name, 13.0, WIDTH - 40.0), 13.0, bold=True)
    drawing.text(14.0, 38.0, note, SIZE, fill=SOFT)


def _mould(drawing: Drawing, plan: Draft, scale: Scale) -> None:
    """The mould's upper half with flange, pull-rod hole and vent, hatched as cut plastic."""
    curve, job = plan.stack.mould, plan.job.mould
    fill = Hatch(PLASTIC, "#b9b19a", "rising", 7.0)
    hole = job.pull_rod.value / 2.0 if job.pull_rod else 0.0
    surface = scale.above(curve.x, curve.r)
    drawing.band(surface, scale.above(curve.x, np.full_like(curve.r, hole)), fill)
    drawing.curve(surface, id="section-mould")
    ends = curve.x[[0, -1]]
    drawing.curve(scale.above(ends[[0, 0]], np.array([hole, curve.r[0]])))
    if job.flange is not None:
        x = np.array([ends[1], ends[1] + job.flange.thickness.value])
        rim = np.full(2, job.flange.diameter.value / 2.0)
        drawing.band(scale.above(x, rim), scale.above(x, np.full(2, hole)), fill, stroke=INK)
        ends = np.array([ends[0], x[1]])
    if hole:
        drawing.curve(scale.above(ends, np.full(2, hole)), stroke_width=0.7)
    if job.vent is not None:
        _vent(drawing, scale, ends, hole, float(curve.r.min()), job.vent.value / 2.0)
    holes = (("pull-rod hole", job.pull_rod), ("vent", job.vent))
    said = [f"mould of {fitted(job.plastic, SIZE, 120.0)}"]
    said += [f"{word} ø {size.value * 1e3:.1f}" for word, size in holes if size]
    frame, under = scale.frame, scale.axis + 14.0
    tip, base = float(frame.at(frame.tip)), float(frame.at(frame.base))
    drawing.text(tip + 5.0, under, "trim", SIZE, fill=SOFT)
    drawing.text(base - 5.0, under, "trim", SIZE, "end", SOFT)
    drawing.text(0.5 * (tip + base), under, ", ".join(said), SIZE, "middle", SOFT)


def _vent(
    drawing: Drawing, scale: Scale, ends: Array, hole: float, core: float, radius: float
) -> None:
    """The air hole: on the axis, or beside the pull-rod where the solid has it too."""
    centre = 0.5 * (hole + core) if hole else 0.0
    low, high = np.full(2, max(centre - radius, 0.0)), np.full(2, centre + radius)
    drawing.band(scale.above(ends, high), scale.above(ends, low), PAPER, stroke=INK,
                 stroke_width=0.5)  # fmt: skip


def _surfaces(plan: Draft, scale: Scale, low: float, high: float) -> tuple[Array, Array]:
    """x (n,) between two places and the drawn radii (layer + 1, n) of all surfaces there."""
    stack, grid = plan.stack, plan.stack.mould.x
    x = np.concatenate(([low], grid[(grid > low) & (grid < high)], [high]))
    radii = [np.interp(x, xs, rs) for xs, rs in zip(stack.x, stack.r, strict=True)]
    return x, np.array([scale.drawn(x, r) for r in radii])


def _layers(drawing: Drawing, plan: Draft, scale: Scale, layers: list[Tone]) -> None:
    """Every layer as laid, margins included."""
    ends = plan.stack.mould.x[[0, -1]]
    x, radii = _surfaces(plan, scale, float(ends[0]), float(ends[1]))
    for number, tone in enumerate(layers):
        one, other = (scale.above(x, radii[number + i]) for i in (0, 1))
        _layer(drawing, one, other, scale.thicker * scale.frame.scale, tone)
    drawing.curve(scale.above(x, radii[-1]), id="section-outside")


def _layer(drawing: Drawing, one: Array, other: Array, thickened: float, tone: Tone) -> None:
    """One layer's area wherever it is there at all."""
    there = np.flatnonzero(np.abs(other[:, 1] - one[:, 1]) > PRESENT * thickened)
    if len(there):
        run = slice(max(there[0] - 1, 0), there[-1] + 2)
        drawing.band(other[run], one[run], tone.fill, stroke=PAPER, stroke_width=0.6)


def _part(drawing: Drawing, plan: Draft, scale: Scale, layers: list[Tone]) -> None:
    """The trimmed part below the axis, with the ridges its layer ends leave outside."""
    low = max(scale.frame.tip, float(plan.stack.mould.x[0]))
    x, radii = _surfaces(plan, scale, low, scale.frame.base)
    outside = radii[-1] + scale.thicker * callouts.ridge_at(plan, x)
    drawing.band(scale.below(x, outside), scale.below(x, radii[-1]), CAUTION)
    for number, tone in enumerate(layers):
        one, other = (scale.below(x, radii[number + i]) for i in (0, 1))
        _layer(drawing, one, other, scale.thicker * scale.frame.scale, tone)
    for line in (radii[0], radii[-1]):
        drawing.curve(scale.below(x, line))
    for end in (0, -1):
        drawing.curve(scale.below(x[[end, end]], radii[[0, -1], end]))


def _mates(drawing: Drawing, plan: Draft, scale: Scale) -> None:
    """Coupler and tube below the axis, at their measured diameters, run on beyond the part."""
    fill = Hatch(PAPER, SOFT, "falling", 5.0)
    frame = scale.frame
    named = []
    for station in plan.fit.chain.stations:
        fit, baseward = station.place.fit, at_base(station.place, plan.shape)
        start, stop = station.place.start, station.place.stop
        if fit.kind == "flush":
            start, stop = frame.base, frame.tip
        x = np.array([start, frame.high] if baseward else [stop, frame.low])
        face = np.full(2, _face(station, scale))
        back = face + (MATE_WALL if fit.kind == "shoulder" else -MATE_WALL)
        drawing.band(scale.below(x, face), scale.below(x, back), fill)
        drawing.curve(scale.below(x, face), stroke_width=1.2)
        drawing.curve(scale.below(x[[0, 0]], np.array([face[0], back[0]])))
        if baseward:
            named.append((fit.name, scale.axis + frame.scale * 0.5 * (face[0] + back[0]) + 3.5))
    heights = spread_out([y for _, y in named], 12.0)
    for (name, _), y in zip(named, heights, strict=True):
        drawing.text(frame.right + 4.0, y, fitted(name, SIZE, WIDTH - frame.right - 8.0), SIZE)


def _face(station: Station, scale: Scale) -> float:
    """Radius (m) at which a mate's face is drawn: straight, its play thickened."""
    return float(scale.drawn(station.x, station.place.fit.mates.value / 2.0))


def _trouble(drawing: Drawing, plan: Draft, scale: Scale) -> None:
    """Layers in trouble, hatched over in its colour."""
    kinds = {STOP: "rising", CAUTION: "falling"}
    for zone in callouts.zones(plan.findings):
        ends = plan.stack.mould.x[[0, -1]]
        low, high = np.clip([zone.start, zone.stop], ends[0], ends[1])
        if high > low:
            fill = Hatch("none", zone.ink, kinds[zone.ink], 7.0)
            x, radii = _surfaces(plan, scale, float(low), float(high))
            drawing.band(scale.above(x, radii[-1]), scale.above(x, radii[0]), fill,
                         stroke=zone.ink, stroke_width=1.4)  # fmt: skip
