"""Mould and wall through the steps that pull them apart: temperatures at every place and moment."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.curing import Medium, Stay
from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.physics.conduction import Modes, modal
from mandrelwright.quantities import ICE_POINT
from mandrelwright.stages.cells import CORE, SKIN, Cells
from mandrelwright.stages.states import FILMS

Array = NDArray[np.float64]

SAMPLES = 13  # moments of one step
SOONEST = 20.0  # s: the first of them


@dataclass(frozen=True)
class Step:
    """One step of a pulling sequence: how long (s), how warm (K), in what."""

    lasts: float
    temperature: float
    medium: Medium


@dataclass(frozen=True)
class Moments:
    """Moments (moment,), s from the start, and which step each belongs to.

    walls, filling: means over the mould's walls and its infill; wall: mean over the laminate;
    hottest: the hottest of the mould; all (moment, place), K. wet: s in water so far (moment,).
    """

    times: Array
    step: NDArray[np.intp]
    walls: Array
    filling: Array
    wall: Array
    hottest: Array
    wet: Array


def bores(job: Job, radius: Array) -> tuple[Array, Array]:
    """Inner radius of the mould's outer wall, and the hole through whatever fills it (m)."""
    core = job.mould.core
    hole = np.full_like(radius, 0.5 * job.mould.pull_rod.value if job.mould.pull_rod else 0.0)
    hole = np.minimum(hole, 0.5 * radius)
    if core.hollow is not None:
        return np.maximum(np.maximum(radius - core.hollow.value, hole), 0.05 * radius), hole
    if core.walls is not None:
        wall = np.minimum(core.walls * job.printer.line.value, 0.9 * (radius - hole))
        return radius - wall, hole
    return hole, hole


def read_steps(steps: Sequence[Stay], shop: float) -> tuple[Step, ...]:
    """The job's own steps, in SI; below freezing in a freezer unless stated."""
    read = []
    for item in steps:
        warm = item.kelvin(shop)
        cold = item.medium is None and warm < ICE_POINT
        read.append(Step(item.stay.value, warm, "freezer" if cold else item.surroundings(shop)))
    return tuple(read)


class Follower:
    """Runs sequences of steps; the modes of each medium are worked out once."""

    def __init__(self, cells: Cells, filled: bool, library: Library) -> None:
        self.cells, self.filled = cells, filled
        self.films = library.practice["surroundings"]
        self._modes: dict[str, Modes] = {}

    def follow(self, start: float, steps: Sequence[Step], pace: float = 1.0) -> Moments:
        """Temperatures at SAMPLES moments of each step, ``start`` (K) everywhere before.

        pace: how much faster than expected heat moves; time is that much longer. Exact in time.
        """
        state = np.full(self.cells.on.capacity.shape, start)
        times, which, states, wet, passed = [0.0], [0], [state], [0.0], 0.0
        for number, step in enumerate(steps):
            least = min(SOONEST, 0.5 * step.lasts)
            after = np.geomspace(least, step.lasts, SAMPLES)
            found = self._through(step).after(state, after * pace, step.temperature)
            times += (passed + after).tolist()
            soaked = after if step.medium == "water" else np.zeros(SAMPLES)
            wet += (wet[-1] + soaked).tolist()
            which += [number] * SAMPLES
            states += list(found)
            state, passed = found[-1], passed + step.lasts
        return self._means(np.array(times), np.array(which), np.array(states), np.array(wet))

    def end(self, start: float, steps: Sequence[Step]) -> Array:
        """Temperature of every cell (place, cell) after all steps, K."""
        state = np.full(self.cells.on.capacity.shape, start)
        for step in steps:
            state = self._through(step).after(state, step.lasts, step.temperature)[0]
        return state

    def _through(self, step: Step) -> Modes:
        if step.medium not in self._modes:
            outside, bore = (self.films[key].value for key in (FILMS[step.medium], "enclosed_air"))
            self._modes[step.medium] = modal(self.cells.on, outside, bore)
        return self._modes[step.medium]

    def _means(self, times: Array, which: NDArray[np.intp], states: Array, wet: Array) -> Moments:
        grid, mould = self.cells.on, slice(0, CORE + SKIN)
        walls = grid.mean(states, slice(CORE, CORE + SKIN) if self.filled else mould)
        filling = grid.mean(states, slice(0, CORE)) if self.filled else walls
        wall = grid.mean(states, self.cells.wall)
        hottest = states[..., mould].max(axis=-1)
        return Moments(times, which, walls, filling, wall, hottest, wet)
