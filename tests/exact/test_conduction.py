"""Conduction: order in space, modes against steps, energy, and a cylinder's Bessel series."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from scipy import optimize, special

from mandrelwright.physics.conduction import Array, Grid, graded, modal
from mandrelwright.physics.reaction import Ambient, History, stepped

K, CAPACITY, FILM, R = 0.2, 1.5e6, 10.0, 0.05
HOUR = 3600.0


def bar(count: int, growth: float = 1.0) -> Grid:
    """A solid plastic cylinder of 100 mm."""
    radii = graded(0.0, R, count, growth)
    return Grid(radii, np.full((1, count), K), np.full((1, count), CAPACITY))


def moulds() -> Grid:
    """Three places: plastic with a carbon wall on it, bored or not, cells finest between them."""
    bore, mould = np.array([0.0, 0.005, 0.03]), np.array([0.02, 0.035, 0.05])
    inside = graded(bore, mould, 12, 0.1)
    radii = np.concatenate((inside, graded(mould, mould + 1.5e-3, 5, 2.0)[:, 1:]), axis=1)
    shape = (3, 17)
    conductivity, capacity = np.full(shape, 0.18), np.full(shape, 1.6e6)
    conductivity[:, 12:], capacity[:, 12:] = 0.6, 1.9e6
    return Grid(radii, conductivity, capacity)


def bessel(time: float) -> float:
    """Mean excess of a cylinder with a film, from one to its end at zero: the Bessel series.

    Carslaw and Jaeger, Conduction of Heat in Solids, 1959, 7.7 (from memory): ζ J₁(ζ) = Bi J₀(ζ),
    mean = Σ 4 Bi²/[ζ²(ζ² + Bi²)] exp(−ζ² Fo).
    """
    biot, fourier = FILM * R / K, K * time / (CAPACITY * R**2)

    def balance(z: float) -> float:
        return float(z * special.j1(z) - biot * special.j0(z))

    ends = np.concatenate(([1e-9], special.jn_zeros(1, 40)))
    roots = np.array([optimize.brentq(balance, a, b) for a, b in pairwise(ends)])
    weights = 4.0 * biot**2 / (roots**2 * (roots**2 + biot**2))
    return float(weights @ np.exp(-(roots**2) * fourier))


@pytest.mark.parametrize("growth", [1.0, 0.2, 5.0])
def test_second_order_in_space(growth: float) -> None:
    errors = []
    for count in (10, 20, 40, 80):
        grid = bar(count, growth)
        T = modal(grid, FILM).after(np.ones((1, count)), HOUR, 0.0)[0]
        errors.append(abs(grid.mean(T)[0] - bessel(HOUR)))
    orders = np.log2(np.array(errors[:-1]) / np.array(errors[1:]))
    assert np.all(np.abs(orders - 2.0) < 0.1), orders


def sequence(tolerance: float) -> tuple[Grid, History, list[Ambient]]:
    stays = [
        Ambient(2.0 * HOUR, 255.15, 6.0, 2.0),
        Ambient(0.1 * HOUR, np.array([313.15, 310.0, 305.0]), 300.0, 2.0, 290.0),
        Ambient(5.0 * HOUR, 295.15, 10.0, 0.0),
    ]
    grid = moulds()
    return grid, stepped(grid, stays, 296.15, tolerance=tolerance), stays


def by_modes(grid: Grid, stays: list[Ambient], times: Array) -> Array:
    """The same through the modes of each stay, at the given times."""
    T, begun = np.full(grid.conductivity.shape, 296.15), 0.0
    out = np.empty((len(times), *T.shape))
    for stay in stays:
        modes = modal(grid, stay.film, stay.bore_film)
        here = (times >= begun) & (times <= begun + stay.lasts)
        out[here] = modes.after(T, times[here] - begun, stay.outside, stay.bore)
        T = modes.after(T, stay.lasts, stay.outside, stay.bore)[0]
        begun += stay.lasts
    return out


def test_modes_and_steps_agree() -> None:
    grid, history, stays = sequence(1e-7)
    exact = by_modes(grid, stays, history.times)
    assert np.max(np.abs(history.temperature - exact)) < 1e-6 * 40.0  # of the swing, K
    assert np.max(np.abs(history.temperature / exact - 1.0)) < 1e-7


def test_a_tenth_of_the_tolerance_is_a_tenth_of_the_error() -> None:
    errors = []
    for tolerance in (1e-2, 1e-4):
        grid, history, stays = sequence(tolerance)
        exact = by_modes(grid, stays, history.times)
        errors.append(np.max(np.abs(history.temperature - exact)))
    assert errors[0] < 0.02
    assert errors[1] < errors[0] / 30.0


def test_steps_keep_energy() -> None:
    grid, history, _ = sequence(1e-2)
    stored = ((history.temperature - 296.15) * grid.capacity).sum(-1)
    assert np.max(np.abs(stored - history.heat)) < 1e-10 * np.max(np.abs(history.heat))


@pytest.mark.parametrize("bore_film", [0.0, 4.0])
def test_modes_keep_energy(bore_film: float) -> None:
    grid = moulds()
    start = np.linspace(250.0, 330.0, 51).reshape(3, 17)
    modes = modal(grid, 7.0, bore_film)
    for time in (1e-3, 1.0, HOUR, 100.0 * HOUR):
        after = modes.after(start, time, 300.0, 280.0)[0]
        stored = ((after - start) * grid.capacity).sum(-1)
        through = modes.heat(start, time, 300.0, 280.0)
        assert np.max(np.abs(stored - through)) < 1e-10 * np.max((start * grid.capacity).sum(-1))


def test_an_insulated_grid_keeps_its_heat_and_evens_out() -> None:
    grid = moulds()
    start = np.linspace(250.0, 330.0, 51).reshape(3, 17)
    after = modal(grid, 0.0).after(start, 1e7, 999.0)[0]
    level = (start * grid.capacity).sum(-1) / grid.capacity.sum(-1)
    np.testing.assert_allclose(after, np.repeat(level[:, None], 17, 1), rtol=1e-10)


def test_heat_between_materials_is_continuous() -> None:
    grid = moulds()
    T = modal(grid, 20.0, 20.0).after(np.full((3, 17), 300.0), 1e7, 400.0, 300.0)[0]
    inner, outer = grid.resistances
    face = grid.face(T, 11)
    np.testing.assert_allclose(
        (T[:, 11] - face) / outer[:, 11], (face - T[:, 12]) / inner[:, 12], rtol=1e-9, atol=1e-9
    )
