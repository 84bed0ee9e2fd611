"""Conduction under a surface whose heat changes all the time, as in flight.

Symbols: q heat through the surface per length (W/m), G its conductance (W/(m K)), λ rates.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from mandrelwright.physics.conduction import Grid, modal, phi, phi_two

Array = NDArray[np.float64]


class Course(NamedTuple):
    """Temperatures over time: cells (time, place, cell) and the outer surface (time, place), K."""

    cells: Array
    surface: Array


def driven(grid: Grid, times: Array, film: Array, outside: Array, initial: Array) -> Course:
    """Follow a wall, insulated inside, under a film and an outside that change.

    film (time, place) W/(m² K), outside (time, place) K, initial (place, cell) K. Between two
    times q is straight: with the modes of the insulated wall,
    a' = a e^(−z) + b Δ [q (φ − φ₂) + q' φ₂], z = λΔ, and q' = G' (T∞' − T_cell') closes each
    step. Exact for such q, stable at any step; G is the film with the half cell under it.
    """
    modes = modal(grid, 0.0)
    half = grid.resistances[1][:, -1]
    with np.errstate(divide="ignore"):
        G = 1.0 / (half + 1.0 / (2.0 * np.pi * grid.radii[:, -1] * film))
    last = modes.vectors[:, -1, :] / np.sqrt(modes.capacity[:, -1:])
    step = np.diff(times)[:, None, None]
    z = modes.rates * step
    decay, whole, second = np.exp(-z), phi(z), phi_two(z)
    before, after = last * step * (whole - second), last * step * second
    gain = (after * last).sum(-1)
    a = np.einsum("pcm,pc->pm", modes.vectors, initial * np.sqrt(modes.capacity))
    q = G[0] * (outside[0] - initial[:, -1])
    kept, heats = [a], [q]
    for number in range(len(step)):
        a = a * decay[number] + before[number] * q[:, None]
        warm = (a * last).sum(-1)
        conducts = G[number + 1]
        q = conducts * (outside[number + 1] - warm) / (1.0 + conducts * gain[number])
        a = a + after[number] * q[:, None]
        kept.append(a)
        heats.append(q)
    cells = np.einsum("pcm,tpm->tpc", modes.vectors, np.array(kept)) / np.sqrt(modes.capacity)
    return Course(cells, np.asarray(cells[..., -1] + np.array(heats) * half))
