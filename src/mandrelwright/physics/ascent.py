"""A simple straight-up flight: even push to top speed, a hold, and a coast that drag slows.

Symbols: v speed (m/s), h height (m), k drag over mass per speed squared (1/m), g gravity.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from mandrelwright.physics.atmosphere import GRAVITY

Array = NDArray[np.float64]

BISECTIONS = 60
PUSH, HELD, COAST, FALL = 32, 16, 72, 8  # moments of each part


class Ascent(NamedTuple):
    """Moments (s), speed (m/s), height (m) and felt acceleration along the rocket (m/s²)."""

    times: Array
    speed: Array
    height: Array
    felt: Array


def drag_to(top_speed: float, climb: float) -> float:
    """k at which a coast from ``top_speed`` climbs just so far: h = ln(1 + k v²/g)/(2k), 1/m.

    Nought where not even a coast without drag, v²/(2g), climbs that far.
    """
    if top_speed**2 / (2.0 * GRAVITY) <= climb:
        return 0.0
    low, high = 1e-9, 10.0
    for _ in range(BISECTIONS):
        k = math.sqrt(low * high)
        reached = math.log1p(k * top_speed**2 / GRAVITY) / (2.0 * k)
        low, high = (k, high) if reached > climb else (low, k)
    return math.sqrt(low * high)


def ascent(top_speed: float, burn: float, hold: float, drag: float, after: float) -> Ascent:
    """The flight from rest to ``after`` seconds past its top.

    Push: v = v_top t/t_burn. Hold: v_top. Coast: dv/dt = −g − k v², so with w = √(g/k)
    v = w tan(φ − g t/w), h = w²/g ln(cos(φ − g t/w)/cos φ), tan φ = v_top/w. Then it falls
    freely. Felt: dv/dt + g, what an accelerometer on board reads.
    """
    push = np.linspace(0.0, burn, PUSH)
    v, h = [top_speed * push / burn], [0.5 * top_speed * push**2 / burn]
    felt = [np.full(PUSH, top_speed / burn + GRAVITY)]
    t = [push]
    if hold > 0.0:
        held = np.linspace(0.0, hold, HELD + 1)[1:]
        v, h = [*v, np.full(HELD, top_speed)], [*h, h[-1][-1] + top_speed * held]
        felt, t = [*felt, np.full(HELD, GRAVITY)], [*t, burn + held]
    w = math.sqrt(GRAVITY / max(drag, 1e-9))
    phi = math.atan(top_speed / w)
    coast = np.linspace(0.0, w * phi / GRAVITY, COAST + 1)[1:]
    turn = phi - GRAVITY * coast / w
    slower = w * np.tan(turn)
    climb = w * w / GRAVITY * np.log(np.cos(turn) / math.cos(phi))
    v, t, felt = [*v, slower], [*t, t[-1][-1] + coast], [*felt, -drag * slower**2]
    h = [*h, h[-1][-1] + climb]
    if after > 0.0:
        fall = np.linspace(0.0, after, FALL + 1)[1:]
        v, t = [*v, GRAVITY * fall], [*t, t[-1][-1] + fall]
        h, felt = [*h, h[-1][-1] - 0.5 * GRAVITY * fall**2], [*felt, np.zeros(FALL)]
    return Ascent(*(np.maximum(np.concatenate(x), 0.0) if x is v else np.concatenate(x)
                    for x in (t, v, h, felt)))  # fmt: skip
