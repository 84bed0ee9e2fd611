"""A reading at the gate: its mark, its diameter at the reference temperature, its doubt."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.records import Reading
from mandrelwright.job.values import InputError
from mandrelwright.plan import Plan
from mandrelwright.shop.observations import JAW_PLACE
from mandrelwright.shop.questions import is_slip
from mandrelwright.stages.mould import Mark

Array = NDArray[np.float64]


def mark_of(plan: Plan, reading: Reading) -> Mark:
    """The mark of this mould that was read; raises InputError for any other."""
    for mark in plan.mould.marks:
        if mark.name == reading.mark.upper():
            return mark
    names = ", ".join(f"{mark.name} ({mark.purpose})" for mark in plan.mould.marks)
    raise InputError(f"mark {reading.mark} is not on this mould", f"its marks are {names}")


def at_reference(plan: Plan, reading: Reading) -> float:
    """The reading brought to the reference temperature by the plastic's or part's expansion."""
    if reading.at is None:
        return reading.value
    chain = plan.fit.chain
    warm = reading.at - chain.reference
    if reading.stage == "part":
        hoop = plan.wall.expansion[chain.lead.node, 1]
        return reading.value / (1.0 + float(np.nan_to_num(hoop)) * warm)
    return reading.value / (1.0 + float(chain.mean[chain.index("mould expansion")]) * warm)


def doubt_of(plan: Plan, reading: Reading, mark: Mark) -> float:
    """Caliper, and on a slope the place of its jaws."""
    caliper = reading.spread or plan.job.shop.caliper.value
    return float(np.hypot(caliper, 2.0 * mark.slope * JAW_PLACE))


def warmth(plan: Plan, reading: Reading) -> float:
    """What a mould grows over the doubt of its temperature: D·α·δT (m), δT twice where not read."""
    chain, thermometer = plan.fit.chain, plan.library.practice["learning"]["thermometer"].value
    kelvin = thermometer * (2.0 if reading.at is None else 1.0)
    return reading.value * float(chain.mean[chain.index("mould expansion")]) * kelvin


def whitened(
    doubts: Sequence[float], warm: Sequence[float], stages: Sequence[str], *told: Sequence[object]
) -> list[Array]:
    """Rows about readings as if each were independent and good to 1: L⁻¹ told, R = L Lᵀ.

    R = diag(doubt²) + warm warmᵀ within a stage, whose readings share one temperature.
    """
    same = np.array([[one == other for other in stages] for one in stages])
    root = np.linalg.cholesky(np.diag(np.square(doubts)) + np.outer(warm, warm) * same)
    return [np.asarray(np.linalg.solve(root, np.array(rows)), float) for rows in told]


def refuse_slip(reading: Reading, predicted: float) -> None:
    """Raise InputError for a reading that can only be a slip of the pen."""
    if is_slip(reading.value, predicted):
        raise InputError(
            f"mark {reading.mark} reads {reading.value * 1e3:.2f} mm where "
            f"{predicted * 1e3:.2f} mm are expected",
            "look for a slip of the pen or the wrong mark, and read again",
        )
