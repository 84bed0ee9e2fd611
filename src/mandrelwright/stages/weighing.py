"""What the bare part on the scale, and its wall, tell of fibre fraction and voids."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.physics.uncertainty import condition
from mandrelwright.quantities import Quantity
from mandrelwright.stages.record import result

Array = NDArray[np.float64]

ROUNDS = 6  # linearised anew at every answer; four settle the ninth digit
STEP = 1e-6  # of the inputs, central differences


@dataclass(frozen=True)
class FromWeight:
    """Fibre and void fraction after the scale (and the calipers) spoke; prior from the press."""

    mass: float = result("bare part as weighed", "g")
    expected: float = result("bare part as planned", "g")
    fibre_fraction: float = result("fibre volume fraction then", "%", spread="fibre_spread")
    fibre_spread: float = result("its standard uncertainty", "%")
    voids: float = result("void volume fraction then", "%", spread="voids_spread")
    voids_spread: float = result("its standard uncertainty", "%")
    surprise: float = result("how many spreads the weight lies from the plan")


def weigh(
    mass: Callable[[Array], Array],
    prior: tuple[Array, Array],
    weighed: Quantity,
    wall: tuple[Quantity, float] | None,
    fibre_spread: float,
) -> FromWeight:
    """Condition the fibre's error z, V_f and V_v on the readings, linearised at the answer.

    m = m_fibre(1 + z u)[1 + …((1 − V_v)/V_f − 1)] by ``mass`` of rows (z, V_f, V_v);
    t = t₀ (1 + z u) V_f0/V_f for a ``wall`` read against the planned t₀.  ``prior`` mean (3,)
    and covariance (3, 3), u the ``fibre_spread`` of the wall.  Weight alone cannot part fibre
    from voids: the prior on voids does; with the wall both are told.
    """
    mean, covariance = prior

    def reads(rows: Array) -> Array:
        columns = [mass(rows)]
        if wall is not None:
            columns.append(wall[1] * (1.0 + rows[:, 0] * fibre_spread) * mean[1] / rows[:, 1])
        return np.stack(columns, axis=-1)

    readings = [weighed] if wall is None else [weighed, wall[0]]
    y, R = np.array([item.value for item in readings]), np.diag([r.spread**2 for r in readings])
    at, told, before = mean, covariance, np.inf
    for turn in range(ROUNDS):
        steps = STEP * np.eye(3)
        H = (reads(at + steps) - reads(at - steps)).T / (2.0 * STEP)
        if turn == 0:
            off = float(y[0] - reads(mean[None])[0, 0])
            before = off / float(np.sqrt(H[0] @ covariance @ H[0] + R[0, 0]))
        at, told = condition(mean, covariance, H, y - reads(at[None])[0] + H @ at, R)
    spread = np.sqrt(np.diag(told))
    planned = float(mass(mean[None])[0])
    return FromWeight(
        weighed.value,
        planned,
        float(at[1]),
        float(spread[1]),
        float(at[2]),
        float(spread[2]),
        before,
    )
