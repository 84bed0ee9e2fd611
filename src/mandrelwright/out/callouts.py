"""What is written round the section: layer ends, caliper marks, fits, stretches in trouble."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.draft import Draft
from mandrelwright.findings.finding import Finding, Level
from mandrelwright.out.frame import SIZE, WIDTH, Frame, Scale
from mandrelwright.out.marks import target
from mandrelwright.out.placing import Label, Placed
from mandrelwright.out.svg import CAUTION, INK, PAPER, PLASTIC, STOP, Drawing, fitted, text_width

Array = NDArray[np.float64]

ROW = 15.0
RIDGE_SHOWN = 20e-6  # m; a ridge below this is sanded off with the rest
FULL_LENGTH = 0.52, 0.04  # of the length: where a full layer is named, and how far the next one


@dataclass(frozen=True)
class Zone:
    """A stretch in trouble: all findings of one id together."""

    level: Level
    word: str
    start: float
    stop: float

    @property
    def ink(self) -> str:
        """Its colour; sign and word say the same."""
        return STOP if self.level is Level.STOP else CAUTION


def zones(findings: Sequence[Finding]) -> list[Zone]:
    """Stretches with a stop or a caution, one for every kind of finding."""
    groups: dict[str, list[tuple[Finding, tuple[float, float]]]] = {}
    for finding in findings:
        if finding.place is not None and finding.level is not Level.NOTE:
            groups.setdefault(finding.id, []).append((finding, finding.place))
    out = []
    for key, members in groups.items():
        word = key.partition(".")[2].replace("-", " ")
        word += f", {len(members)} layers" if len(members) > 1 else ""
        stop = any(finding.level is Level.STOP for finding, _ in members)
        low, high = min(p[0] for _, p in members), max(p[1] for _, p in members)
        out.append(Zone(Level.STOP if stop else Level.CAUTION, word, low, high))
    return out


def end_labels(plan: Draft, frame: Frame) -> list[Label]:
    """Where each layer begins and stops; a layer that runs right through is named once."""
    out, shape = [], plan.shape
    for layer in plan.stack.layers:
        name = fitted(layer.label, SIZE, 160.0)
        ends = (("from", layer.start), ("to", layer.stop))
        inner = [(word, x) for word, x in ends if shape.start < x < shape.stop]
        for word, x in inner:
            text = f"{name} {word} {(frame.base - x) * 1e3:.0f}"
            out.append(Label(float(frame.at(x)), text, layer.number, x))
        if not inner:
            share = (FULL_LENGTH[0] + FULL_LENGTH[1] * layer.number) % 1.0
            x = frame.tip + share * (frame.base - frame.tip)
            out.append(Label(float(frame.at(x)), f"{name}, full length", layer.number, x))
    return out


def leaders(
    drawing: Drawing, plan: Draft, scale: Scale, placed: Sequence[Placed], top: float
) -> None:
    """Labels above the picture and the lines that tie them to their layers' outer surfaces."""
    stack = plan.stack
    for item in placed:
        label = item.label
        x = float(np.clip(label.place, stack.mould.x[0], stack.mould.x[-1]))
        r = np.interp(x, stack.x[label.surface], stack.r[label.surface])
        end = scale.axis - scale.frame.scale * float(scale.drawn(x, r))
        y = top - 10.0 - ROW * item.row
        drawing.line(label.x, y - 8.0, label.x, end, INK, 0.6)
        drawing.add("circle", cx=label.x, cy=end, r=1.8, fill=INK)
        drawing.text(item.left, y, label.text, SIZE)


def marks(drawing: Drawing, plan: Draft, scale: Scale) -> None:
    """Caliper marks as half dimensions of the mould ready to wax."""
    hole = plan.job.mould.pull_rod.value / 2.0 if plan.job.mould.pull_rod else 0.0
    floor = scale.axis - scale.frame.scale * hole
    taken: list[tuple[float, float, int]] = []
    for mark in sorted(plan.mould.marks, key=lambda item: item.x):
        x = float(scale.frame.at(mark.x))
        ground = float(np.interp(mark.x, scale.mould_x, scale.mould_r))
        tip = scale.axis - scale.frame.scale * ground
        text = f"ø {target(plan, mark) * 1e3:.2f}"
        width = text_width(text, SIZE) + 18.0
        row = 0
        while any(r == row and left < x and x - width < right for left, right, r in taken):
            row += 1
        taken.append((x - width, x, row))
        y = floor - 7.0 - 14.0 * row
        drawing.line(x, scale.axis, x, tip, INK, 0.8)
        head = np.array([[x - 2.6, tip + 8.0], [x, tip], [x + 2.6, tip + 8.0]])
        drawing.band(head, head[:0], INK)
        drawing.text(x - 4.0, y, text, SIZE, "end", backing=PLASTIC)
        drawing.text(x - width + 2.0, y, mark.name, SIZE, "start", bold=True, backing=PLASTIC)


def ridge_at(plan: Draft, x: Array) -> Array:
    """Height (m) of what square-cut layer ends leave outside at x; nothings left out."""
    ridge = np.interp(x, plan.stack.x[-1], plan.stack.ridge)
    return np.asarray(np.where(np.abs(ridge) < RIDGE_SHOWN, 0.0, ridge))


def worst_ridge(drawing: Drawing, plan: Draft, scale: Scale) -> float:
    """The highest ridge inside the part, named under it; returns the text's foot."""
    x, r = plan.stack.x[-1], plan.stack.r[-1]
    inside = (x > scale.frame.tip) & (x < scale.frame.base)
    ridge = np.where(inside, ridge_at(plan, x), 0.0)
    worst = int(np.argmax(ridge))
    if ridge[worst] <= 0.0:
        return 0.0
    at = float(scale.frame.at(x[worst]))
    text = f"ridges up to {ridge[worst] * 1e3:.2f}, fair outside"
    width = text_width(text, SIZE)
    left = at - 4.0 - width if at - width > 20.0 else at + 4.0
    edge = scale.below(x, scale.drawn(x, r + ridge_at(plan, x)))
    under = edge[(edge[:, 0] > left - 4.0) & (edge[:, 0] < left + width + 4.0) & inside, 1]
    foot = float(max(under.max(initial=0.0), edge[worst, 1]))
    drawing.line(at, float(edge[worst, 1]), at, foot + 14.0, CAUTION, 0.7)
    drawing.text(left, foot + 16.0, text, SIZE, fill=CAUTION, backing=PAPER)
    return foot + 18.0


def fits(drawing: Drawing, plan: Draft, scale: Scale, top: float) -> float:
    """How far each fit reaches, its mate as measured and the play; returns the next free height."""
    for station, fit in zip(plan.fit.chain.stations, plan.fit.results, strict=True):
        mate, place = station.place.fit.mates, station.place
        play = "step a side" if fit.kind == "flush" else "play"
        text = (
            f"{fitted(fit.name, SIZE, 120.0)}: {fit.kind}, mate ø {mate.value * 1e3:.2f}, "
            f"{play} {fit.play * 1e3:.2f} ± {fit.spread * 1e3:.2f}"
        ).replace("-", "−")
        _bar(drawing, scale.frame, (place.start, place.stop), top, INK, text)
        top += 18.0
    return top


def trouble(drawing: Drawing, plan: Draft, frame: Frame, top: float) -> float:
    """Every stretch in trouble with sign and word; returns the next free height."""
    for zone in zones(plan.findings):
        _bar(drawing, frame, (zone.start, zone.stop), top, zone.ink, zone.word, zone.level)
        top += 18.0
    return top


def _bar(
    drawing: Drawing, frame: Frame, stretch: tuple[float, float], y: float, ink: str, text: str,
    level: Level | None = None,
) -> None:  # fmt: skip
    """A stretch as a bar with end strokes and its text where there is room."""
    left, right = (float(v) for v in frame.at(np.clip(stretch, frame.low, frame.high)))
    drawing.line(left, y, right, y, ink, 1.8)
    for edge in (left, right):
        drawing.line(edge, y - 4.0, edge, y + 4.0, ink)
    sign = 14.0 if level else 0.0
    width = text_width(text, SIZE, level is not None) + sign
    start = left - 7.0 - width
    if start < 6.0:
        start = right + 7.0
    if start + width > WIDTH - 6.0:
        start, y = max(left, 6.0) + 4.0, y + 12.0
    if level is not None:
        signed(drawing, level, start, y)
    drawing.text(start + sign, y + 3.5, text, SIZE, fill=ink, bold=level is not None)


def signed(drawing: Drawing, level: Level, x: float, y: float) -> None:
    """The sign of a level: a square for a stop, a triangle for a caution."""
    if level is Level.STOP:
        drawing.rect(x, y - 4.5, 9.0, 9.0, STOP)
    else:
        corners = np.array([[x, y + 4.5], [x + 5.0, y - 4.5], [x + 10.0, y + 4.5]])
        drawing.band(corners, corners[:0], CAUTION)
