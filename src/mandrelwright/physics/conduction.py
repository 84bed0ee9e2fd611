"""Radial heat conduction through shells of any materials, many places at once.

Finite volumes on concentric cells, per metre of length. Between two cell centres the resistance
is that of the steady logarithmic profile, so a steady shell is exact on any cells; a centre lies
at the radius that halves its cell's area, where a parabola has its mean. A surface has a film
coefficient and surroundings that stay the same for a while; the axis is a surface of no area.
``modal`` is exact in time where there is no source; ``stepped`` takes heat sources.

Symbols: C heat capacity of a cell (J/(m K)), G conductance (W/(m K)), T temperature (K).
Axes: (place, cell), cells from the axis outwards.
Source: Carslaw and Jaeger, Conduction of Heat in Solids, 2nd ed. 1959, 7.2, from memory (log
profile); Patankar, Numerical Heat Transfer and Fluid Flow, 1980, ch. 4, from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

SERIES = 1e-3  # below, (1 - e^-z)/z and its like are summed as series


@dataclass(frozen=True)
class Grid:
    """Cells of every place: radii (place, cell + 1) in m from the axis or bore outwards,
    conductivity (W/(m K)) and heat capacity per volume (J/(m³ K)), both (place, cell).
    """

    radii: Array
    conductivity: Array
    heat_capacity: Array

    @property
    def area(self) -> Array:
        """Cross-section of each cell, π(b² − a²), m²."""
        a, b = self.radii[:, :-1], self.radii[:, 1:]
        return np.pi * (b - a) * (b + a)

    @property
    def capacity(self) -> Array:
        """C of each cell, J/(m K)."""
        return self.heat_capacity * self.area

    @property
    def resistances(self) -> tuple[Array, Array]:
        """From each centre to its inner and to its outer face, ln(b/a)/(2πk), K m/W.

        The inner one of a cell at the axis is infinite.
        """
        a, b = self.radii[:, :-1], self.radii[:, 1:]
        middle = np.sqrt(0.5 * (a * a + b * b))
        spread = 2.0 * np.pi * self.conductivity
        with np.errstate(divide="ignore"):
            return np.log1p((middle - a) / a) / spread, np.log1p((b - middle) / middle) / spread

    @property
    def conductances(self) -> Array:
        """G between neighbouring centres, (place, cell − 1), W/(m K)."""
        inner, outer = self.resistances
        return np.asarray(1.0 / (outer[:, :-1] + inner[:, 1:]))

    def mean(self, temperature: Array, cells: slice = slice(None)) -> Array:
        """Area-weighted mean of temperature (..., place, cell) over some cells, (..., place)."""
        weight = self.area[:, cells]
        return np.asarray((temperature[..., cells] * weight).sum(-1) / weight.sum(-1))

    def face(self, temperature: Array, cell: int) -> Array:
        """Temperature on the face between ``cell`` and the next one outwards, (..., place)."""
        inner, outer = self.resistances
        near, far = outer[:, cell], inner[:, cell + 1]
        total = temperature[..., cell] * far + temperature[..., cell + 1] * near
        return np.asarray(total / (near + far))

    def surface_conductances(self, film: ArrayLike, bore_film: ArrayLike) -> tuple[Array, Array]:
        """G from the outermost and innermost centre to the surroundings, each (place,)."""
        inner, outer = self.resistances
        out = _in_row(outer[:, -1], self.radii[:, -1], film)
        return out, _in_row(inner[:, 0], self.radii[:, 0], bore_film)


def _in_row(resistance: Array, radius: Array, film: ArrayLike) -> Array:
    """Conductance of the half cell and the film on its surface, 1/(R + 1/(2πrh))."""
    with np.errstate(divide="ignore"):
        return np.asarray(1.0 / (resistance + 1.0 / (2.0 * np.pi * radius * np.asarray(film))))


def graded(start: ArrayLike, stop: ArrayLike, count: int, growth: float = 1.0) -> Array:
    """Radii (place, count + 1) from start to stop whose last cell is ``growth`` times the first.

    Widths are a geometric series. start, stop (place,) or scalar, m; growth below one makes
    the cells finest at ``stop``.

    >>> graded(0.0, 0.7, 3, 4.0).round(9).tolist()
    [[0.0, 0.1, 0.3, 0.7]]
    """
    first, last = np.broadcast_arrays(np.atleast_1d(start), np.atleast_1d(stop))
    widths = growth ** (np.arange(count) / max(count - 1, 1))
    share = np.concatenate(([0.0], np.cumsum(widths) / widths.sum()))
    share[-1] = 1.0
    return np.asarray(first[:, None] + (last - first)[:, None] * share)


class Modes(NamedTuple):
    """Eigenvectors (place, cell, mode) of the conduction on √C T, rates (place, mode) in 1/s."""

    vectors: Array
    rates: Array
    capacity: Array
    outer: Array
    inner: Array

    def after(
        self, initial: Array, times: ArrayLike, outside: ArrayLike, bore: ArrayLike | None = None
    ) -> Array:
        """Temperature (time, place, cell) after ``times`` (s) in constant surroundings.

        √C T = Σ v [a e^(−λt) + b t φ(λt)], φ(z) = (1 − e^−z)/z, a and b the modes of the start
        and of the surfaces' heat. initial (place, cell), outside and bore (place,) or scalar, K;
        the bore is at the outside's temperature unless told. Exact in time.
        """
        start, push = self._parts(initial, outside, bore)
        t = np.atleast_1d(np.asarray(times, float))[:, None, None]
        modes = start * np.exp(-self.rates * t) + push * t * phi(self.rates * t)
        root = np.sqrt(self.capacity)
        return np.asarray(np.einsum("pcm,tpm->tpc", self.vectors, modes) / root)

    def heat(
        self, initial: Array, time: float, outside: ArrayLike, bore: ArrayLike | None = None
    ) -> Array:
        """Heat taken in through both surfaces by ``time``, (place,), J/m.

        ∫ G(T_out − T) dt at each surface, mode by mode.
        """
        start, push = self._parts(initial, outside, bore)
        z = self.rates * time
        integral = start * time * phi(z) + push * time**2 * phi_two(z)
        summed = np.einsum("pcm,pm->pc", self.vectors, integral) / np.sqrt(self.capacity)
        out, hole = _both(outside, bore)
        gained = self.outer * (out * time - summed[:, -1])
        return np.asarray(gained + self.inner * (hole * time - summed[:, 0]))

    def _parts(
        self, initial: Array, outside: ArrayLike, bore: ArrayLike | None
    ) -> tuple[Array, Array]:
        """Modes of the initial temperature and of the surfaces' heat, (place, mode)."""
        root = np.sqrt(self.capacity)
        out, hole = _both(outside, bore)
        last = (self.outer * out / root[:, -1])[:, None] * self.vectors[:, -1]
        first = (self.inner * hole / root[:, 0])[:, None] * self.vectors[:, 0]
        return np.einsum("pcm,pc->pm", self.vectors, initial * root), last + first


def modal(grid: Grid, film: ArrayLike, bore_film: ArrayLike = 0.0) -> Modes:
    """The eigenmodes of a grid with these film coefficients: dT/dt = C⁻¹(G_surface T_∞ − K T).

    One symmetric tridiagonal eigenproblem C^−½ K C^−½ per place; a rate is what its mode w loses,
    Σ G (Δw)², which keeps the digits of the slow ones. film outside, bore_film inside, (place,)
    or scalar, W/(m² K): zero insulates, infinite imposes the temperature.
    """
    outer, inner = grid.surface_conductances(film, bore_film)
    C, between = grid.capacity, grid.conductances
    root = np.sqrt(C)
    matrix = np.zeros((*C.shape, C.shape[1]))
    cells = np.arange(C.shape[1])
    matrix[:, cells, cells] = _diagonal(between, outer, inner) / C
    matrix[:, cells[1:], cells[:-1]] = -between / (root[:, 1:] * root[:, :-1])
    vectors = np.linalg.eigh(matrix).eigenvectors
    shape = vectors / root[:, :, None]
    rates = (between[:, :, None] * np.diff(shape, axis=1) ** 2).sum(1)
    rates += outer[:, None] * shape[:, -1] ** 2 + inner[:, None] * shape[:, 0] ** 2
    return Modes(vectors, rates, C, outer, inner)


def _diagonal(between: Array, outer: Array, inner: Array) -> Array:
    """Sum of the conductances that leave each cell, (place, cell)."""
    total = np.zeros((between.shape[0], between.shape[1] + 1))
    total[:, :-1] += between
    total[:, 1:] += between
    total[:, -1] += outer
    total[:, 0] += inner
    return total


def _both(outside: ArrayLike, bore: ArrayLike | None) -> tuple[Array, Array]:
    out = np.asarray(outside, float)
    return out, out if bore is None else np.asarray(bore, float)


def phi(z: Array) -> Array:
    """(1 − e^−z)/z, one at zero."""
    return np.asarray(np.where(z > 0.0, -np.expm1(-z) / np.where(z > 0.0, z, 1.0), 1.0))


def phi_two(z: Array) -> Array:
    """(1 − φ(z))/z, one half at zero."""
    series = 0.5 - z / 6.0 + z**2 / 24.0 - z**3 / 120.0
    return np.asarray(np.where(z < SERIES, series, (1.0 - phi(z)) / np.where(z > 0.0, z, 1.0)))
