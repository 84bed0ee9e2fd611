"""Resin by closed forms: Arrhenius, the scale's step, film flow, and masses that add up.

The film's speed is also found by solving its own equation of motion on a grid.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_bvp

from mandrelwright.physics import wetout
from tests import jobs

R = 8.314462618


def energy(ratio: float, cold: float, warm: float) -> float:
    """E of what falls by a ratio from cold to warm: R ln(ratio)·T1·T2/(T2 − T1)."""
    return R * math.log(ratio) * cold * warm / (warm - cold)


def test_pot_life_that_halves_per_ten_kelvin_has_the_energy_of_the_library() -> None:
    """20 to 30 °C by two supplier guides; the library rounds 51.2 to 51 kJ/mol."""
    halving = energy(2.0, 293.15, 303.15)
    assert float(wetout.at_temperature(1.0, halving, 303.15, 293.15)) == pytest.approx(
        0.5, rel=1e-12
    )
    practice = jobs.library().practice["lay-up"]
    assert practice["pot_life_energy"].value == pytest.approx(halving, abs=0.5e3)
    thinning = energy(2.0, 293.15, 298.15)
    assert practice["viscosity_energy"].value == pytest.approx(thinning, abs=0.5e3)


def test_temperatures_can_be_taken_in_two_steps() -> None:
    once = wetout.at_temperature(7.0, 6e4, 310.0, 290.0)
    twice = wetout.at_temperature(wetout.at_temperature(7.0, 6e4, 301.0, 290.0), 6e4, 310.0, 301.0)
    assert float(once) == pytest.approx(float(twice), rel=1e-13)


def test_twenty_grams_on_a_whole_gram_scale() -> None:
    """100:30 by weight: 60/13 g of hardener read to half a gram, 13/120 of it, exactly."""
    assert float(wetout.hardener_error(20e-3, 0.30, 1e-3)) == pytest.approx(13 / 120, rel=1e-14)


def test_the_smallest_batch_has_just_the_error_asked_for() -> None:
    for error, ratio, step in ((0.02, 0.25, 1e-3), (0.05, 0.5, 1e-4), (0.1, 1.0, 5e-3)):
        batch = wetout.smallest_batch(error, ratio, step)
        assert float(wetout.hardener_error(batch, ratio, step)) == pytest.approx(error, rel=1e-13)


def test_no_weighing_of_the_hardener_errs_by_more() -> None:
    """Weigh out every wish by a scale that rounds: the worst comes within a hundredth of the
    bound, which ties of rounding reach and nothing passes."""
    ratio, step = 0.30, 1e-3
    for batch in np.linspace(15e-3, 25e-3, 11):
        true = np.linspace(0.5, 1.5, 20001) * batch * ratio / (1.0 + ratio)
        shown = np.round(true / step) * step
        worst = float(np.abs(shown - true).max()) / (batch * ratio / (1.0 + ratio))
        bound = float(wetout.hardener_error(batch, ratio, step))
        assert 0.99 * bound <= worst <= bound * (1.0 + 1e-9)


def test_a_fifth_of_a_millimetre_runs_22_mm_a_minute() -> None:
    """0.6 Pa·s, 1110 kg/m³: 21.77 mm/min, so 22 to the millimetre."""
    speed = float(wetout.sag_speed(1110.0, 0.2e-3, 0.6)) * 60e3
    assert round(speed) == 22


def test_sag_is_the_face_of_a_film_that_sticks_to_its_wall() -> None:
    """μ v'' = −ρ g, v(0) = 0, v'(h) = 0, by collocation; a parabola, so to the solver's 1e-6."""
    density, film, viscosity = 1110.0, 0.15e-3, 0.9
    unit = density * 9.80665 * film**2 / viscosity
    y = np.linspace(0.0, 1.0, 11)
    found = solve_bvp(
        lambda y, v: np.vstack((v[1], -np.ones_like(y))),
        lambda wall, face: np.array([wall[0], face[1]]),
        y,
        np.zeros((2, len(y))),
        tol=1e-8,
    )
    speed = float(wetout.sag_speed(density, film, viscosity))
    assert speed == pytest.approx(unit * float(found.y[0, -1]), rel=1e-6)


def test_resin_and_fibre_and_voids_fill_the_volume() -> None:
    fibre, voids, volume = 0.42, 0.03, 2.0e-4
    resin = float(wetout.resin_mass(volume, fibre, voids, 1150.0)) / 1150.0
    assert resin + (fibre + voids) * volume == pytest.approx(volume, rel=1e-14)
