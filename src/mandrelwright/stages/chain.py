"""The dimension chain: from a diameter in the print file to the play the builder feels.

    printed = file·(1 − s) + o + scatter
    ready   = printed + treatments                               (sanded, smoothed, filled)
    set     = ready·[1 + α_m (T_set − T_ref)] + wax + film
    bore    = set·(1 + e_θ) + t·(e_θ − e_r),   e = α (T_ref − T_set) + φ·ε_cure, e_θ + springback
    outside = bore + 2·wall
    play    = bore − mate − form | mate − outside − form | (outside − mate)/2 + coats

The uncertain inputs stand in one list; every link is a function of them, so what two links
share is correlated by construction. Monte Carlo calls these functions, never a Jacobian.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from mandrelwright.physics import uncertainty
from mandrelwright.stages.shape import FitPlace

Array = NDArray[np.float64]
Values = Mapping[str, Array]

CHUNK = 8192  # draws evaluated together, so that all links stay in cache


@dataclass(frozen=True)
class Input:
    """One uncertain input: mean and standard uncertainty (SI), unit to show, basis, source."""

    name: str
    mean: float
    spread: float
    unit: str
    basis: str
    source: str
    uses: tuple[str, ...]


@dataclass(frozen=True)
class Surrogate:
    """Polynomial in (V_f or tow/V_f, braid angle error) of an exact result at one place.

    coefficients (power of first, power of second), in variables scaled to centre and half width.
    """

    coefficients: Array
    centre: tuple[float, float]
    half: tuple[float, float]

    def __call__(self, first: Array, second: Array) -> Array:
        """Value at (first, second), both (draw,): powers of the second, Horner in the first."""
        a = (first - self.centre[0]) / self.half[0]
        b = (second - self.centre[1]) / self.half[1]
        powers = np.ones((self.coefficients.shape[1], len(b)))
        for power in range(1, len(powers)):
            np.multiply(powers[power - 1], b, out=powers[power])
        *rows, total = self.coefficients @ powers
        for row in reversed(rows):
            total *= a
            total += row
        return np.asarray(total)


@dataclass(frozen=True)
class Station:
    """One fit at its deciding place: node, diameters, and the wall's responses there.

    secant: 1/cos β, by which coats along the normal grow on the radius. expansion, cure, wall:
    hoop response by (V_f, angle) and radial wall by (tow/V_f, angle). radial: the same strains
    through the thickness, per kelvin and per unit of resin shrinkage, at the mean inputs.
    coats: inputs that lie on the outside there once it is finished, thickness per side.
    """

    place: FitPlace
    node: int
    x: float
    secant: float
    expansion: Surrogate
    cure: Surrogate
    wall: Surrogate
    radial: tuple[float, float]
    coats: tuple[str, ...] = ()


@dataclass(frozen=True)
class Parts:
    """Drawn parts: inputs by name, and the error of reading each mould in standard units."""

    values: Values
    reading: Array


@dataclass(frozen=True)
class Chain:
    """All uncertain inputs with their covariance, the reference temperature, the fits."""

    inputs: tuple[Input, ...]
    covariance: Array
    mean: Array
    reference: float
    treatments: tuple[str, ...]
    films: tuple[str, ...]
    stations: tuple[Station, ...]

    @property
    def lead(self) -> Station:
        """The station of the fit that sets the mould."""
        return next(station for station in self.stations if station.place.fit.leads)

    @property
    def coats(self) -> tuple[str, ...]:
        """Inputs that lie on the outside of any fit once the part is finished."""
        return tuple(dict.fromkeys(name for station in self.stations for name in station.coats))

    def values(self, rows: Array) -> Values:
        """Inputs by name from rows (input, draw), kept within their physical range."""
        out = {item.name: row for item, row in zip(self.inputs, rows, strict=True)}
        out["share kept"] = np.clip(out["share kept"], 0.0, 1.0)
        for name in out:
            if name.startswith("form"):
                out[name] = np.maximum(out[name], 0.0)
        return out

    def draw(self, generator: np.random.Generator, count: int) -> Array:
        """Rows (input, draw) from the joint normal distribution of the inputs."""
        return self.drawn(generator.standard_normal((len(self.mean), count)))

    def drawn(self, normal: Array) -> Array:
        """The same from standard normal numbers (input, draw)."""
        spread = np.sqrt(np.diag(self.covariance))
        linked = np.flatnonzero(np.count_nonzero(self.covariance, axis=1) > 1)
        if len(linked):
            block = self.covariance[np.ix_(linked, linked)]
            values, vectors = np.linalg.eigh(block)
            mixed = (vectors * np.sqrt(np.maximum(values, 0.0))) @ normal[linked]
        rows = spread[:, None] * normal
        if len(linked):
            rows[linked] = mixed
        rows += self.mean[:, None]
        return rows

    def printed(self, v: Values, file: Array | float) -> Array:
        """Outside diameter as printed (m): printed = file·(1 − s) + o + scatter."""
        return np.asarray(file * (1.0 - v["shrink"]) + v["offset"] + v["scatter"])

    def ready(self, v: Values, printed: Array, secant: float = 1.0) -> Array:
        """Diameter ready to wax (m): ready = printed + treatments/cos β."""
        return np.asarray(printed + secant * _total(v, self.treatments))

    def bore(self, station: Station, v: Values, ready: Array) -> Array:
        """Bore of the released part at the reference temperature (m).

        bore = held·(1 + e_θ) + t·(e_θ − e_r), held = ready·[1 + α_m (T_set − T_ref)] + films/cos β,
        e = α (T_ref − T_set) + φ·ε_cure; θ hoop, r radial, t wall, φ share kept; the springback,
        what the free bore does beyond cure and cooling over its diameter, adds to e_θ.
        """
        warm = v["set temperature"] - self.reference
        coats = station.secant * _total(v, self.films)
        held = ready * (1.0 + v["mould expansion"] * warm) + coats
        shrunk = v["share kept"] * v["cure shrinkage"]
        fraction, turn = v["fibre fraction"], v["braid angle"]
        hoop = shrunk * station.cure(fraction, turn) - warm * station.expansion(fraction, turn)
        hoop = hoop + v["springback"]
        through = shrunk * station.radial[1] - warm * station.radial[0]
        return np.asarray(held * (1.0 + hoop) + self.wall(station, v) * (hoop - through))

    def wall(self, station: Station, v: Values) -> Array:
        """Radial wall at the station (m): t = Σ c/(r cos θ)·cos β, c in proportion to tow/V_f."""
        return station.wall(v["tow"] / v["fibre fraction"], v["braid angle"])

    def outside(self, station: Station, v: Values, bore: Array) -> Array:
        """Outside of the released part as laid (m): outside = bore + 2·wall."""
        return bore + 2.0 * self.wall(station, v)

    def laid(self, station: Station, v: Values, ready: Array) -> Array:
        """Outside of the laminate on its mould, both at the reference temperature (m).

        laid = ready + films/cos β + 2·wall; the wall's own strains, some micrometres, left out.
        """
        coats = station.secant * _total(v, self.films)
        return np.asarray(ready + coats + 2.0 * self.wall(station, v))

    def coated(self, station: Station, v: Values) -> Array | float:
        """What the coats add to the radius at the station (m): coated = Σ coats/cos β."""
        return station.secant * _total(v, station.coats)

    def play(self, station: Station, v: Values, ready: Array) -> Array:
        """Clearance on diameter, or step per side of a flush fit (m).

        play = bore − mate − form of a bore, mate − outside − form of a shoulder,
        (outside − mate)/2 + coated of a flush fit.
        """
        return self.play_of_bore(station, v, self.bore(station, v, ready))

    def play_of_bore(self, station: Station, v: Values, bore: Array) -> Array:
        """The same from a bore already known (m)."""
        own = bore if station.place.fit.kind == "bore" else self.outside(station, v, bore)
        return self.play_of_own(station, v, own)

    def play_of_own(self, station: Station, v: Values, own: Array) -> Array:
        """The same from the part's own bare diameter: the bore of a bore, else the outside (m)."""
        fit = station.place.fit
        mate = v[f"mate {fit.name}"]
        if fit.kind == "flush":
            return np.asarray(0.5 * (own - mate) + self.coated(station, v))
        apart = own - mate if fit.kind == "bore" else mate - own
        return np.asarray(apart - v[f"form {fit.name}"])

    def from_file(self, station: Station, v: Values, file: Array | float) -> Array:
        """Play from the diameter in the print file (m)."""
        return self.play(station, v, self.ready(v, self.printed(v, file), station.secant))

    def sample(self, station: Station, file: float, count: int, seed: int) -> Array:
        """Play in ``count`` parts drawn from the joint distribution, in chunks (m)."""
        generator = np.random.default_rng(seed)
        out = np.empty(count)
        for first in range(0, count, CHUNK):
            rows = self.draw(generator, min(CHUNK, count - first))
            out[first : first + CHUNK] = self.from_file(station, self.values(rows), file)
        return out

    def parts(self, count: int, seed: int) -> Parts:
        """Parts drawn from the joint distribution, to be asked about several fits."""
        normal = _normal(len(self.mean) + 1, count, seed)
        return Parts(self.values(self.drawn(normal[:-1])), normal[-1])

    def play_of_parts(self, station: Station, ready: float, doubt: float, parts: Parts) -> Array:
        """Play when the prepared mould is known to be ``ready`` ± ``doubt`` (m).

        Source: JCGM 101:2008, 7.4 (propagation of distributions by Monte Carlo).
        """
        return self.play(station, parts.values, ready + doubt * parts.reading)

    def known(self, observation: Array, reading: Array, doubt: Array) -> Chain:
        """The chain after readings: exact conditioning of the joint normal distribution.

        observation (reading, input): how each reading depends on the inputs, about the mean;
        reading (reading,): reading minus its predicted mean; doubt: its standard uncertainty.
        """
        mean, covariance = uncertainty.condition(
            self.mean,
            self.covariance,
            observation,
            reading + observation @ self.mean,
            np.diag(doubt**2),
        )
        return replace(self, mean=mean, covariance=covariance)

    def index(self, name: str) -> int:
        """Row of an input."""
        return next(i for i, item in enumerate(self.inputs) if item.name == name)


@lru_cache(maxsize=4)
def _normal(rows: int, count: int, seed: int) -> Array:
    """Standard normal numbers (row, draw), the same ones for every chain of so many inputs."""
    return np.random.default_rng(seed).standard_normal((rows, count))


def _total(v: Values, names: tuple[str, ...]) -> Array | float:
    """Sum of some inputs."""
    total: Array | float = 0.0
    for name in names:
        total = total + v[name]
    return total
