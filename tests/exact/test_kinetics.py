"""Kinetics and their integration: slopes, order, invariants, events, inverses."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from mandrelwright.physics.conduction import Grid, graded
from mandrelwright.physics.kinetics import (
    Array,
    Glass,
    Kinetics,
    conversion_after,
    crossing,
    dew_point,
    time_between,
)
from mandrelwright.physics.reaction import Ambient, History, Source, stepped

RESIN = Kinetics(1.5e-5, 3e-4, 60e3, 52e3, 1.0, 1.5, Glass(228.15, 368.15, 0.4), 3.0, 4.0)
HEAT = 3e8  # J/m³


def point(places: int = 1) -> Grid:
    """One cell of 1.8 MJ/(m³ K) per place."""
    shape = (places, 1)
    return Grid(np.tile([0.0, 0.01], (places, 1)), np.full(shape, 0.3), np.full(shape, 1.8e6))


def cured(grid: Grid, film: float, tolerance: float, heat: float = HEAT) -> History:
    cells = grid.conductivity.shape[1]
    source = Source(RESIN, np.full(grid.conductivity.shape, heat), 0, cells)
    stays = [Ambient(6 * 3600.0, 298.15, film), Ambient(4 * 3600.0, 333.15, film)]
    return stepped(grid, stays, 298.15, source, tolerance=tolerance)


def test_slopes_are_the_derivatives() -> None:
    T = np.linspace(270.0, 400.0, 27)[:, None]
    a = np.linspace(0.05, 0.97, 24)
    for resin in (RESIN, replace(RESIN, m=0.7, n=2.0)):
        by_heat, by_state = resin.slopes(T, a)
        near = (resin.rate(T + 1e-3, a) - resin.rate(T - 1e-3, a)) / 2e-3
        np.testing.assert_allclose(by_heat, near, rtol=1e-6, atol=1e-18)
        near = (resin.rate(T, a + 1e-6) - resin.rate(T, a - 1e-6)) / 2e-6
        np.testing.assert_allclose(by_state, near, rtol=1e-5, atol=1e-13)


def test_adiabatic_invariant() -> None:
    history = cured(point(), 0.0, 0.1)
    invariant = history.temperature[:, 0, 0] - HEAT / 1.8e6 * history.state[:, 0, 0]
    assert history.state[-1, 0, 0] > 0.99
    assert np.max(np.abs(invariant / 298.15 - 1.0)) < 1e-12


def test_energy_of_a_curing_shell() -> None:
    grid = shell()
    history = cured(grid, 8.0, 0.05)
    stored = ((history.temperature - 298.15) * grid.capacity).sum(-1)
    released = (history.state * HEAT * grid.area).sum(-1)
    assert np.max(np.abs(stored - released - history.heat)) < 1e-10 * released.max()


def shell() -> Grid:
    radii = graded([0.02, 0.048], [0.0215, 0.056], 8)
    shape = (2, 8)
    return Grid(radii, np.full(shape, 0.4), np.full(shape, 1.8e6))


def test_steps_agree_with_an_outside_solver_and_are_of_fourth_order() -> None:
    """scipy's Radau at 1e-11 on the same equation of one cell."""
    film, radius = 10.0, 0.01
    gain = 2.0 * np.pi * radius / (1.0 / film + radius * np.log(np.sqrt(2.0)) / 0.3)
    capacity = 1.8e6 * np.pi * radius**2

    def rhs(outside: float):
        def f(_: float, y: Array) -> list[float]:
            r = float(RESIN.rate(y[0], y[1]))
            heat = HEAT * np.pi * radius**2 * r + gain * (outside - y[0])
            return [heat / capacity, r]

        return f

    y = np.array([298.15, 0.0])
    for hours, outside in ((6, 298.15), (4, 333.15)):
        y = solve_ivp(
            rhs(outside), (0, hours * 3600.0), y, method="Radau", rtol=1e-11, atol=1e-11
        ).y[:, -1]
    errors, steps = [], []
    for tolerance in (1e-1, 1e-2, 1e-3, 1e-4, 1e-5):
        history = cured(point(), film, tolerance)
        got = np.array([history.temperature[-1, 0, 0], 250.0 * history.state[-1, 0, 0]])
        errors.append(np.abs(got - [y[0], 250.0 * y[1]]).max())
        steps.append(len(history.times))
    assert errors[-1] < 2e-5
    assert errors[0] < 0.2
    order = np.log(errors[1] / errors[-1]) / np.log(steps[-1] / steps[1])
    assert order > 3.4, (errors, steps)


def test_gel_is_located_inside_a_step() -> None:
    exact = RESIN.time_to(0.577, 298.15)
    for tolerance in (0.5, 0.05):
        history = cured(point(), 1e9, tolerance, heat=1.0)
        thin = history.state[:, :, 0]
        gel = crossing(history.times, thin, history.rate[:, :, 0], 0.577)[0]
        step = np.diff(history.times)[np.searchsorted(history.times, gel) - 1]
        assert abs(gel - exact) < 0.01 * step + 2e-3 * exact


def test_a_level_never_reached_is_not_a_number() -> None:
    history = cured(point(2), 8.0, 0.05)
    state, rate = history.state[:, :, 0], history.rate[:, :, 0]
    assert np.isnan(crossing(history.times, state, rate, 0.9999)).all()
    np.testing.assert_allclose(crossing(history.times, state, rate, -1.0), 0.0)


def test_conversion_and_time_are_inverse_across_a_jump() -> None:
    def law(a: Array) -> Array:
        return np.where(a <= 0.3, 0.5 - a, 2.0 * (1.0 - a))

    for time in (0.2, 1.0, 1.5):
        a = conversion_after(law, time, (0.3,))
        assert time_between(law, 0.0, a, (0.3,)) == pytest.approx(time, rel=1e-10)
    assert time_between(law, 0.0, 0.3) == pytest.approx(np.log(0.5 / 0.2), rel=1e-12)


def test_glass_identities() -> None:
    glass = RESIN.glass
    assert glass.transition(0.0) == pytest.approx(glass.fresh)
    assert glass.transition(1.0) == pytest.approx(glass.full)
    a = np.linspace(0.0, 1.0, 11)
    np.testing.assert_allclose(glass.conversion(glass.transition(a)), a, atol=1e-12)
    line = replace(glass, curvature=1.0)
    np.testing.assert_allclose(line.transition(a), 228.15 + 140.0 * a, rtol=1e-12)
    near = (glass.transition(a[1:-1] + 1e-6) - glass.transition(a[1:-1] - 1e-6)) / 2e-6
    np.testing.assert_allclose(glass.slope(a[1:-1]), near, rtol=1e-7)


def test_dew_point() -> None:
    assert dew_point(295.15, 1.0) == pytest.approx(295.15, abs=1e-9)
    # steam tables, from memory: 2339 Pa at 20 °C, 1228 Pa at 10 °C
    assert dew_point(293.15, 1228.0 / 2339.0) == pytest.approx(283.15, abs=0.05)
