"""Which rings to smooth before the mould, and how much they would narrow the guess."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from mandrelwright.job.materials import Library
from mandrelwright.physics.regression import student_quantile
from mandrelwright.stages.record import result
from mandrelwright.stages.smoothing import BAND, NORMAL, SMOOTHING, Smoothed, loss_slopes

SHARES = (0.5, 1.0, 1.5, 2.0)  # of the mould's time, at which rings are smoothed
READINGS = 4  # around each ring, before and after
REPEATS = (1, 2, 3)  # rings of each time
WORTH = 0.67  # of the spread there is: rings that leave less are worth smoothing


@dataclass(frozen=True)
class RingPlan:
    """Rings to print, smooth and measure before the mould is smoothed."""

    label: str
    times: tuple[float, ...] = result("times in the vapour", "min")
    each: int = result("rings of each time")
    readings: int = result("readings of each ring, before and after")
    diameter: float = result("outside diameter of the rings", "mm")
    now: float = result("spread of the loss as it stands", "mm")
    expected: float = result("spread that the rings would leave", "mm")
    uses: tuple[str, ...] = ()

    @property
    def rings(self) -> int:
        """Rings altogether."""
        return self.each * len(self.times)


def plan_rings(
    label: str, time: float, smoothed: Smoothed, caliper: float, diameter: float, library: Library
) -> RingPlan:
    """The fewest rings at four times that narrow the loss by a third, else the most there are.

    expected = t·σ√(1 + gᵀ(JᵀJ)⁻¹g)/1.96, σ² = scatter of rings² + 2 caliper²/readings; J holds
    the slopes of b (1 − e^(−t/τ)) by (b, τ) at the rings, g at the mould. ``time``, s; ``diameter``
    of the rings, m, the leading fit's: so that they tell the print's shrink too.
    """
    scatter = library.practice["smoothing"]["ring_scatter"]
    sigma = math.hypot(scatter.value, caliper * math.sqrt(2.0 / READINGS))
    tau = smoothed.time_constant.value
    once = loss_slopes(time * np.array(SHARES), tau, 1.0)
    row = loss_slopes(np.array([time]), tau, 1.0)[0]
    lever = float(row @ np.linalg.solve(once.T @ once, row))
    for each in REPEATS:
        degrees = each * len(SHARES) - 2
        wide = student_quantile(BAND, degrees) / NORMAL
        expected = wide * sigma * math.sqrt(1.0 + lever / each)
        if expected <= WORTH * smoothed.spread:
            break
    uses = (*smoothed.uses, "job.shop.caliper", f"{SMOOTHING}ring_scatter", "shape.fits")
    times = tuple(time * share for share in SHARES)
    return RingPlan(label, times, each, READINGS, diameter, smoothed.spread, expected, uses)
