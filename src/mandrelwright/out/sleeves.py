"""How much of a sleeve every layer takes: length to cut, and its fibre."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mandrelwright.physics import braid
from mandrelwright.physics.curves import Curve
from mandrelwright.stages.layers import Layer
from mandrelwright.stages.stack import Stack
from mandrelwright.stages.textiles import Sleeve


@dataclass(frozen=True)
class Need:
    """What one layer takes: length of sleeve to cut (m) at its label angle, fibre (kg)."""

    layer: Layer
    cut: float
    fibre: float


def needs(stack: Stack) -> list[Need]:
    """Length to cut and fibre mass of every layer, trim margins included.

    L = ∫ cos θ0/cos θ ds, m = ∫ A·2πr ds, s along the layer's mid-surface between its
    square-cut ends, A its areal weight, θ0 the angle at which it is measured to be cut.
    """
    return [_need(stack, number) for number in range(len(stack.layers))]


def _need(stack: Stack, number: int) -> Need:
    layer = stack.layers[number]
    middle = Curve(
        0.5 * (stack.x[number] + stack.x[number + 1]), 0.5 * (stack.r[number] + stack.r[number + 1])
    )
    arc, angle = stack.meridian.arc_length(middle), stack.angle[number]
    ends = np.clip([layer.start, layer.stop], middle.x[0], middle.x[-1])
    first, last = np.interp(ends, middle.x, arc)
    s = np.concatenate(([first], arc[(arc > first) & (arc < last)], [last]))
    theta, radius = np.interp(s, arc, angle), np.interp(s, arc, middle.r)
    textile = layer.textile
    around = 2.0 * np.pi * radius * textile.areal_weight(radius, theta)
    label = textile.label_angle if isinstance(textile, Sleeve) else textile.angle
    return Need(layer, braid.cut_length(theta, s, label), float(np.trapezoid(around, s)))
