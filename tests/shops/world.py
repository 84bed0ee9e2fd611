"""Another world than the model's: what printers, hands, rooms and calipers really do, by step.

Each law takes a random stream of its own and holds for many shops at once: arrays (shop,), m.
What lasts in a shop is drawn once, then each print, mending, lay-up and reading as it is made,
every cause apart. All of it is invented.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tests.shops.model import RING, Model, assumed_laid

Array = NDArray[np.float64]

MM = 1e-3
WAX = 0.010 * MM
HUNDREDTH = 0.01 * MM  # to which a caliper shows
DAMP_STAYS = 0.7  # of the filament's dampness from one print to the next
SLIPPED = 0.01  # share of readings
SLIPS = (-0.9, -0.45, 0.09, 0.27, 0.9, 6.3)  # mm: digits exchanged or misread


@dataclass(frozen=True)
class Printer:
    """What lasts in printer, sanding hand and calipers; the mate was read with those calipers."""

    shrink: Array
    drift: Array
    offset: Array
    heavy: Array
    sanding: Array
    smoothing: Array
    zero: Array
    mate: Array


@dataclass(frozen=True)
class LayUp:
    """What lasts in laying up: film, springback, and kelvins above the plan when it sets."""

    film: Array
    springback: Array
    warmer: Array


@dataclass(frozen=True)
class Print:
    """One mould: shrink beside the printer's own, scatter, what preparation takes off, oval."""

    drift: Array
    damp: Array
    scatter: Array
    sanded: Array
    smoothed: Array
    oval: Array


@dataclass(frozen=True)
class Laid:
    """One part, bore minus ready mould by cause; lobe: what calipers do not see."""

    wax: Array
    film: Array
    heat: Array
    cure: Array
    springback: Array
    lobe: Array

    @property
    def grown(self) -> Array:
        """Bore minus ready mould."""
        return self.wax + self.film + self.heat + self.cure + self.springback


@dataclass(frozen=True)
class Look:
    """One reading of a state at two angles, (shop, angle) but ``warm``: jaws, slip of the pen."""

    jaws: Array
    slip: Array
    warm: Array


def settle_printer(g: np.random.Generator, model: Model, shops: int) -> Printer:
    """Uniform shrink, drift and offset; skewed hands; a coupler read with the calipers' zero."""
    zero = g.normal(0.0, 0.012, shops) * MM
    mate = model.mean[model.index[model.mate]] - zero
    return Printer(
        g.uniform(0.0015, 0.0105, shops),
        g.uniform(-1.5e-4, 1.5e-4, shops),
        g.uniform(-0.15, 0.15, shops) * MM,
        g.uniform(0.03, 0.09, shops) * MM,
        0.10 * MM * np.exp(0.25 * g.standard_normal(shops)),
        MM * g.gamma(2.0, 0.015, shops),
        zero,
        mate + g.normal(0.0, 0.012, shops) * MM,
    )


def settle_lay_up(g: np.random.Generator, shops: int) -> LayUp:
    """Skewed film, springback, a room that is warmer or colder than its owner thinks."""
    return LayUp(
        MM * g.gamma(6.0, 0.0075, shops),
        MM * g.normal(-0.02, 0.03, shops),
        g.uniform(-2.5, 2.5, shops),
    )


def print_one(g: np.random.Generator, printer: Printer, turn: int, damp: Array | float) -> Print:
    """The print number ``turn``, after one whose filament was ``damp``; Student's t of 3."""
    shops = len(printer.shrink)
    return Print(
        printer.drift * turn,
        DAMP_STAYS * damp + 2.1e-4 * g.uniform(-1.0, 1.0, shops),
        printer.heavy * g.standard_t(3, shops),
        printer.sanding * np.exp(0.2 * g.standard_normal(shops)),
        printer.smoothing * np.exp(0.25 * g.standard_normal(shops)),
        MM * np.abs(g.normal(0.05, 0.03, shops)),
    )


def lay_up(g: np.random.Generator, model: Model, bench: LayUp) -> Laid:
    """One part; cure shrinks as planned, springback is Student's t of 4 about the shop's own."""
    shops = len(bench.film)
    planned = assumed_laid(model.plan.fit.chain, model.at["ready"])
    per_kelvin = float(model.laid[model.index["set temperature"]])
    warmer = bench.warmer + g.laplace(0.0, 0.6, shops)
    return Laid(
        np.full(shops, WAX),
        bench.film + 0.01 * MM * (g.gamma(1.5, 1.0, shops) - 1.5),
        planned["heat"] + per_kelvin * warmer,
        np.full(shops, planned["cure"]),
        bench.springback + 0.015 * MM * g.standard_t(4, shops),
        0.015 * MM * g.uniform(0.0, 1.0, shops),
    )


def mended(change: Array, wrap: float, hand: Array) -> Array:
    """What hands (standard normal) make of a change asked for: 6 % of a depth, 5 µm of a wrap."""
    wrapped = change + 5e-6 * hand * change / wrap
    return np.asarray(np.where(change < 0.0, change * (1.0 + 0.06 * hand), wrapped))


def look(g: np.random.Generator, model: Model, shops: int, plastic: bool) -> Look:
    """Jaws of heavy tails, one pen in a hundred slips, a room that nobody measured."""
    slipped = g.random((shops, 2)) < SLIPPED
    grows = model.plastic if plastic else 12e-6
    return Look(
        g.laplace(0.0, 0.011, (shops, 2)) * MM,
        slipped * g.choice(SLIPS, (shops, 2)) * MM,
        g.normal(0.0, 2.0, shops) * grows * RING,
    )
