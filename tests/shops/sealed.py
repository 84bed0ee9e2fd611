"""The truth of one invented shop, of which nothing is drawn before its prediction is written."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tests.shops import world
from tests.shops.model import Model, costs
from tests.shops.steps import Came, Ledger, Seen, Step, Tried

PRINTER, LAY_UP = 1, 2  # streams of what lasts; each step has its own
ERRORS = ("zero of the calipers", "warmth when read", "jaws and hundredths", "slip of the pen")


class NotPredictedError(RuntimeError):
    """Asked for before its prediction was written, or twice."""


@dataclass
class Thing:
    """A mould or part: its diameter (m), of what it was made, whether of plastic, its oval."""

    size: float
    made: dict[str, float]
    plastic: bool
    oval: float


class SealedTruth:
    """One shop of the different world, drawn by step, each from a stream of seed and step."""

    def __init__(self, model: Model, ledger: Ledger, seed: int) -> None:
        self._model, self._ledger, self._seed = model, ledger, seed
        self._drawn: set[int] = set()
        self._printer: world.Printer | None = None
        self._lay_up: world.LayUp | None = None
        self._prints: list[world.Print] = []
        self._moulds: dict[int, Thing] = {}
        self._newest: Thing | None = None

    def came(self, step: Step) -> Came:
        """Make and read what a step says.

        Raises NotPredictedError while its prediction is not written, and when it is asked again.
        """
        number = self._ledger.number(step.text)
        if number is None or number in self._drawn:
            raise NotPredictedError(step.of)
        self._drawn.add(number)
        g = self._stream(0, number)
        tried = None
        if step.do == "print":
            thing = self._moulds[step.mould] = self._print(g, step.amount)
        elif step.do == "mend":
            thing = self._moulds[step.mould] = self._mend(g, self._moulds[step.mould], step.amount)
        elif step.do == "lay up":
            thing, tried = self._lay(g, self._moulds[step.mould])
        else:
            assert self._newest is not None
            thing = self._newest
        self._newest = thing
        reads, error = self._read(g, thing)
        least, most = self._model.window
        fits = None if tried is None else least <= tried.play <= most
        return Came(Seen(reads, fits), {**thing.made, **error}, tried)

    def _stream(self, kind: int, number: int) -> np.random.Generator:
        return np.random.default_rng([self._seed, kind, number])

    def _print(self, g: np.random.Generator, file: float) -> Thing:
        """A mould off the printer, sanded and smoothed."""
        if self._printer is None:
            self._printer = world.settle_printer(self._stream(PRINTER, 0), self._model, 1)
        printer, before = self._printer, self._prints[-1].damp if self._prints else 0.0
        one = world.print_one(g, printer, len(self._prints), before)
        self._prints.append(one)
        made = {
            "print file": file,
            "shrink of the plastic": -file * float(printer.shrink[0]),
            "drift of the filament": -file * float(one.drift[0]),
            "damp in the filament": -file * float(one.damp[0]),
            "offset of the printer": float(printer.offset[0]),
            "scatter of this print": float(one.scatter[0]),
            "sanding": -float(one.sanded[0]),
            "smoothing": -float(one.smoothed[0]),
        }
        return Thing(sum(made.values()), made, True, float(one.oval[0]))

    def _mend(self, g: np.random.Generator, mould: Thing, change: float) -> Thing:
        """Sanded or wrapped, with these hands."""
        hand = np.array(g.standard_normal())
        really = float(world.mended(np.array(change), costs().wrap, hand))
        made = {"mould before": mould.size, "mending": really}
        return Thing(sum(made.values()), made, True, mould.oval)

    def _lay(self, g: np.random.Generator, mould: Thing) -> tuple[Thing, Tried]:
        """A part, laid up and tried on its mate."""
        if self._lay_up is None:
            self._lay_up = world.settle_lay_up(self._stream(LAY_UP, 0), 1)
        assert self._printer is not None
        laid = world.lay_up(g, self._model, self._lay_up)
        made = {
            "ready mould": mould.size,
            "wax": float(laid.wax[0]),
            "release film": float(laid.film[0]),
            "heat": float(laid.heat[0]),
            "cure": float(laid.cure[0]),
            "springback": float(laid.springback[0]),
        }
        part = Thing(sum(made.values()), made, False, mould.oval)
        form = mould.oval + float(laid.lobe[0])
        return part, Tried(part.size, form, float(self._printer.mate[0]))

    def _read(
        self, g: np.random.Generator, thing: Thing
    ) -> tuple[tuple[float, float], dict[str, float]]:
        """Two readings at right angles, to whole hundredths, and what their mean errs by."""
        assert self._printer is not None
        seen = world.look(g, self._model, 1, thing.plastic)
        oval = thing.oval * np.cos(2.0 * g.uniform(0.0, np.pi)) * np.array([1.0, -1.0])
        zero, warm = float(self._printer.zero[0]), float(seen.warm[0])
        value = thing.size + oval + seen.jaws[0] + zero + warm
        shown = np.round(value / world.HUNDREDTH) * world.HUNDREDTH + seen.slip[0]
        slip = float(seen.slip[0].mean())
        jaws = float(shown.mean()) - thing.size - zero - warm - slip
        error = dict(zip(ERRORS, (zero, warm, jaws, slip), strict=True))
        return (float(shown[0]), float(shown[1])), error
