"""Radio waves against identities: energy, Fresnel, Brewster, reciprocity, a slab cut in two."""

from __future__ import annotations

import math

import numpy as np
import pytest

from mandrelwright.physics.radio import (
    LIGHT,
    Complex,
    Wave,
    mixed,
    permittivity,
    skin_depth,
    through,
)

WAVES: tuple[Wave, Wave] = ("TE", "TM")
F = 2.4e9


def random_stack(seed: int, loss: bool) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    random = np.random.default_rng(seed)
    tangent = random.uniform(0.0, 0.5, (200, 4)) if loss else np.zeros((200, 4))
    eps = permittivity(F, random.uniform(1.5, 9.0, (200, 4)), tangent)
    return eps, random.uniform(0.0, 0.03, (200, 4)), random.uniform(0.0, 1.4, 200)


@pytest.mark.parametrize("wave", WAVES)
def test_what_does_not_lose_keeps_all_power(wave: Wave) -> None:
    passed = through(F, *random_stack(1, loss=False), wave)
    assert np.abs(passed.absorbed).max() < 1e-12


@pytest.mark.parametrize("wave", WAVES)
def test_what_loses_takes_some_power_and_no_more_than_there_is(wave: Wave) -> None:
    passed = through(F, *random_stack(2, loss=True), wave)
    assert passed.absorbed.min() > 0.0
    assert passed.absorbed.max() < 1.0


@pytest.mark.parametrize("wave", WAVES)
def test_absorbed_power_equals_the_loss_inside_the_wall(wave: Wave) -> None:
    """Poynting's theorem: ∫ ω ε'' |E|²/2 over the wall, E carried along in thin steps."""
    eps, depth, theta, steps = complex(permittivity(F, 5.0, 0.2)), 0.012, 0.6, 4000
    wall = through(F, np.array([eps]), np.array([depth]), theta, wave)
    root = np.sqrt(eps - math.sin(theta) ** 2)
    q, k = (root if wave == "TE" else eps / root), 2.0 * math.pi * F / LIGHT
    air = math.cos(theta) if wave == "TE" else 1.0 / math.cos(theta)
    back = np.linspace(0.0, depth, steps + 1)  # from the far side towards the source
    field: Complex = np.cos(k * root * back) + 1j * air / q * np.sin(
        k * root * back
    )  # along the wall
    magnetic: Complex = air * np.cos(k * root * back) + 1j * q * np.sin(k * root * back)
    squared = np.abs(field) ** 2
    tilt = math.sin(theta) if wave == "TM" else 0.0  # then E = H sin θ/ε across the wall too
    across = np.abs(magnetic * tilt / eps) ** 2
    lost = k * -eps.imag * np.trapezoid(squared + across, back) / air * float(wall.transmitted)
    assert lost == pytest.approx(float(wall.absorbed), rel=1e-6)


@pytest.mark.parametrize("wave", WAVES)
def test_the_other_way_as_much_goes_through(wave: Wave) -> None:
    eps, depth, theta = random_stack(3, loss=True)
    there = through(F, eps, depth, theta, wave).decibels
    back = through(F, eps[:, ::-1], depth[:, ::-1], theta, wave).decibels
    assert there == pytest.approx(back, rel=1e-10, abs=1e-10)


@pytest.mark.parametrize("wave", WAVES)
def test_a_slab_cut_in_two_is_the_same_slab(wave: Wave) -> None:
    eps = np.array([4.4 - 0.1j])
    whole = through(F, eps, np.array([3e-3]), 0.7, wave)
    cut = through(F, np.repeat(eps, 3), np.array([1e-3, 0.0, 2e-3]), 0.7, wave)
    assert cut.decibels == pytest.approx(whole.decibels, rel=1e-12)


@pytest.mark.parametrize("wave", WAVES)
def test_an_oblique_slab_has_its_closed_form(wave: Wave) -> None:
    """t = (1 − ρ²)e^{−jφ}/(1 − ρ²e^{−2jφ}) with Fresnel's ρ of one face and √(ε − sin²θ)."""
    eps, depth = complex(permittivity(10e9, 4.4, 0.016)), 2e-3
    for theta in (0.0, 0.3, 0.9, 1.3):
        root, cosine = np.sqrt(eps - math.sin(theta) ** 2 + 0j), math.cos(theta)
        rho = (cosine - root) / (cosine + root)
        if wave == "TM":
            rho = (eps * cosine - root) / (eps * cosine + root)
        turn = np.exp(-2j * math.pi * 10e9 / LIGHT * root * depth)
        expected = abs((1.0 - rho**2) * turn / (1.0 - rho**2 * turn**2)) ** 2
        found = through(10e9, np.array([eps]), np.array([depth]), theta, wave)
        assert found.transmitted == pytest.approx(expected, rel=1e-12)


def test_at_brewsters_angle_nothing_comes_back() -> None:
    theta = math.atan(math.sqrt(4.0))
    slab = np.array([4.0 + 0j]), np.array([5e-3]), theta
    assert float(through(F, *slab, "TM").reflected) < 1e-28
    assert float(through(F, *slab, "TE").reflected) > 0.1


def test_metal_shuts_a_wave_in_without_overflow() -> None:
    """Thick metal: 8.686 dB per skin depth, and t = 4/(n + 2 + …) at its faces."""
    sigma, depth = 5.8e7, 1e-3
    copper = through(F, np.array([permittivity(F, 1.0, 0.0, sigma)]), np.array([depth]))
    n = np.sqrt(permittivity(F, 1.0, 0.0, sigma))
    faces = 20.0 * math.log10(abs(4.0 * n / (1.0 + n) ** 2))
    inside = -20.0 / math.log(10.0) * depth / float(skin_depth(F, sigma))
    assert float(copper.decibels) == pytest.approx(faces + inside, rel=1e-6)
    assert float(copper.decibels) < -6000.0
    assert float(copper.reflected) == pytest.approx(1.0, abs=1e-3)


def test_a_mix_lies_between_series_and_side_by_side() -> None:
    share = np.linspace(0.05, 0.95, 19)
    mean = mixed(6.3, 3.3, share).real
    assert np.all(mean > 1.0 / (share / 6.3 + (1.0 - share) / 3.3))
    assert np.all(mean < share * 6.3 + (1.0 - share) * 3.3)
