"""Radial conduction with a reaction that heats its cells: an adaptive, L-stable method.

C dT/dt = −K T + G T_∞ + H V r(T, α), dα/dt = r(T, α) in the reacting cells, which lie side by
side. A six-stage Rosenbrock method of order four (error by its order three) solves both at
once: α is eliminated in each cell, so a stage is one tridiagonal solution for T. Steps end where
the surroundings change. The heat through the surfaces is carried along, so energy is kept to
rounding.

Source: Hairer and Wanner, Solving Ordinary Differential Equations II, 2nd ed. 1996, IV.7 (form);
its code RODAS (coefficients), both from memory: the order is shown in
tests/exact/test_kinetics.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple, Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mandrelwright.physics.conduction import Grid

Array = NDArray[np.float64]

GAMMA = 0.25  # RODAS: diagonal of the method
_LAST = (1.221224509226641, 6.019134481288629, 12.53708332932087, -0.6878860361058950)
_STAGES = (
    (1.544,),
    (0.9466785280815826, 0.2557011698983284),
    (3.314825187068521, 2.896124015972201, 0.9986419139977817),
    _LAST,
    (*_LAST, 1.0),
)
_COUPLINGS = (
    (-5.6688,),
    (-2.430093356833875, -0.2063599157091915),
    (-0.1073529058151375, -9.594562251023355, -20.47028614809616),
    (7.496443313967647, -10.24680431464352, -33.99990352819905, 11.70890893206160),
    (
        *(8.083246795921522, -7.981132988064893, -31.52159432874371, 16.31930543123136),
        -6.058818238834054,
    ),
)
A, C = ([np.array(row) for row in table] for table in (_STAGES, _COUPLINGS))
RISE = 250.0  # K per unit of α, about the adiabatic rise of neat resin: weighs its error
SAFETY, GROW, SHRINK = 0.9, 5.0, 0.2  # common practice of step control
FIRST = 10.0  # tolerances that the first step of a stay may move through
SMALLEST = 1e-9  # s


class Reaction(Protocol):
    """What reacts: r (1/s) of temperature and α with its slopes, all (place, cell)."""

    def rate(self, temperature: Array, state: Array) -> Array:
        """dα/dt, 1/s."""

    def slopes(self, temperature: Array, state: Array) -> tuple[Array, Array]:
        """∂r/∂T (1/(s K)) and ∂r/∂α (1/s)."""


class Source(NamedTuple):
    """A reaction in the cells from ``first`` to before ``last``; heat (place, cell), J/m³."""

    reaction: Reaction
    heat: Array
    first: int
    last: int


class Ambient(NamedTuple):
    """Surroundings that stay the same for ``lasts`` (s); each else scalar or (place,), SI."""

    lasts: float
    outside: ArrayLike
    film: ArrayLike
    bore_film: ArrayLike = 0.0
    bore: ArrayLike | None = None


@dataclass(frozen=True)
class History:
    """Every accepted step: times (time,), temperature (time, place, cell), α and its rate
    (time, place, reacting cell), heat through the surfaces since the start (time, place), J/m.
    """

    times: Array
    temperature: Array
    state: Array
    rate: Array
    heat: Array


class _Operator:
    """One stay: K with its surroundings and the reaction.

    States are single arrays (row, place): temperature of every cell, then α of the reacting cells,
    then the heat through the surfaces; ``weights`` is C, one and one.
    """

    def __init__(self, grid: Grid, ambient: Ambient, source: Source | None) -> None:
        places = len(grid.radii)
        self.outer, self.inner = grid.surface_conductances(ambient.film, ambient.bore_film)
        self.between = np.ascontiguousarray(grid.conductances.T)
        self.capacity = np.ascontiguousarray(grid.capacity.T)
        self.outside = np.broadcast_to(np.asarray(ambient.outside, float), places)
        bore = ambient.outside if ambient.bore is None else ambient.bore
        self.bore = np.broadcast_to(np.asarray(bore, float), places)
        self.diagonal = np.zeros_like(self.capacity)
        self.diagonal[:-1] += self.between
        self.diagonal[1:] += self.between
        self.diagonal[-1] += self.outer
        self.diagonal[0] += self.inner
        self.source, self.count = source, len(self.capacity)
        width = 0
        if source is not None:
            self.cells = slice(source.first, source.last)
            width = source.last - source.first
            self.heat = np.ascontiguousarray((source.heat * grid.area[:, self.cells]).T)
        self.alpha = slice(self.count, self.count + width)
        self.weights = np.concatenate((self.capacity, np.ones((width + 1, places))))
        self.telling = np.repeat([1.0, RISE, 0.0], (self.count, width, 1))[:, None]

    def rates(self, y: Array) -> Array:
        """Right-hand sides: heat flow into each cell (W/m), r (1/s), heat through surfaces."""
        T = y[: self.count]
        inwards = np.empty((self.count + 1, y.shape[1]))  # through every face
        np.multiply(self.inner, T[0] - self.bore, out=inwards[0])
        np.multiply(self.between, T[1:] - T[:-1], out=inwards[1:-1])
        np.multiply(self.outer, self.outside - T[-1], out=inwards[-1])
        out = np.empty_like(y)
        gained = np.subtract(inwards[1:], inwards[:-1], out=out[: self.count])
        np.subtract(inwards[-1], inwards[0], out=out[-1])
        if self.source is not None:
            r = self.source.reaction.rate(T[self.cells], y[self.alpha])
            out[self.alpha] = r
            gained[self.cells] += self.heat * r
        return out


def stepped(
    grid: Grid,
    ambients: Sequence[Ambient],
    initial: ArrayLike,
    source: Source | None = None,
    state: ArrayLike = 0.0,
    tolerance: float = 0.02,
) -> History:
    """Temperature and α through a sequence of surroundings, all places at the same times.

    initial (place, cell) or scalar, K; state α at the start; tolerance of one step's error in
    kelvin, for α over 250 K. A step is as long as the worst cell allows and ends where the
    surroundings change. Raises FloatingPointError where no step is short enough.
    """
    shape = grid.conductivity.shape
    width = 0 if source is None else source.last - source.first
    y = np.zeros((shape[1] + width + 1, shape[0]))
    y[: shape[1]] = np.broadcast_to(np.asarray(initial, float), shape).T
    y[shape[1] : -1] = np.broadcast_to(np.asarray(state, float), (shape[0], width)).T
    rows: list[tuple[float, Array, Array]] = []
    clock = 0.0
    for ambient in ambients:
        operator = _Operator(grid, ambient, source)
        y = _stay(operator, ambient.lasts, clock, y, tolerance, rows)
        clock += ambient.lasts
    rows.append((clock, y, operator.rates(y)))
    states, rates = (np.array([row[i] for row in rows]).swapaxes(1, 2) for i in (1, 2))
    cells, alpha = slice(0, shape[1]), slice(shape[1], shape[1] + width)
    return History(
        np.array([row[0] for row in rows]),
        np.ascontiguousarray(states[..., cells]),
        np.ascontiguousarray(states[..., alpha]),
        np.ascontiguousarray(rates[..., alpha]),
        np.ascontiguousarray(states[..., -1]),
    )


def _stay(
    operator: _Operator,
    lasts: float,
    clock: float,
    y: Array,
    tolerance: float,
    rows: list[tuple[float, Array, Array]],
) -> Array:
    """Adaptive steps through one stay; every accepted start of a step goes into rows."""
    f = operator.rates(y)
    slope = _norm(operator, f / operator.weights, FIRST * tolerance)
    gone, step = 0.0, lasts / max(1.0, slope * lasts)
    while gone < lasts:
        left = lasts - gone
        step = left if step >= left else min(step, 0.5 * left) if step > 0.5 * left else step
        if step < SMALLEST < left:
            raise FloatingPointError("no step is short enough for this reaction")
        new, error = _step(operator, y, f, step)
        size = _norm(operator, error, tolerance)
        if size <= 1.0:
            rows.append((clock + gone, y, f))
            gone = lasts if step == left else gone + step
            y, f = new, operator.rates(new)
        step *= min(GROW, max(SHRINK, SAFETY / max(size, 1e-9) ** (1.0 / 4.0)))
    return y


def _norm(operator: _Operator, error: Array, tolerance: float) -> float:
    """Largest error over its tolerance; not a number counts as far too large."""
    worst = float(np.abs(error * operator.telling).max())
    return worst / tolerance if np.isfinite(worst) else 1e9


def _step(operator: _Operator, y: Array, f: Array, step: float) -> tuple[Array, Array]:
    """One step and its error: Y_i = y + Σ a_ij u_j, y + Σ a_6j u_j + u_6, u_6."""
    stage = _Stage(operator, y, step)
    done = np.empty((len(A) + 1, *y.shape))
    flat = done.reshape(len(done), -1)
    stage.solve(f.copy(), done[0])
    near = y
    for number, (a, c) in enumerate(zip(A, C, strict=True), 1):
        near = y + (a @ flat[:number]).reshape(y.shape)
        right = (c @ flat[:number]).reshape(y.shape)
        right *= operator.weights
        right /= step
        right += operator.rates(near)
        stage.solve(right, done[number])
    return near + done[-1], done[-1]


class _Stage:
    """The linear system of all stages of one step, (1/(γh) − J) u = f + Σ c u_j/h.

    With p = 1/(γh) − ∂r/∂α its α part is u_α = (b_α + ∂r/∂T u_T)/p, which leaves in the cell
    H V ∂r/∂T/(γh p) to take off the diagonal and H V ∂r/∂α b_α/p as heat.
    """

    def __init__(self, operator: _Operator, y: Array, step: float) -> None:
        self.operator, self.scale = operator, 1.0 / (GAMMA * step)
        diagonal = operator.capacity * self.scale + operator.diagonal
        source = operator.source
        if source is not None:
            T = y[: operator.count]
            by_heat, by_state = source.reaction.slopes(T[operator.cells], y[operator.alpha])
            self.p = self.scale - by_state
            self.by_heat = by_heat / self.p
            self.by_state = operator.heat * by_state / self.p
            diagonal[operator.cells] -= operator.heat * self.by_heat * self.scale
        self._factor(diagonal, operator.between)

    def _factor(self, diagonal: Array, between: Array) -> None:
        """Gauss elimination of the tridiagonal matrix, all places at once (Thomas)."""
        self.lifts: list[Array] = []
        for row, pivot, below in zip(between, diagonal, diagonal[1:], strict=False):
            self.lifts.append(row / pivot)
            below -= row * self.lifts[-1]
        self.shares = 1.0 / diagonal

    def solve(self, right: Array, out: Array) -> None:
        """One stage into ``out``: right-hand sides, which are used up."""
        operator, T = self.operator, right[: self.operator.count]
        if operator.source is not None:
            state = right[operator.alpha]
            T[operator.cells] += self.by_state * state
        self._substitute(T)
        out[: operator.count] = T
        if operator.source is not None:
            out[operator.alpha] = state / self.p + self.by_heat * T[operator.cells]
        through = right[-1] - operator.outer * T[-1] - operator.inner * T[0]
        np.divide(through, self.scale, out=out[-1])

    def _substitute(self, rows: Array) -> None:
        """Down and up again, in place."""
        parts = list(rows)
        for lift, row, below in zip(self.lifts, parts, parts[1:], strict=False):
            below += lift * row
        rows *= self.shares
        for lift, row, below in zip(self.lifts[::-1], parts[-2::-1], parts[:0:-1], strict=True):
            row += lift * below
