"""Invented shops: what their printers, hands and rooms really do, drawn once for every rule.

Two generators. "fitted" draws from the very model that learning assumes. "different" is another
world: uniform shrink and offset, a drift and damp filament, heavy tails, skewed films, ovality
and a third lobe that calipers miss, springback, a caliper with a zero of its own, whole
hundredths, rooms nobody measured, slips of the pen.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tests.shops.model import RING, STAGES, Model

Array = NDArray[np.float64]

ANGLES = 2  # readings of one state, at right angles


@dataclass(frozen=True)
class Truth:
    """N shops over T moulds. Lengths in m.

    shrink, scatter, treated, laid (bore minus ready), form: (N, T + 1), the last column is the
    ring's. offset, mate: (N,). noise (N, T, stage): error of the mean reading, everything
    included; slips (N, T, stage): whether the pen slipped by ``slip``.
    """

    shrink: Array
    offset: Array
    scatter: Array
    treated: Array
    laid: Array
    form: Array
    mate: Array
    noise: Array
    slip: Array
    hand: Array
    step: float

    def printed(self, mould: int, file: Array) -> Array:
        """Diameter off the printer."""
        return file * (1.0 - self.shrink[:, mould]) + self.offset + self.scatter[:, mould]

    def read(self, mould: int, stage: int, size: Array) -> Array:
        """What is written down, slips included."""
        value = size + self.noise[:, mould, stage] + self.slip[:, mould, stage]
        return np.round(value / self.step) * self.step if self.step else value

    def play(self, mould: int, bore: Array) -> Array:
        """What the builder feels: the smallest diameter less the mate."""
        return bore - self.form[:, mould] - self.mate


def fitted(model: Model, shops: int, moulds: int, seed: int) -> Truth:
    """Shops of the model itself, unknown variances included."""
    g = np.random.default_rng(seed)
    k, T = len(model.mean), moulds + 1
    degrees = model.degrees
    v = (degrees - 2.0) / g.chisquare(degrees, (shops, 4))
    v[:, 3] = 1.0  # of form nothing is learned
    L = np.linalg.cholesky(model.lasting + 1e-30 * np.eye(k))
    lasting = g.standard_normal((shops, k)) @ L.T
    grown = v[:, model.link]
    own = np.sqrt(grown * (model.mould + model.part))[:, None, :]
    x = model.mean + lasting[:, None, :] + own * g.standard_normal((shops, T, k))
    i = model.index
    treated = x[..., model.treatments].sum(-1)
    apart = x - model.mean
    laid = model.at["bore"] - model.at["ready"] + apart @ (model.laid - model.held)
    noise = np.sqrt(model.noise) * g.standard_normal((shops, moulds, len(STAGES)))
    noise += np.sqrt(model.zero) * g.standard_normal((shops, 1, 1))
    return Truth(
        x[..., i["shrink"]],
        x[:, 0, i["offset"]],
        x[..., i["scatter"]],
        treated,
        laid,
        np.maximum(x[..., i[model.form]], 0.0),
        x[:, 0, i[model.mate]],
        noise,
        np.zeros_like(noise),
        model.hand * g.standard_normal((shops, moulds)),
        0.0,
    )


def different(model: Model, shops: int, moulds: int, seed: int) -> Truth:
    """Shops of another world than the model's."""
    g = np.random.default_rng(seed)
    T = moulds + 1
    mm = 1e-3
    row = np.arange(T) - 0.5 * T
    damp = np.zeros((shops, T))
    for t in range(T):
        last = damp[:, t - 1] if t else np.zeros(shops)
        damp[:, t] = 0.7 * last + 0.7 * g.uniform(-1.0, 1.0, shops)
    shrink = g.uniform(0.0015, 0.0105, shops)[:, None]
    shrink = shrink + g.uniform(-1.5e-4, 1.5e-4, shops)[:, None] * row + 3e-4 * damp
    offset = g.uniform(-0.15, 0.15, shops) * mm
    heavy = g.uniform(0.03, 0.09, shops)[:, None] * mm
    scatter = heavy * g.standard_t(3, (shops, T))
    sanded = 0.10 * np.exp(0.25 * g.standard_normal((shops, 1)))
    sanded = sanded * np.exp(0.2 * g.standard_normal((shops, T)))
    smoothed = g.gamma(2.0, 0.015, (shops, 1)) * np.exp(0.25 * g.standard_normal((shops, T)))
    film = g.gamma(6.0, 0.0075, (shops, 1)) + 0.01 * (g.gamma(1.5, 1.0, (shops, T)) - 1.5)
    back = g.normal(-0.02, 0.03, (shops, 1)) + 0.015 * g.standard_t(4, (shops, T))
    plain = model.at["bore"] - model.at["ready"] - model.coats
    laid = plain + (film + 0.01 + back) * mm
    lobes = np.abs(g.normal(0.05, 0.03, (shops, T))) + 0.015 * g.uniform(0.0, 1.0, (shops, T))
    zero = g.normal(0.0, 0.012, (shops, 1, 1)) * mm
    noise = g.laplace(0.0, 0.011, (shops, moulds, len(STAGES), ANGLES)).mean(-1) * mm
    room = g.normal(0.0, 2.0, (shops, moulds, 1))
    expansion = np.array([model.plastic] * 3 + [12e-6])
    noise = noise + zero + room * expansion * RING
    slipped = g.random((shops, moulds, len(STAGES))) < 0.01
    slip = slipped * g.choice([-0.9, -0.45, 0.09, 0.27, 0.9, 6.3], slipped.shape) * mm
    mate = model.mean[model.index[model.mate]] - zero[:, 0, 0]
    mate = mate + g.normal(0.0, 0.012, shops) * mm
    hand = g.normal(0.0, 0.015, (shops, moulds)) * mm
    return Truth(
        shrink, offset, scatter, -(sanded + smoothed) * mm, laid, lobes * mm, mate, noise, slip,
        hand, 0.01 * mm,
    )  # fmt: skip
