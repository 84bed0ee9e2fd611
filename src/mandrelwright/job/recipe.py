"""A first lay-up for a nose: which sleeves, how many, and where each begins and ends.

One sleeve serves from 25 to 55 degrees of braid angle, a radius ratio of 1.9, so the tip half of
a nose takes a second, smaller one.  Trade practice, no source: both angles, two layers at the
tip, the overlap.  The full check belongs to the plan; this only has to be a sensible start.

Symbols: D45 diameter at which a sleeve's tows cross at 45 degrees to the axis, N all its tows,
T linear density of one tow, w its narrowest width.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from mandrelwright.job.materials import Library
from mandrelwright.job.values import InputError
from mandrelwright.physics import braid, profiles
from mandrelwright.quantities import show

FLAT, LOCKED, STEEP = math.radians(25.0), math.radians(22.0), math.radians(55.0)
STEEPEST, FLATTEST = math.radians(65.0), math.radians(40.0)  # of a sleeve on the shelf, at the base
FINE = 120  # tows: a sleeve of fewer leaves windows
TIP_LAYERS = 2
TIP_MARGIN, OVERLAP = 10e-3, 30e-3  # m
COMPACTION = "peel ply"
RECOMMENDED = "E-glass"
THINNEST, THICKEST = 0.3e-3, 5e-3  # m, of the wall between coupler and tube


@dataclass(frozen=True)
class Stock:
    """A sleeve to buy or on the shelf: fibre, N, T (kg/m), its spread, D45 (m), library name."""

    fibre: str
    tows: int
    tow: float
    tow_spread: float
    diameter_at_45: float
    library: str = ""

    def thickness(self, radius: float, library: Library) -> float:
        """Thickness of one layer on a cylinder: t = c/(r cos θ), c = N·T/(2π ρ_f V_f); m."""
        density = library.fibres[self.fibre]["density"].value
        fraction = library.compactions[COMPACTION]["fibre_fraction"].value
        constant = float(braid.layer_constant(self.tows, self.tow, density, fraction))
        theta = float(braid.angle(radius, self.diameter_at_45 / 2.0))
        return constant / (radius * math.cos(theta))


@dataclass(frozen=True)
class Layup:
    """Big sleeve and its repeats, the smaller one if the tip takes it; diameters in m."""

    big: Stock
    repeats: int
    big_from: float
    small: Stock | None
    small_to: float
    open_tip: float
    stagger: float


@dataclass(frozen=True)
class Nose:
    """The nose to cover: family, parameter, length and base diameter (m)."""

    shape: str
    parameter: float | None
    length: float
    base: float

    def diameter(self, x: float) -> float:
        """Diameter at x from the tip, m."""
        radius, _ = profiles.nose(
            self.shape, [min(x, self.length)], self.length, self.base / 2.0, self.parameter
        )
        return 2.0 * float(radius[0])

    def place(self, diameter: float) -> float:
        """x from the tip where the diameter is reached, m, to a thousandth of the length."""
        x = np.linspace(0.0, self.length, 2001)
        radius, _ = profiles.nose(self.shape, x, self.length, self.base / 2.0, self.parameter)
        return float(np.interp(diameter / 2.0, radius, x))


def lay_up(nose: Nose, wall: float, library: Library, sleeve: str = "") -> Layup:
    """Sleeves, repeats and ends for a nose whose wall at the base is given (m).

    ``sleeve`` names a generic sleeve of the library that is on the shelf; without one a sleeve
    is recommended.  Raises InputError when the wall or the sleeve cannot serve.
    """
    if not THINNEST <= wall <= THICKEST:
        raise InputError(
            f"leaves a wall of {show(wall)}; it must be from {show(THINNEST)} to {show(THICKEST)}",
            "measure tube and coupler again",
            ("coupler",),
        )
    stagger = min(10e-3, max(2e-3, round(nose.length / 40.0, 3)))
    middle = (nose.base - wall) / 2.0
    if sleeve:
        big = _on_shelf(sleeve, nose.base, library)
        repeats = max(1, round(wall / big.thickness(middle, library)))
    else:
        big, repeats = _recommended(nose.base, wall, library)
    thick = 1.25 * wall  # a layer is that much thicker at 25 degrees than at 55
    big_from = _millimetres(_size(big.diameter_at_45, FLAT) + 2.0 * thick)
    small_to = _millimetres(nose.diameter(nose.place(big_from) + min(OVERLAP, nose.length / 8.0)))
    small = _sleeve(big.fibre, big.tow, big.tow_spread, small_to - 2.0 * wall, library)
    tip_wall = TIP_LAYERS * small.thickness(_size(small.diameter_at_45, FLAT) / 2.0, library)
    open_tip = _cut(nose, _size(small.diameter_at_45, FLAT) + 2.0 * tip_wall)
    if open_tip < big_from:
        return Layup(big, repeats, big_from, small, small_to, open_tip, stagger)
    return Layup(big, repeats, 0.0, None, 0.0, _cut(nose, big_from), stagger)


def _size(diameter_at_45: float, theta: float) -> float:
    return math.sqrt(2.0) * diameter_at_45 * math.sin(theta)


def _millimetres(length: float) -> float:
    return math.ceil(round(length * 1e3, 6)) / 1e3


def _cut(nose: Nose, least: float) -> float:
    """Where to cut the tip so that the mould's margin beyond the cut is no thinner than least."""
    return _millimetres(nose.diameter(nose.place(least) + TIP_MARGIN))


def _sleeve(fibre: str, tow: float, tow_spread: float, largest: float, library: Library) -> Stock:
    """The sleeve that lies at 55 degrees on ``largest`` and locks at 22: N = 2π√2 r45 sin 2θ/w."""
    diameter_at_45 = round(largest / (math.sqrt(2.0) * math.sin(STEEP)), 3)
    width = library.narrowest_tow(fibre, tow).value
    crossing = math.pi * math.sqrt(2.0) * diameter_at_45 * math.sin(2.0 * LOCKED)
    return Stock(fibre, 4 * int(crossing / width / 4), tow, tow_spread, diameter_at_45)


def _recommended(base: float, wall: float, library: Library) -> tuple[Stock, int]:
    """The heaviest tow that still makes a fine sleeve, with N thinned out to meet the wall."""
    tows = sorted(
        (entry["linear_density"].value, entry["linear_density"].spread)
        for entry in library.tows.values()
        if RECOMMENDED in entry.words["fibres"].words and "narrowest_width" in entry
    )
    sleeves = [_sleeve(RECOMMENDED, *tow, base, library) for tow in tows]
    full = next((one for one in reversed(sleeves) if one.tows >= FINE), sleeves[0])
    thickness = full.thickness((base - wall) / 2.0, library)
    repeats = math.ceil(wall / thickness)
    thinned = 2 * round(full.tows * wall / (repeats * thickness) / 2)
    return Stock(full.fibre, thinned, full.tow, full.tow_spread, full.diameter_at_45), repeats


def _on_shelf(name: str, base: float, library: Library) -> Stock:
    """A generic sleeve of the library, if it lies between 40 and 65 degrees at the base."""
    entry = library.sleeves[name]
    size = entry["diameter_at_45"].value
    least, most = (base / (math.sqrt(2.0) * math.sin(angle)) for angle in (STEEPEST, FLATTEST))
    if not least <= size <= most:
        raise InputError(
            f"is {show(size, digits=0)} at 45 degrees; this base takes {show(least, digits=0)} to "
            f"{show(most, digits=0)}",
            'take another sleeve, or "recommend"',
            ("sleeve",),
        )
    fibre = entry.words["fibre"].words[0]
    tow = entry["tow"]
    return Stock(fibre, int(entry["tows"].value), tow.value, tow.spread, size, name)
