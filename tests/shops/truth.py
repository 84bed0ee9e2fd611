"""Invented shops: what their printers, hands and rooms really do, drawn once for every rule.

Two generators. "fitted" draws from the very model that learning assumes. "different" is another
world, of the laws in ``world``.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tests.shops import world
from tests.shops.model import STAGES, Model

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Truth:
    """N shops over T moulds. Lengths in m.

    shrink, scatter, treated, laid (bore minus ready), form: (N, T + 1), the last column is the
    ring's. offset, mate: (N,). noise (N, T, stage): error of the mean reading, everything
    included; slip (N, T, stage): by how much the pen slipped. hand (N, T): of who mends, in
    standard units. step: to which readings are rounded, 0 for not at all.
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
        g.standard_normal((shops, moulds)),
        0.0,
    )


def different(model: Model, shops: int, moulds: int, seed: int) -> Truth:
    """Shops of another world than the model's, by the laws of ``world``."""
    g = np.random.default_rng(seed)
    printer, bench = world.settle_printer(g, model, shops), world.settle_lay_up(g, shops)
    prints: list[world.Print] = []
    for turn in range(moulds + 1):
        damp = prints[-1].damp if prints else 0.0
        prints.append(world.print_one(g, printer, turn, damp))
    laid = [world.lay_up(g, model, bench) for _ in prints]
    plastics = [stage != "part" for _ in range(moulds) for stage in STAGES]
    looks = [world.look(g, model, shops, plastic) for plastic in plastics]
    shape = (shops, moulds, len(STAGES))
    seen = [each.jaws.mean(-1) + each.warm + printer.zero for each in looks]
    return Truth(
        np.stack([printer.shrink + each.drift + each.damp for each in prints], -1),
        printer.offset,
        np.stack([each.scatter for each in prints], -1),
        np.stack([-each.sanded - each.smoothed for each in prints], -1),
        np.stack([each.grown for each in laid], -1),
        np.stack([one.oval + other.lobe for one, other in zip(prints, laid, strict=True)], -1),
        printer.mate,
        np.stack(seen, -1).reshape(shape),
        np.stack([each.slip[:, 0] for each in looks], -1).reshape(shape),
        g.standard_normal((shops, moulds)),
        world.HUNDREDTH,
    )
