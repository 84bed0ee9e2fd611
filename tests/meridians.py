"""The tests' own geometry: noses from their formulas, scipy splines, substitution, feet of normals.

Nothing here comes from the product, so a layer can be laid again by another hand.
Noses: G. A. Crowell, The Descriptive Geometry of Nose Cones, 1996 (from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

Array = NDArray[np.float64]
Numbers = NDArray[Any]  # real, or complex with a tiny imaginary part
Radius = Callable[[Numbers], Numbers]  # of x

TINY = 1e-30  # complex step: a derivative without a difference, so without rounding
SUBSTITUTIONS = 40  # each leaves a tenth of the error or less


def von_karman(u: Numbers, fullness: float = 0.0) -> Numbers:
    """r/R of the Haack series at u = x/L."""
    t = np.arccos(1 - 2 * u)
    return np.asarray(np.sqrt((t - np.sin(2 * t) / 2 + fullness * np.sin(t) ** 3) / np.pi))


def tangent_ogive(u: Numbers, slenderness: float) -> Numbers:
    """r/R of the tangent ogive, slenderness L/R."""
    rho = (1 + slenderness**2) / 2
    return np.asarray(np.sqrt(rho**2 - slenderness**2 * (1 - u) ** 2) + 1 - rho)


def ellipsoid(u: Numbers) -> Numbers:
    """r/R of the half ellipsoid."""
    return np.asarray(np.sqrt(1 - (1 - u) ** 2))


def power(u: Numbers, exponent: float) -> Numbers:
    """r/R of the power series."""
    return np.asarray(u**exponent)


def nose_and_tube(length: float, base: float, law: Radius) -> Radius:
    """Radius at x of a nose of radius law(u)·base with a tube behind it; base is a radius (m)."""

    def radius(x: Numbers) -> Numbers:
        on_nose = x.real < length
        u = np.where(on_nose, x / length, 0.5)
        return np.where(on_nose, base * law(u), base + 0 * x)

    return radius


def rounded(radius: Radius, joint: float, half: float) -> Radius:
    """The same with the corner at ``joint`` replaced by the cubic tangent to both sides."""
    ends = np.array([joint - half, joint + half])
    r, slope = radius(ends).real, slope_of(radius, ends)
    chord = (r[1] - r[0]) / (2 * half)

    def smooth(x: Numbers) -> Numbers:
        z = (x - ends[0]) / (2 * half)
        cubic = (slope[0] - chord) * z * (1 - z) ** 2 - (slope[1] - chord) * z**2 * (1 - z)
        bend = r[0] + (r[1] - r[0]) * z + 2 * half * cubic
        return np.where(np.abs(x.real - joint) < half, bend, radius(x))

    return smooth


def slope_of(radius: Radius, x: Array) -> Array:
    """dr/dx by a complex step."""
    return np.asarray(radius(x + 1j * TINY).imag / TINY)


def distance(x: Array, r: Array, radius: Radius) -> Array:
    """Signed distance of points from the curve (x, radius(x)), by the foot of the normal (m)."""
    foot = x.copy()
    for _ in range(20):
        slope = slope_of(radius, foot)
        step = (x - foot + (r - radius(foot)) * slope) / (1 + slope**2)
        foot = foot + step
    assert np.abs(step).max() < 1e-12
    return np.asarray((r - radius(foot)) * np.sqrt(1 + slope_of(radius, foot) ** 2))


@dataclass(frozen=True)
class Net:
    """A sleeve and its fibre: tows N, tow kg/m, 45 degree radius, narrowest tow, ρ_f, V_f."""

    tows: int
    tow: float
    radius_at_45: float
    narrowest: float
    density: float
    fraction: float
    hard: tuple[float, float] = (np.radians(20.0), np.radians(70.0))  # practice, no source

    @property
    def constant(self) -> float:
        """t·r·cos θ at every place: N T/(2π ρ V), m²."""
        return self.tows * self.tow / (2 * np.pi * self.density * self.fraction)

    @property
    def locks(self) -> tuple[float, float]:
        """Both roots of p sin 2θ = w with p = 2π√2 r45/N, held inside the hard range."""
        crossing = 2 * np.pi * np.sqrt(2) * self.radius_at_45 / self.tows
        root = 0.5 * np.arcsin(self.narrowest / crossing)
        return max(root, self.hard[0]), min(np.pi / 2 - root, self.hard[1])

    def angle(self, radius: Array) -> Array:
        """Braid angle, held between the locks."""
        free = np.arcsin(np.minimum(radius / (np.sqrt(2) * self.radius_at_45), 1.0))
        return np.asarray(np.clip(free, *self.locks))

    def thickness(self, radius: Array, cosine: Array, share: Array | float = 1.0) -> Array:
        """t = c·share/(m cos θ(m)), m = r + t cos β/2, by substitution: a step errs by t/r."""
        t = np.zeros_like(radius)
        for _ in range(SUBSTITUTIONS):
            middle = radius + t * cosine / 2
            t = self.constant * share / (middle * np.cos(self.angle(middle)))
        return t


@dataclass(frozen=True)
class Ply:
    """A net laid between two x, with C2 ramps of one length centred at both ends."""

    net: Net
    start: float
    stop: float
    ramp: float

    def share(self, x: Array) -> Array:
        """Share of full thickness: integral of the bump z²(1−z)², scaled to 1."""
        both = [(x - self.start) / self.ramp, (self.stop - x) / self.ramp]
        z = [np.clip(v + 0.5, 0.0, 1.0) for v in both]
        up, down = (v**3 / 3 - v**4 / 2 + v**5 / 5 for v in z)
        return np.asarray(900.0 * up * down)


class Line:
    """One smooth piece of a meridian as a scipy spline over its own arc length."""

    def __init__(self, x: Array, r: Array) -> None:
        s = np.concatenate(([0.0], np.cumsum(np.hypot(np.diff(x), np.diff(r)))))
        for _ in range(3):
            curve = CubicSpline(s, np.column_stack((x, r)))
            s = np.concatenate(([0.0], np.cumsum(_lengths(curve, s))))
        self.s, self.curve = s, CubicSpline(s, np.column_stack((x, r)))

    @property
    def nodes(self) -> tuple[Array, Array]:
        """x and r of the nodes."""
        x, r = self.curve(self.s).T
        return x, r

    def at(self, s: Array) -> tuple[Array, Array, Array, Array]:
        """x, r and the unit tangent (cos β, sin β) at arc length s."""
        (x, r), along = self.curve(s).T, self.curve(s, 1)
        cosine, sine = (along / np.hypot(*along.T)[:, None]).T
        return x, r, cosine, sine

    def laid(self, ply: Ply, s: Array) -> tuple[Array, Array, Array]:
        """x, r of the ply's outer surface over stations s, and its thickness there."""
        x, r, cosine, sine = self.at(s)
        t = ply.net.thickness(r, cosine, ply.share(x))
        return x - t * sine, r + t * cosine, t

    def over(self, ply: Ply) -> Line:
        """The ply's outer surface."""
        x, r, _ = self.laid(ply, self.s)
        return Line(x, r)


def _lengths(curve: CubicSpline, s: Array) -> Array:
    """Arc length of every segment, Gauss-Legendre of four points."""
    point, weight = np.polynomial.legendre.leggauss(4)
    half = np.diff(s)[:, None] / 2
    inside = (s[1:] + s[:-1])[:, None] / 2 + half * point
    return np.asarray((np.linalg.norm(curve(inside, 1), axis=-1) * half) @ weight)


def split(x: Array, r: Array, joints: tuple[int, ...]) -> list[Line]:
    """The smooth pieces of a meridian between the nodes named."""
    cuts = [0, *joints, len(x) - 1]
    return [Line(x[a : b + 1], r[a : b + 1]) for a, b in pairwise(cuts)]
