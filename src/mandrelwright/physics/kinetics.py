"""How a resin cures: rate, gel, glass transition, and what tells the rate of a resin at hand.

    dα/dt = (k1 + k2 α^m)(1 − α)^n · f,   k = k_ref exp[(E/R)(1/T_ref − 1/T)]
    f = 1/(1 + exp[(T_g(α) − T − reach)/width])

f is the cut-off as the resin turns to glass: one while its glass transition lies well below the
temperature, a half where T_g is ``reach`` above it.

Symbols: α conversion, T temperature (K), R gas constant.
Sources: Kamal and Sourour, Polym. Eng. Sci. 13 (1973) 59 (rate); Pascault and Williams, J. Polym.
Sci. B 28 (1990) 85 (T_g); Chern and Poehlein, Polym. Eng. Sci. 27 (1987) 788 (a logistic cut-off,
there in α); all from memory.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
Number = float | Array

GAS = 8.314462618  # J/(mol K), exact in the SI since 2019 to these digits
ICE_POINT = 273.15  # K, 0 °C
REFERENCE = 298.15  # K, at which rate constants are stated
NODES, WEIGHTS = np.polynomial.legendre.leggauss(16)
PANELS = 24
COLDEST, HOTTEST = 150.0, 1500.0  # K, beyond which a trial step may stray
LEAST = 1e-9  # α below which α^m is not differentiated


@dataclass(frozen=True)
class Glass:
    """DiBenedetto's glass transition: of the fresh mix, of the full network (K), curvature λ."""

    fresh: Number
    full: Number
    curvature: Number

    def transition(self, conversion: ArrayLike) -> Array:
        """T_g = T_g0 + (T_g∞ − T_g0) λα/[1 − (1 − λ)α], K.

        >>> Glass(254.15, 439.15, 0.4).transition(0.5).round(5).item()
        307.00714
        """
        a = np.asarray(conversion, float)
        span, lam = self.full - self.fresh, self.curvature
        return np.asarray(self.fresh + span * lam * a / (1.0 - (1.0 - lam) * a))

    def slope(self, conversion: ArrayLike) -> Array:
        """dT_g/dα = (T_g∞ − T_g0) λ/[1 − (1 − λ)α]², K."""
        a = np.asarray(conversion, float)
        below = 1.0 - (1.0 - self.curvature) * a
        return np.asarray((self.full - self.fresh) * self.curvature / below**2)

    def conversion(self, transition: ArrayLike) -> Array:
        """The conversion at which T_g has a value (K), the inverse of ``transition``."""
        y = np.asarray(transition, float) - self.fresh
        span, lam = self.full - self.fresh, self.curvature
        return np.asarray(y / (span * lam + (1.0 - lam) * y))


@dataclass(frozen=True)
class Kinetics:
    """Rate constants at 298.15 K (1/s), activation energies (J/mol), powers, glass, cut-off (K).

    Each a float, or (place,) to cure many resins at once.
    """

    k1: Number
    k2: Number
    E1: Number
    E2: Number
    m: Number
    n: Number
    glass: Glass
    reach: Number
    width: Number

    def rate(self, temperature: ArrayLike, conversion: ArrayLike) -> Array:
        """dα/dt, 1/s, by the equation of this module; α outside 0 to 1 counts as its end."""
        T, a = np.asarray(temperature, float), _between(conversion, 0.0, 1.0)
        return np.asarray(self._open(T, a)[0] * (1.0 - a) ** self.n * self._cut_off(T, a))

    def slopes(self, temperature: ArrayLike, conversion: ArrayLike) -> tuple[Array, Array]:
        """∂(dα/dt)/∂T (1/(s K)) and ∂(dα/dt)/∂α (1/s)."""
        T, a = np.asarray(temperature, float), _between(conversion, LEAST, 1.0)
        base, first, second = self._open(T, a)
        left = (1.0 - a) ** self.n
        f = self._cut_off(T, a)
        glassy = (1.0 - f) / self.width
        rate = base * left * f
        energy = (first * self.E1 + second * self.E2) / (GAS * T * T)
        by_heat = left * f * energy + rate * glassy
        rising = self.m * second / a * left
        falling = self.n * base * np.maximum(1.0 - a, LEAST) ** (self.n - 1.0)
        by_state = f * (rising - falling) - rate * glassy * self.glass.slope(a)
        return np.asarray(by_heat), np.asarray(by_state)

    def _open(self, T: Array, a: Array) -> tuple[Array, Array, Array]:
        """k1 + k2 α^m and its two parts."""
        x = (1.0 / REFERENCE - 1.0 / _between(T, COLDEST, HOTTEST)) / GAS
        first = self.k1 * np.exp(self.E1 * x)
        second = self.k2 * np.exp(self.E2 * x) * a**self.m
        return first + second, first, second

    def _cut_off(self, T: Array, a: Array) -> Array:
        z = (self.glass.transition(a) - T - self.reach) / self.width
        return np.asarray(0.5 - 0.5 * np.tanh(0.5 * z))

    def time_to(self, conversion: float, temperature: float) -> float:
        """Seconds until a thin film at a constant temperature (K) reaches a conversion."""
        return time_between(lambda a: self.rate(temperature, a), 0.0, conversion)


def _between(values: ArrayLike, low: float, high: float) -> Array:
    """The values held between two others; a third of np.clip's time for the arrays of a step."""
    return np.asarray(np.minimum(np.maximum(values, low), high))


def time_between(
    rate: Callable[[Array], Array], start: float, stop: float, breaks: Sequence[float] = ()
) -> float:
    """Time from one conversion to another at constant temperature, ∫ dα/r(α).

    Gauss-Legendre on panels that end at ``breaks``, where r may jump. Needs r > 0 throughout.

    >>> round(time_between(lambda a: (1.0 - a) ** 2, 0.0, 0.5), 12)
    1.0
    """
    ends = [start, *(b for b in sorted(breaks) if start < b < stop), stop]
    total = 0.0
    for low, high in pairwise(ends):
        edges = np.linspace(low, high, PANELS + 1)
        half = 0.5 * np.diff(edges)[:, None]
        a = edges[:-1, None] + half * (1.0 + NODES)
        total += float((half * WEIGHTS / rate(a)).sum())
    return total


def conversion_after(
    rate: Callable[[Array], Array], time: float, breaks: Sequence[float] = (), start: float = 0.0
) -> float:
    """Conversion that constant temperature reaches from ``start`` in ``time``, by time_between.

    Halving up to one, for t(α) rises with α, to a hundredth of what is left to cure; then four
    of Newton's steps, r (time − t(α)). Exact to 1e-13 where r jumps only at ``breaks``.
    """
    low, high = start, 1.0
    for _ in range(45):
        a = 0.5 * (low + high)
        left = time - time_between(rate, start, a, breaks)
        low, high = (a, high) if left > 0.0 else (low, a)
        if high - low < 1e-2 * (1.0 - high):
            break
    for _ in range(4):
        left = time - time_between(rate, start, a, breaks)
        a += left * float(rate(np.array(a)))
    return a


def crossing(times: Array, values: Array, slopes: Array, level: float) -> Array:
    """When each column first rises through ``level``, located inside its step.

    times (time,), values and their time derivatives (time, place). NaN where it never does.
    """
    out = np.full(values.shape[1], np.nan)
    above = values >= level
    for place in range(values.shape[1]):
        rises = np.flatnonzero(above[1:, place] & ~above[:-1, place])
        if above[0, place]:
            out[place] = times[0]
        elif len(rises):
            out[place] = located(times, values[:, place], slopes[:, place], int(rises[0]), level)
    return out


def located(times: Array, values: Array, slopes: Array, step: int, level: float) -> float:
    """The time within one step at which it passes the level.

    By halving on the cubic through both ends of the step and their slopes (Hermite).
    """
    start, end = times[step : step + 2].tolist()  # plain floats: no arrays in the loop
    y0, y1 = (values[step : step + 2] - level).tolist()
    d0, d1 = ((end - start) * slopes[step : step + 2]).tolist()
    low, high = 0.0, 1.0
    for _ in range(50):
        s = 0.5 * (low + high)
        y = y0 + s * (d0 + s * (3 * (y1 - y0) - 2 * d0 - d1 + s * (2 * (y0 - y1) + d0 + d1)))
        low, high = (s, high) if y < 0.0 else (low, s)
    return float(start + 0.5 * (low + high) * (end - start))


def dew_point(temperature: float, humidity: float) -> float:
    """Temperature (K) at which air of this temperature and relative humidity (0 to 1) is wet.

    T_d = b γ/(a − γ), γ = ln RH + a t/(b + t), t in °C, a = 17.62, b = 243.12 °C.
    Valid from −45 to 60 °C within 0.4 K. Source: Sonntag, Z. Meteorol. 70 (1990) 340 (Magnus
    form), from memory.

    >>> round(dew_point(293.15, 0.5) - 273.15, 2)
    9.26
    """
    a, b, t = 17.62, 243.12, temperature - ICE_POINT
    gamma = np.log(humidity) + a * t / (b + t)
    return float(ICE_POINT + b * gamma / (a - gamma))
