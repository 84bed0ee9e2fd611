"""Mass, balance and inertia of thin shells of revolution, tubes and points on one axis.

A body is four moments about the tip, (m, ∫x dm, ∫(x² + y²) dm, ∫(y² + z²) dm): x runs along the
axis, y and z across it.  They add up over bodies and scale with mass.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


class Balance(NamedTuple):
    """Mass (kg), balance point x (m), inertia about the axis and across it there (kg·m²)."""

    mass: Array
    x: Array
    axial: Array
    transverse: Array


def shell(
    arc: Array, x: Array, radius: Array, per_length: Array, ends: tuple[float, float]
) -> Array:
    """Moments (4,) of a thin shell of revolution: M = ∫ λ (1, x, x² + r²/2, r²) ds.

    Between two x (m), along the meridian: ``arc`` s, ``x`` (increasing), ``radius`` r in m and
    ``per_length`` λ, the mass over s (kg/m), all (place,) and straight between places, where
    Simpson's rule then errs only by the curvature of λ times a square.  A thin ring has m r²
    about its axis and m r²/2 across: the wall's thickness t is left out, an error of t²/(4 r²).
    """
    first, last = np.interp(np.clip(ends, x[0], x[-1]), x, arc)
    nodes = np.concatenate(([first], arc[(arc > first) & (arc < last)], [last]))
    at = np.concatenate((nodes, 0.5 * (nodes[1:] + nodes[:-1])))
    along, square = np.interp(at, arc, x), np.interp(at, arc, radius) ** 2
    weights = np.stack((np.ones_like(at), along, along**2 + 0.5 * square, square))
    values = np.interp(at, arc, per_length) * weights
    n = len(nodes)
    simpson = (values[:, : n - 1] + 4.0 * values[:, n:] + values[:, 1:n]) / 6.0
    return np.asarray(simpson @ np.diff(nodes))


def tube(
    mass: ArrayLike, x: ArrayLike, length: float = 0.0, outer: float = 0.0, inner: float = 0.0
) -> Array:
    """Moments (..., 4) of a tube or rod on the axis, of a disc (length 0) or a point (all 0).

    M = m (1, x, x² + (R² + r²)/4 + L²/12, (R² + r²)/2); R, r the radii (m), x its middle.
    Exact for a body of one density with square ends.

    >>> tube(2.0, 0.0, outer=1.0)
    array([2. , 0. , 0.5, 1. ])
    """
    m, middle = np.asarray(mass, float), np.asarray(x, float)
    squares = outer**2 + inner**2
    across = middle**2 + 0.25 * squares + length**2 / 12.0
    return np.stack(np.broadcast_arrays(m, m * middle, m * across, 0.5 * m * squares), axis=-1)


def balance(moments: ArrayLike) -> Balance:
    """Mass, balance point and inertia of a body from its moments (..., 4).

    x = ∫x dm/m, I_a = ∫(y² + z²) dm, I_t = ∫(x² + y²) dm − m x² (the parallel axes of Huygens and
    Steiner).

    >>> float(balance(tube(2.0, 5.0, outer=1.0)).transverse)
    0.5
    """
    m, first, across, axial = np.moveaxis(np.asarray(moments, float), -1, 0)
    return Balance(m, first / m, axial, across - first**2 / m)
