"""Flight: cones and ascent by other integrators, loads that close, histories, verdicts."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

from mandrelwright.job.flights import Track
from mandrelwright.job.problems import JobError
from mandrelwright.job.read import library_of, read_job
from mandrelwright.physics import gas_dynamics
from mandrelwright.physics.ascent import ascent, drag_to
from mandrelwright.physics.atmosphere import GRAVITY, atmosphere
from mandrelwright.physics.conduction import Grid, graded, modal
from mandrelwright.physics.driven import driven
from mandrelwright.physics.heating import STEFAN, stagnation, sunned, wind
from mandrelwright.plan import Plan, make_plan
from mandrelwright.stages.flight import Case, Flight

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
NOSE = (EXAMPLES / "plover-nose.toml").read_text("utf-8")
STATED = NOSE.partition("[flight]\n")[2].partition("\n\n")[0]
GLASS = 'glass_transition = "50 degC +- 4 degC"\n'
HOT_CURED = 'glass_transition = "95 degC +- 5 degC"\n'
SLOW = 'top_speed = "200 m/s"\naltitude = "1200 m"\ncolour = "white"'
FAST = 'top_speed = "544 m/s"\naltitude = "4000 m"\nburn = "4 s"\ncolour = "white"'
DARK = 'colour = "black"\ntemperature = "28 degC"'
HELD = FAST + '\nhold = "3 s"'
HISTORY = """
[flight.history]
file = "flight.csv"
time = { column = "t", unit = "s" }
speed = { column = "v", unit = "km/h" }
altitude = { column = "h", unit = "m" }
angle_of_attack = { column = "alpha", unit = "deg" }
"""


def planned(folder: Path, flight: str, glass: str = GLASS) -> Plan:
    """The nose example with another flight and another cure."""
    path = folder / "job.toml"
    text = NOSE.replace(STATED, flight).replace(GLASS, glass)
    path.write_text(text, "utf-8")
    job = read_job(path)
    return make_plan(job, library_of(job), places=120)


def flight_of(plan: Plan) -> Flight:
    assert plan.flight is not None
    return plan.flight


def case_of(plan: Plan, name: str) -> Case:
    case = flight_of(plan).case(name)
    assert case is not None
    return case


def told(plan: Plan) -> dict[str, str]:
    return {f.id: f.level.value for f in plan.findings if f.step == "flight"}


def cone_by_scipy(mach: float, half: float) -> float:
    """C_p of a cone: scipy's integrator from the shock to where nothing crosses the ray."""

    def flow(shock: float) -> tuple[float, float]:
        sine = (mach * math.sin(shock)) ** 2
        behind = math.sqrt((1.0 + 0.2 * sine) / (1.4 * sine - 0.2))
        turn = math.atan(
            2.0 / math.tan(shock) * (sine - 1.0) / (mach**2 * (1.4 + math.cos(2.0 * shock)) + 2.0)
        )
        speed = 1.0 / math.sqrt(1.0 + 5.0 / (behind / math.sin(shock - turn)) ** 2)

        def slope(angle: float, state: np.ndarray) -> list[float]:
            r, t = state
            c = 0.2 * (1.0 - r * r - t * t)
            return [t, (t * t * r - c * (2.0 * r + t / math.tan(angle))) / (c - t * t)]

        def crossed(angle: float, state: np.ndarray) -> float:
            return float(state[1])

        crossed.terminal = True  # type: ignore[attr-defined]  # how solve_ivp is told to stop
        start = [speed * math.cos(shock - turn), -speed * math.sin(shock - turn)]
        run = solve_ivp(slope, [shock, 1e-4], start, events=crossed, rtol=1e-10, atol=1e-12)
        return float(run.t[-1]), float(run.y[0, -1])

    wave = math.asin(1.0 / mach)
    shock = brentq(lambda b: flow(b)[0] - half, wave + 1e-8, wave + math.radians(25.0), xtol=1e-12)
    along = flow(shock)[1]
    surface = math.sqrt(5.0 / (1.0 / along**2 - 1.0))
    sine = (mach * math.sin(shock)) ** 2
    rise = (7.0 * sine - 1.0) / 6.0
    total = rise ** (-2.5) * (6.0 * sine / (sine + 5.0)) ** 3.5
    ratio = total * ((1.0 + 0.2 * mach**2) / (1.0 + 0.2 * surface**2)) ** 3.5
    return (ratio - 1.0) / (0.7 * mach**2)


@pytest.mark.parametrize("mach", [1.5, 1.8, 2.3, 3.0])
@pytest.mark.parametrize("half_deg", [5.0, 9.0, 14.0, 20.0])
def test_cones_agree_with_another_integrator(mach: float, half_deg: float) -> None:
    half = math.radians(half_deg)
    found = float(gas_dynamics.cone(mach, half).coefficient[0])
    assert found == pytest.approx(cone_by_scipy(mach, half), rel=1e-3)


def test_a_cone_too_blunt_for_its_speed_is_detached() -> None:
    assert np.isnan(gas_dynamics.cone(1.5, np.radians(45.0)).coefficient).all()


def test_the_coast_is_what_an_integrator_makes_of_it_and_ends_where_stated() -> None:
    k = drag_to(260.0, 1100.0)
    flown = ascent(260.0, 2.5, 1.5, k, 2.0)
    top = int(np.argmax(flown.height))
    start = 2.5 + 1.5
    assert flown.height[top] == pytest.approx(260.0 * (1.25 + 1.5) + 1100.0, rel=1e-9)
    run = solve_ivp(
        lambda _, y: [y[1], -GRAVITY - k * y[1] ** 2],
        [0.0, flown.times[top] - start],
        [260.0 * 2.75, 260.0],
        rtol=1e-10,
        atol=1e-9,
    )
    assert run.y[0, -1] == pytest.approx(flown.height[top], rel=1e-7)
    assert abs(run.y[1, -1]) < 1e-5


def test_no_drag_lifts_a_coast_beyond_what_speed_gives() -> None:
    assert drag_to(100.0, 600.0) == 0.0


def test_a_wall_under_a_film_that_stays_is_what_the_modes_give() -> None:
    radii = graded([0.05], [0.0516], 6)
    grid = Grid(radii, np.full((1, 6), 0.3), np.full((1, 6), 1.8e6))
    times = np.linspace(0.0, 12.0, 241)
    start = np.full((1, 6), 300.0)
    ones = np.ones((len(times), 1))
    course = driven(grid, times, 700.0 * ones, 400.0 * ones, start)
    exact = modal(grid, 700.0).after(start, times[1:], 400.0)
    assert np.abs(course.cells[1:] - exact).max() < 0.12  # K of 100: q is straight in a step
    finer = np.linspace(0.0, 12.0, 2401)
    ones = np.ones((len(finer), 1))
    again = driven(grid, finer, 700.0 * ones, 400.0 * ones, start)
    assert np.abs(again.cells[10::10] - exact).max() < 0.004


def test_heat_that_went_through_the_surface_is_in_the_wall() -> None:
    radii = graded([0.05], [0.0516], 6)
    grid = Grid(radii, np.full((1, 6), 0.3), np.full((1, 6), 1.8e6))
    times = np.linspace(0.0, 20.0, 801)
    film = 300.0 + 900.0 * np.sin(0.4 * times)[:, None] ** 2
    outside = 320.0 + 90.0 * np.exp(-(((times - 6.0) / 3.0) ** 2))[:, None]
    course = driven(grid, times, film, outside, np.full((1, 6), 300.0))
    q = 2.0 * np.pi * 0.0516 * film * (outside - course.surface)
    taken = np.cumsum(0.5 * (q[1:, 0] + q[:-1, 0]) * np.diff(times))
    held = (grid.capacity * (course.cells[1:, 0] - 300.0)).sum(-1)
    assert held == pytest.approx(taken, rel=2e-3, abs=1.0)


def test_the_sun_is_balanced_by_what_is_lost() -> None:
    found = sunned(1000.0, 300.0, 1.0, 0.1, 0.95, 0.9, 3.0)
    film = wind(1.0, 0.1, 300.0)
    lost = (film + 3.0) * (found.hottest - 300.0) - 3.0 * (found.mean - 300.0)
    lost += 0.9 * STEFAN * (found.hottest**4 - 300.0**4)
    assert lost == pytest.approx(950.0, rel=1e-6)
    assert 45.0 < found.hottest - 300.0 < 56.0  # black in light air, common practice, no source


def test_a_point_is_heated_as_the_root_of_its_radius() -> None:
    air = atmosphere(1000.0)
    wide, narrow = (float(stagnation(air, 2.0, r).coefficient) for r in (0.02, 0.005))
    assert narrow == pytest.approx(2.0 * wide, rel=1e-12)


def test_loads_of_the_air_close_to_nought_at_the_free_tip(tmp_path: Path) -> None:
    plan = planned(tmp_path, FAST)
    case, flight, outside = case_of(plan, "peak-angle"), flight_of(plan), plan.stack.outside
    law, tip = plan.shape.pieces[0].law, float(flight.x[0])
    lift = 2.0 * case.dynamic_pressure * case.angle

    def square(x: float) -> float:
        ahead = x < tip  # the separate tip, whose own tip is free
        r = law(np.array([x]))[0][0] if ahead else np.interp(x, outside.x, outside.r)
        return float(np.pi * r**2)

    for at in (0, 20, 50, -1):  # ∫ dA/dx dx from a free tip of no area
        assert case.shear[at] == pytest.approx(lift * square(float(flight.x[at])), rel=1e-9)
    moment = lift * (quad(square, 1e-6, tip)[0] + quad(square, tip, flight.x[-1], limit=400)[0])
    assert case.moment[-1] == pytest.approx(moment, rel=3e-3)
    assert case.moment[0] == pytest.approx(lift * quad(square, 1e-6, tip)[0], rel=3e-3)


def test_inertia_across_takes_off_what_the_mass_weighs(tmp_path: Path) -> None:
    plain = case_of(planned(tmp_path, FAST), "peak-angle")
    plan = planned(tmp_path, FAST + '\nlateral = "30 m/s^2"')
    eased = case_of(plan, "peak-angle")
    flight, made = flight_of(plan), plan.assembly
    inside = (made.x >= flight.x[0] - 1e-6) & (made.x <= flight.x[-1] + 1e-6)
    x, line = made.x[inside], made.mass_per_length[inside]
    steps = 0.5 * (line[1:] + line[:-1]) * np.diff(x)
    arms = flight.x[-1] - 0.5 * (x[1:] + x[:-1])
    mass, moment = steps.sum(), (steps * arms).sum()
    for item in made.items:
        mass += item.mass
        moment += item.mass * (flight.x[-1] - item.x)
    assert plain.shear[-1] - eased.shear[-1] == pytest.approx(30.0 * mass, rel=0.02)
    assert plain.moment[-1] - eased.moment[-1] == pytest.approx(30.0 * moment, rel=0.02)


def test_a_part_that_lands_is_free_at_its_base(tmp_path: Path) -> None:
    case = case_of(planned(tmp_path, SLOW), "landing")
    assert abs(case.axial[-1]) < 1e-6 * abs(case.axial[0])
    assert abs(case.shear[-1]) < 1e-6 * np.abs(case.shear).max()
    assert abs(case.moment[-1]) < 1e-6 * np.abs(case.moment).max()


def test_a_slow_flight_leaves_a_cool_wall(tmp_path: Path) -> None:
    plan = planned(tmp_path, SLOW)
    assert "flight.soft-under-load" not in told(plan)
    hot = case_of(plan, "hottest")
    rise = hot.warmest("mean") - flight_of(plan).start
    assert 0.0 < rise < 8.0  # the air brings at most v²/(2 c_p) = 20 K


def test_mach_1_6_is_told_by_the_physics_with_and_without_hold_and_post_cure(
    tmp_path: Path,
) -> None:
    short, held = planned(tmp_path, FAST), planned(tmp_path, HELD)
    baked = planned(tmp_path, HELD, HOT_CURED)
    for plan in (short, held, baked):
        case = case_of(plan, "max-q")
        assert case.mach == pytest.approx(1.59, abs=0.06)
        assert case.warmest("skin") > case.warmest("mean") > case.warmest("inner")
    warm = [case_of(plan, "hottest").warmest("mean") for plan in (short, held)]
    assert warm[1] > warm[0] + 10.0
    assert [told(plan).get("flight.soft-under-load") for plan in (short, held)] == ["stop"] * 2
    baked_short = planned(tmp_path, FAST, HOT_CURED)
    assert flight_of(baked_short).margin > 0.0 > flight_of(short).margin
    assert told(baked_short).get("flight.soft-under-load") is None
    assert told(baked)["flight.soft-under-load"] == "stop"  # held, most of the load is left


def test_the_sun_alone_stops_a_dark_part_that_was_cured_cold(tmp_path: Path) -> None:
    dark = told(planned(tmp_path, DARK))
    assert dark["flight.soft-in-sun"] == "stop"
    assert "flight.soft-in-sun" not in told(planned(tmp_path, DARK, HOT_CURED))
    white = DARK.replace("black", "white")
    assert "flight.soft-in-sun" not in told(planned(tmp_path, white))
    guessed = told(planned(tmp_path, 'temperature = "28 degC"'))
    assert guessed["flight.soft-in-sun"] == "caution"


def test_the_sun_is_as_doubtful_as_draws_of_sun_wind_and_colour(tmp_path: Path) -> None:
    """What the job states is not doubted: with sun and wind told only the colour is left."""
    flight = flight_of(planned(tmp_path, DARK))
    rng, temperature = np.random.default_rng(5), 301.15
    size = float(2.0 * 0.5 * 0.10221)

    def drawn(sun: float, wind: float) -> float:
        colour = rng.normal(0.95, 0.02, 400)
        suns, winds = rng.normal(1000.0, sun, 400), np.maximum(rng.normal(1.0, wind, 400), 0.0)
        hot = [
            sunned(s, temperature, w, size, a, 0.9, 3.0).hottest
            for s, w, a in zip(suns, winds, colour, strict=True)
        ]
        return float(np.std(hot))

    assert flight.sun_spread == pytest.approx(drawn(70.0, 0.5), rel=0.25)
    told = flight_of(planned(tmp_path, DARK + '\nsun = "1000 W/m^2"\nwind = "1 m/s"'))
    assert told.sun_spread == pytest.approx(drawn(0.0, 0.0), rel=0.15)
    hottest, sun = case_of(planned(tmp_path, DARK), "sun"), flight.case("handling")
    assert flight.mean_spread(hottest) == pytest.approx(flight.sun_spread)
    assert sun is not None
    assert flight.mean_spread(sun) == 0.0


def logged(folder: Path, late: float, shuffle: bool = False) -> Plan:
    """Mach 1.6 for a moment; the gust ``late`` seconds after top speed."""
    t = np.linspace(0.0, 16.0, 1601)
    v = np.where(t < 4.0, 136.0 * t, 544.0 * np.exp(-(t - 4.0) / 2.0))
    h = np.concatenate(([0.0], np.cumsum(0.5 * (v[1:] + v[:-1]) * np.diff(t))))
    alpha = 6.0 * np.exp(-(((t - 4.0 - late) / 0.2) ** 2))
    rows = np.column_stack((t, 3.6 * v, h, alpha))
    if shuffle:
        rows = np.concatenate((rows[800:], rows[:810]))
    lines = [",".join(f"{value:.5f}" for value in row) for row in rows]
    (folder / "flight.csv").write_text("# log\nt,v,h,alpha\n" + "\n".join(lines) + "\n")
    return planned(
        folder, 'colour = "white"\n' + HISTORY, 'glass_transition = "66 degC +- 2 degC"\n'
    )


def test_the_verdict_turns_when_the_peaks_move_apart(tmp_path: Path) -> None:
    together, apart = logged(tmp_path, -1.0), logged(tmp_path, 2.0)
    first, second = (case_of(plan, "peak-angle") for plan in (together, apart))
    assert case_of(together, "max-q").time == case_of(apart, "max-q").time
    assert first.time == pytest.approx(3.0, abs=0.25)
    assert second.time == pytest.approx(6.0, abs=0.25)
    assert second.warmest("mean") > first.warmest("mean") + 10.0
    assert "flight.soft-under-load" not in told(together)
    assert told(apart)["flight.soft-under-load"] == "stop"


def test_rows_out_of_order_are_the_same_flight(tmp_path: Path) -> None:
    straight, mixed = logged(tmp_path, 1.0), logged(tmp_path, 1.0, shuffle=True)
    for name in ("max-q", "peak-angle", "hottest"):
        assert case_of(mixed, name).axial == pytest.approx(case_of(straight, name).axial, rel=1e-9)
    track = mixed.job.track
    assert isinstance(track, Track)
    assert (track.moved, track.doubled) == (1, 10)
    assert told(mixed)["flight.history-mended"] == "note"


def with_table(folder: Path, content: str) -> Track:
    (folder / "flight.csv").write_text(content)
    path = folder / "job.toml"
    path.write_text(NOSE.replace(STATED, HISTORY), "utf-8")
    track = read_job(path).track
    assert track is not None
    return track


def test_gaps_and_empty_cells_are_drawn_straight_and_told(tmp_path: Path) -> None:
    rows = [f"{0.1 * i:.1f};{36 * i};{10 * i};" for i in range(40)]
    rows[5] = "0.5;;50;0.2"
    rows = rows[:20] + rows[35:]
    with_angles = [row + "1" if row.endswith(";") else row for row in rows]
    track = with_table(tmp_path, "t;v;h;alpha\n" + "\n".join(with_angles))
    assert track.filled == 1
    assert track.speed[5] == pytest.approx(50.0)
    assert len(track.gaps) == 1
    assert track.gaps[0] == pytest.approx((1.9, 3.5))


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("t,v,h,alpha\n0,1,2,3\n1,2,oops,4\n2,3,4,5\n", ("row 3", "column h", '"oops"')),
        ("t,v,h,alpha\n0,1,2,3\n1,2,4\n2,3,4,5\n", ("row 3", "3 values for 4 columns")),
        ("t,v,h,alpha\n0,1,2,3\n1,90000,4,5\n2,3,4,5\n", ("row 3", "column v", "outside")),
        ("t,v,h\n0,1,2\n", ('"alpha" not at all',)),
        ("t,v,h,alpha\n0,1,2,3\n", ("1 rows",)),
        ("t,v,h,alpha\n0,1,2,3\n1,inf,4,5\n2,3,4,5\n", ("row 3", "column v")),
        ("", ("is empty",)),
    ],
)
def test_a_broken_history_names_row_and_column(
    tmp_path: Path, content: str, words: tuple[str, ...]
) -> None:
    with pytest.raises(JobError) as caught:
        with_table(tmp_path, content)
    (problem,) = caught.value.problems
    assert problem.field.startswith("flight.history")
    for word in words:
        assert word in problem.limit
