"""Release: forces against closed forms, tables against the wall itself, odds against draws."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import numpy as np
import pytest
from numpy.typing import NDArray

from mandrelwright import plan_job
from mandrelwright.physics import contact, membrane
from mandrelwright.plan import Plan
from mandrelwright.stages import release_checks, sequences
from mandrelwright.stages.chain import Chain
from mandrelwright.stages.seat import CHAIN, _exact, pick_places, seat_part
from mandrelwright.stages.wall import read_constituents
from tests import jobs
from tests.exact.test_contact_elements import BRAIDS, PLASTIC, POISSON, Braid, R, braid
from tests.property.test_release_practice import FREEZER, judged, planned, tube_job

Array = NDArray[np.float64]

LENGTH = 0.38
ENDS: tuple[Literal["tip", "base"], ...] = ("tip", "base")
EXAMPLES = "examples/plover-nose.toml", "examples/plover-transition.toml"


def tube(made: Braid, count: int) -> membrane.Seat:
    one = np.ones(count)
    shell = contact.Shell(*(one * value for value in vars(made.shell).values()))
    core = contact.core(R * one, 0.0, PLASTIC, POISSON)
    rigid = contact.Core(core.compliance, 0.0 * one, core.poisson, core.filling)
    return membrane.Seat(np.linspace(0.0, LENGTH, count), R * one, 0.0 * one, one, shell, rigid)


def thin(made: Braid) -> Braid:
    """The same compliances in no thickness."""
    return replace(
        made, shell=replace(made.shell, thickness=np.array(1e-9), hoop_radial=np.zeros(()))
    )


@pytest.mark.parametrize("friction", [0.05, 0.15, 0.35])
@pytest.mark.parametrize(("fibre", "degrees"), BRAIDS)
def test_forces_meet_the_closed_forms(fibre: str, degrees: float, friction: float) -> None:
    """Pull and push of a cylinder of any braid, its wall as stiff but so thin as they take it."""
    made, delta = thin(braid(fibre, degrees)), 20e-6
    seat = tube(made, 401)
    p = float(contact.sliding_pressure(delta, R, made.shell, contact.core(R, 0, PLASTIC, POISSON)))
    k = contact.finger_trap(friction, R, made.shell, contact.core(R, 0, PLASTIC, POISSON))
    one = np.ones(401)
    for held, closed in zip(ENDS, (contact.pulling_force, contact.pushing_force), strict=True):
        force = membrane.grip(seat, delta * one, 0.0 * one, friction, held).force
        assert force == pytest.approx(float(closed(p, friction, R, LENGTH, k)), rel=5e-3)


def test_pulling_over_pushing() -> None:
    """e^(kL): carbon at 45° on 0.38 m takes 2.4 times at μ 0.15 and 7.8 at 0.35 (derived)."""
    made, core = braid("carbon", 45.0), contact.core(R, 0.0, PLASTIC, POISSON)
    for friction, ratio in ((0.15, 2.4), (0.35, 7.8)):
        k = contact.finger_trap(friction, R, made.shell, core)
        pull, push = (
            force(1e5, friction, R, LENGTH, k)
            for force in (contact.pulling_force, contact.pushing_force)
        )
        assert pull / push == pytest.approx(float(np.exp(k * LENGTH)), rel=1e-12)
        assert pull / push == pytest.approx(ratio, rel=0.1)


def test_a_frictionless_slope_lets_itself_off() -> None:
    assert contact.lets_itself_off(np.sin(0.2), np.cos(0.2), 0.15)
    assert not contact.lets_itself_off(np.sin(0.1), np.cos(0.1), 0.15)
    assert contact.taper_force(1e5, 0.15, 0.1, 0.2, out=True) < 0.0


def test_stuck_braids_press_two_to_seven_times_as_hard() -> None:
    """Carbon 30° and 45°, glass 45° on solid plastic (derived)."""
    core = contact.core(R, 0.0, PLASTIC, POISSON)
    for fibre, degrees, ratio in (
        ("carbon", 30.0, 6.0),
        ("carbon", 45.0, 4.9),
        ("glass", 45.0, 2.6),
    ):
        made = braid(fibre, degrees)
        axial, hoop, radial = made.expansion * 10.0
        delta = contact.mismatch(R, made.shell.thickness, 680e-6, hoop, radial)
        p, _ = contact.stuck(680e-6 - hoop, 680e-6 - axial, R, made.shell, core)
        sliding = contact.sliding_pressure(delta, R, made.shell, core)
        assert p / sliding == pytest.approx(ratio, rel=0.25)


def test_vacuum_on_98_mm_is_765_newtons() -> None:
    """One atmosphere on 98 mm (derived)."""
    assert contact.vacuum_force(0.049) == pytest.approx(765.0, rel=2e-3)


@pytest.fixture(scope="module", params=EXAMPLES)
def plan(request: pytest.FixtureRequest) -> Plan:
    return plan_job(request.param)


def test_the_tabulated_wall_is_the_wall(plan: Plan) -> None:
    """Within 0.5 % of the largest, up to two and a half standard uncertainties out."""
    stack, chain = plan.stack, plan.fit.chain
    parts = read_constituents(plan.job, stack.layers, plan.library)
    nodes = pick_places(stack, 12)
    rows = [chain.index(name) for name in ("fibre fraction", "braid angle")]
    spread = np.sqrt(np.diag(chain.covariance))[rows]
    names = release_rows(chain)
    seats = seat_part(plan.job, stack, parts, nodes, names[0], names[1], plan.library)
    for away in ((0.0, 0.0), (2.5, -2.5), (-2.0, 2.5)):
        drawn = names[0][None].copy()
        drawn[0, 2:4] += np.array(away) * spread
        told = seats.wall(drawn)
        exact = _exact(stack, parts, nodes, drawn[:, 2], drawn[:, 3])
        exact[:, 0] *= stack.fibre_fraction / drawn[0, 2]
        scale = np.abs(exact).max(axis=-1, keepdims=True)
        assert np.abs((told - exact) / scale).max() < 5e-3


def release_rows(chain: Chain) -> tuple[Array, Array]:
    """Means and spreads of what the release takes over from the chain."""
    rows = [chain.index(name) for name in CHAIN]
    return chain.mean[rows], np.sqrt(np.diag(chain.covariance))[rows]


def test_draws_and_first_order_agree(plan: Plan) -> None:
    found = plan.release
    assert found is not None
    first_order = 0.5 * (1.0 + np.tanh(0.8 * found.margin / found.doubt))  # a normal, within 2 %
    assert found.odds == pytest.approx(first_order, abs=0.06)
    assert sum(share for _, share in found.blame) == pytest.approx(1.0, abs=1e-3)


def test_the_mildest_that_suffices_is_taken(plan: Plan) -> None:
    found = plan.release
    assert found is not None
    longer = [step.lasts for step in found.steps if step.medium == "freezer"]
    assert found.odds > 0.8
    assert longer[0] <= 7200.0
    assert release_checks.comes_off(found) == plan.verdict.comes_off == "yes"


@pytest.mark.parametrize("soluble", [True, False])
@pytest.mark.parametrize("most", [400.0, 305.0, 290.0])
def test_sequences_come_mildest_first_and_never_too_warm(soluble: bool, most: float) -> None:
    """Every step of the search is at least as hard as the one before it, in kelvin then hours."""
    tried = sequences.mildest_first(295.15, most, soluble)
    hard = [sequences.hardship(steps, 295.15) for steps in tried]
    assert hard == sorted(hard)
    assert tried[0] == sequences.untouched(295.15)
    assert max(step.temperature for steps in tried for step in steps) <= max(most, 295.15)
    soaks = [steps for steps in tried if len(steps) == 1 and steps[0].medium == "water"]
    assert len(soaks) == (2 if soluble else 0)


def test_cold_water_comes_before_a_freezer_and_does_where_little_is_needed() -> None:
    found = plan_job("examples/dunlin-tube.toml").release
    assert found is not None
    assert [step.medium for step in found.steps] == ["water", "air"]
    assert found.steps[0].temperature == sequences.COLD_WATER
    assert found.odds > 0.9 > found.odds_as_it_stands


def test_water_takes_the_film_from_the_open_ends() -> None:
    """After 4 h the ends have gained the film's 20 µm, the middle of 400 mm nothing yet."""
    short, long = (
        judged(tube_job(50.0, [{"stay": stay, "at": "22 degC", "in": "water"}]))
        for stay in ("4 h", "40 h")
    )
    gained = short.gap[-1] - short.gap[0]
    assert gained[[0, -1]] == pytest.approx(20e-6, rel=1e-6)
    assert abs(gained[len(gained) // 2]) < 1e-9
    assert long.gap[-1] - long.gap[0] == pytest.approx(20e-6, rel=1e-6)
    assert long.margin == pytest.approx(short.margin + 20e-6, abs=4e-6)


def test_a_soak_frees_only_where_water_dissolves_the_film() -> None:
    """A short part that grips by less than its film: soaked off, where the film dissolves."""
    data = {**tube_job(50.0, [], plastic="PLA"), "section": [jobs.tube(200.0, 102.0)]}
    wet, dry = (
        judged({**data, "release": {"system": name, "film": "60 um +- 5 um"}})
        for name in ("wax and PVA film", "polyester film wrap")
    )
    assert [(step.medium, step.temperature) for step in wet.steps] == [("water", 295.15)]
    assert wet.odds > 0.9 > wet.odds_as_it_stands
    assert all(step.temperature < 295.15 for step in dry.steps[:1])


def test_thresholds_are_told_where_the_input_may_lie(plan: Plan) -> None:
    """Nine in ten come free: no value of one input near its mean turns that round."""
    assert plan.release is not None
    assert plan.release.deciding is None


def test_near_a_sign_change_the_angle_decides() -> None:
    found = judged(tube_job(40.0, [{"stay": "16 h", **FREEZER}], plastic="PLA"))
    assert 0.05 < found.odds < 0.95
    decides = found.deciding
    assert decides is not None
    assert decides.name == "braid angle"
    nine = np.radians(9.0)  # three of its standard uncertainties
    assert decides.now - nine < decides.grips < decides.frees < decides.now + nine


def test_stated_steps_are_followed() -> None:
    steps = [{"stay": "3 h", **FREEZER}, {"stay": "20 min", "at": "shop"}]
    found = judged(tube_job(50.0, steps))
    assert [(step.lasts, step.medium) for step in found.steps] == [
        (10800.0, "freezer"),
        (1200.0, "air"),
    ]
    assert found.stated
    assert found.moments.times[-1] == pytest.approx(12000.0)


def test_a_closed_tip_draws_a_vacuum() -> None:
    ids = {finding.id for finding in planned(tube_job(50.0, [])).findings}
    assert "release.vacuum" not in ids
    data = jobs.raw(section=[jobs.nose("von Karman", 400, 102, "pointed"), jobs.tube(100, 102)])
    data["layer"][0]["from"] = {"diameter": "38 mm"}
    ids = {finding.id for finding in jobs.plan_of(data, 120).findings}
    assert "release.vacuum" in ids


def test_water_dissolves_the_film() -> None:
    steps = [{"stay": "2 h", "at": "30 degC", "in": "water"}]
    ids = {finding.id for finding in planned(tube_job(50.0, steps)).findings}
    assert "release.film-dissolves" in ids
