"""Laws that flight physics keeps whatever the numbers."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from mandrelwright.physics.aerodynamics import pressure_coefficient, side_force
from mandrelwright.physics.ascent import ascent, drag_to
from mandrelwright.physics.atmosphere import GAS, GRAVITY, atmosphere
from mandrelwright.physics.conduction import Grid, graded
from mandrelwright.physics.driven import driven
from mandrelwright.physics.gas_dynamics import cone, mach_from, oblique_shock, pressure_ratio
from mandrelwright.physics.heating import film, sunned

MACH = st.floats(1.4, 4.0)


@given(st.floats(-1000.0, 80e3), st.floats(-20.0, 30.0))
def test_air_hangs_on_itself(altitude: float, warmer: float) -> None:
    low, here, high = (atmosphere(altitude + step, warmer) for step in (-1.0, 0.0, 1.0))
    assert float(here.pressure) < float(low.pressure)
    assert np.isclose(here.density, here.pressure / (GAS * here.temperature), rtol=1e-12)
    if warmer == 0.0:
        slope = (float(high.pressure) - float(low.pressure)) / 2.0
        assert np.isclose(slope, -GRAVITY * float(here.density), rtol=0.03)


@given(MACH, st.floats(0.08, 0.35))
def test_a_cone_disturbs_less_than_a_wedge(mach: float, half: float) -> None:
    found = cone(mach, half)
    wedge = float(oblique_shock(mach, half))
    if np.isnan(wedge):
        return
    assert np.arcsin(1.0 / mach) - 1e-9 <= found.shock[0] <= wedge
    assert found.mach[0] < mach
    assert found.coefficient[0] > 0.0


@given(st.floats(0.01, 5.0))
def test_pressure_and_mach_are_each_other_s_inverse(mach: float) -> None:
    assert np.isclose(mach_from(pressure_ratio(mach)), mach, rtol=1e-9)


@given(st.floats(0.1, 3.5), st.floats(0.0, 1.5))
def test_pressure_on_a_slope_stays_below_the_stagnation_point(mach: float, slope: float) -> None:
    found = float(pressure_coefficient(mach, slope)[0, 0])
    assert 0.0 <= found <= 1.9
    assert abs(float(pressure_coefficient(mach, -slope)[0, 0])) < 1e-9


@given(st.floats(0.01, 0.1), st.floats(1.05, 3.0), st.floats(0.05, 0.5))
def test_a_body_turned_round_lifts_the_other_way(front: float, wider: float, length: float) -> None:
    x = np.linspace(0.0, length, 101)
    area = np.pi * (front * (1.0 + (wider - 1.0) * x / length)) ** 2
    ahead, back = side_force(x, area), side_force(x, area[::-1])
    assert np.isclose(ahead.slope, -back.slope)
    assert np.isclose(ahead.centre, length - back.centre)


@given(st.floats(30.0, 600.0), st.floats(0.3, 8.0), st.floats(0.05, 0.95))
def test_a_coast_ends_where_it_was_told(speed: float, burn: float, share: float) -> None:
    climb = share * speed**2 / (2.0 * GRAVITY)
    flown = ascent(speed, burn, 0.0, drag_to(speed, climb), 0.0)
    assert np.isclose(flown.height[-1], 0.5 * speed * burn + climb, rtol=1e-6)
    assert np.all(np.diff(flown.times) > 0.0)
    assert flown.speed.max() <= speed * (1.0 + 1e-12)


@settings(max_examples=25)
@given(st.floats(0.2, 3.0), st.floats(0.5e-3, 4e-3), st.floats(250.0, 330.0))
def test_a_wall_in_flight_stays_between_its_start_and_what_the_air_brings(
    mach: float, wall: float, start: float
) -> None:
    times = np.linspace(0.0, 10.0, 101)
    speed = mach * np.sin(np.pi * times / 10.0)[:, None] + 1e-3
    air = atmosphere(np.full((101, 1), 1500.0))
    over = film(air, speed, 0.05, 0.3, 0.5, start)
    radii = graded([0.05], [0.05 + wall], 8)
    grid = Grid(radii, np.full((1, 8), 0.3), np.full((1, 8), 1.8e6))
    found = driven(grid, times, over.coefficient, over.recovery, np.full((1, 8), start))
    low, high = min(start, float(over.recovery.min())), max(start, float(over.recovery.max()))
    assert low - 1e-6 <= found.cells.min()
    assert found.cells.max() <= high + 1e-6


@given(st.floats(100.0, 1200.0), st.floats(0.1, 0.95), st.floats(0.3, 5.0))
def test_more_sun_and_less_wind_are_hotter(sun: float, absorbs: float, breeze: float) -> None:
    plain = sunned(sun, 295.0, breeze, 0.1, absorbs, 0.9, 3.0)
    assert plain.hottest > plain.mean > 295.0
    assert sunned(1.1 * sun, 295.0, breeze, 0.1, absorbs, 0.9, 3.0).hottest > plain.hottest
    assert sunned(sun, 295.0, 1.3 * breeze, 0.1, absorbs, 0.9, 3.0).hottest <= plain.hottest + 1e-9
