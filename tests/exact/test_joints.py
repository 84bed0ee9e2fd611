"""Glue, pins, holes and vents against closed forms, an integrated flow, and what moves them."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import solve_bvp, solve_ivp

from mandrelwright.findings.finding import Finding, Level
from mandrelwright.job.assembly import Assembly as Stated
from mandrelwright.job.read import library_of, read_job
from mandrelwright.physics import joints as physics
from mandrelwright.physics.atmosphere import atmosphere
from mandrelwright.plan import Plan, make_plan
from mandrelwright.quantities import Quantity
from mandrelwright.stages.edge import hang_on_edge
from mandrelwright.stages.joint_checks import check_joints
from mandrelwright.stages.joints import Joints, join

EXAMPLES = Path(__file__).parents[2] / "examples"


def made(name: str) -> Plan:
    job = read_job(EXAMPLES / f"{name}.toml")
    return make_plan(job, library_of(job))


@pytest.fixture(scope="module")
def nose() -> Plan:
    return made("plover-nose")


@pytest.fixture(scope="module")
def transition() -> Plan:
    return made("plover-transition")


def rejoined(plan: Plan, **changes: object) -> Joints:
    """The joints again with some keys of [assembly] stated otherwise."""
    assert plan.job.assembly is not None
    told = {key: getattr(plan.job.assembly, key) for key in Stated.model_fields}
    fresh = Stated.model_construct(**{**told, **changes})
    job = plan.job.model_copy(update={"assembly": fresh})
    return join(
        job, plan.shape, plan.stack, plan.wall, plan.fit, plan.assembly, plan.flight, plan.library
    )


def found(plan: Plan, joints: Joints) -> dict[str, Finding]:
    told = check_joints(plan.shape, plan.stack, plan.assembly, joints, plan.library)
    return {item.id: item for item in told}


def test_air_shut_in_at_three_kilometres_pushes_a_98_mm_nose_off() -> None:
    """U.S. Standard Atmosphere 1976 at 3 km: 70.12 kPa (from memory), so 31.2 kPa on 75.4 cm²."""
    lost = float(atmosphere(0.0).pressure - atmosphere(3000.0).pressure)
    assert lost == pytest.approx(101325.0 - 70121.0, rel=1e-4)
    assert lost * math.pi * 0.098**2 / 4.0 == pytest.approx(235.4, abs=0.1)


def test_roots_of_metric_threads_are_those_of_tables() -> None:
    """ISO 724/965 tables of d3 (from memory): M2 1.509, M2.5 1.948, M3 2.387, M4 3.141 mm."""
    sizes = {2.0: (0.40, 1.509), 2.5: (0.45, 1.948), 3.0: (0.50, 2.387), 4.0: (0.70, 3.141)}
    for diameter, (pitch, root) in sizes.items():
        assert float(physics.thread_root(diameter, pitch)) == pytest.approx(root, abs=6e-4)


@pytest.mark.parametrize("second", [2e7, 6e7])
def test_the_peak_of_a_lap_is_that_of_its_differential_equation(second: float) -> None:
    """dN1/dx = −τ, τ' = (G/η)(N2/k2 − N1/k1), N1 + N2 = F, solved as a boundary-value problem."""
    length, glue, shear, first = 0.03, 0.2e-3, 0.5e9, 2e7

    def slopes(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        force, stress = y
        return np.array([-stress, shear / glue * ((1.0 - force) / second - force / first)])

    x = np.linspace(0.0, length, 401)
    guess = np.array([1.0 - x / length, np.full_like(x, 1.0 / length)])
    done = solve_bvp(slopes, lambda a, b: np.array([a[0] - 1.0, b[0]]), x, guess, tol=1e-6)
    assert done.success
    peak = float(np.max(np.abs(done.y[1]))) * length
    closed = float(physics.peak_share(length, glue, shear, first, second))
    assert closed == pytest.approx(peak, rel=1e-4)


def test_a_short_lap_has_no_peak() -> None:
    assert float(physics.peak_share(1e-5, 1e-3, 0.5e9, 2e7, 2e7)) == pytest.approx(1.0, rel=1e-5)


def test_a_vent_lags_as_an_integrated_flow_does() -> None:
    """Isothermal air leaving through an orifice while the outside falls by ρ g v a second."""
    volume, area, discharge, speed = 2.2e-3, math.pi * 2e-3**2, 0.6, 260.0
    air = atmosphere(500.0)
    density, pressure = float(air.density), float(air.pressure)
    rate = density * 9.80665 * speed
    gas = pressure / density

    def flow(time: float, state: np.ndarray) -> list[float]:
        outside = pressure - rate * time
        lag = max(state[0] - outside, 0.0)
        leaves = discharge * area * math.sqrt(2.0 * state[0] / gas * lag)
        return [-leaves * gas / volume]

    end = 0.2
    done = solve_ivp(flow, (0.0, end), [pressure], rtol=1e-9, atol=1e-6, max_step=1e-3)
    lag = float(done.y[0, -1]) - (pressure - rate * end)
    closed = float(physics.vent_lag(volume, area, discharge, speed, density, pressure))
    assert closed == pytest.approx(lag, rel=0.03)  # air and outside thin out meanwhile


def test_strengths_are_those_of_their_areas(nose: Plan) -> None:
    pins = nose.joints.pins
    assert pins is not None
    root = 2.0e-3 - 1.22687 * 0.4e-3
    assert pins.hold == pytest.approx(2.0 * math.pi * root**2 / 4.0 * 68e6, rel=1e-6)
    assert pins.crush == pytest.approx(2.0 * 2e-3 * pins.wall * 250e6, rel=1e-9)
    assert pins.tear == pytest.approx(2.0 * 2.0 * 19e-3 * pins.wall * 60e6, rel=1e-9)
    assert pins.ejection == pytest.approx(100e3 * math.pi * 99.03e-3**2 / 4.0, rel=1e-6)


def test_without_a_hole_the_air_of_the_site_stays_in(nose: Plan) -> None:
    shut = rejoined(nose, vent=None)
    assert nose.flight is not None
    assert nose.flight.course is not None
    assert shut.vent is not None
    assert shut.pins is not None
    top = float(nose.flight.course.height.max())
    lost = float(atmosphere(0.0).pressure - atmosphere(top).pressure)
    assert shut.vent.lag == pytest.approx(lost, rel=1e-3)
    assert shut.pins.trapped == pytest.approx(lost * math.pi * 99.03e-3**2 / 4.0, rel=0.02)
    assert found(nose, shut)["joints.unvented"].level is Level.CAUTION
    assert "joints.unvented" not in found(nose, nose.joints)


def test_the_hole_that_is_asked_for_keeps_the_lag_small(nose: Plan) -> None:
    assert nose.job.assembly is not None
    assert nose.joints.vent is not None
    assert nose.job.assembly.vent is not None
    hole = nose.job.assembly.vent.diameter._replace(value=nose.joints.vent.wanted)
    wanted = nose.job.assembly.vent.model_copy(update={"diameter": hole})
    vent = rejoined(nose, vent=wanted).vent
    assert vent is not None
    assert vent.lag == pytest.approx(500.0, rel=1e-6)


def test_pins_weak_strong_and_near_the_edge_are_told(nose: Plan) -> None:
    assert nose.job.assembly is not None
    pins = nose.job.assembly.pins
    assert pins is not None
    thin = pins.model_copy(update={"count": 1, "material": "polystyrene"})
    early = found(nose, rejoined(nose, pins=thin, vent=None))
    assert early["joints.pins-shear-early"].level is Level.STOP
    thick = pins.model_copy(update={"count": 12, "thread": "M4"})
    late = found(nose, rejoined(nose, pins=thick))
    assert late["joints.pins-hold-on"].level is Level.STOP
    near = pins.model_copy(update={"edge": pins.edge._replace(value=2.5e-3)})
    close = found(nose, rejoined(nose, pins=near))
    assert "joints.edge-close" in close


def test_the_wall_must_not_give_way_before_the_pins(nose: Plan) -> None:
    pins = nose.joints.pins
    assert pins is not None
    thin = replace(nose.joints, pins=replace(pins, crush=pins.hold, crush_spread=0.0))
    assert found(nose, thin)["joints.tears-first"].level is Level.STOP
    assert "joints.tears-first" not in found(nose, nose.joints)


def test_a_bond_has_its_area_and_loses_strength_when_warm(transition: Plan) -> None:
    bond = transition.joints.bond
    assert bond is not None
    assert transition.flight is not None
    assert bond.area == pytest.approx(math.pi * 99.03e-3 * 95e-3, rel=1e-6)
    assert bond.case == "ejection"
    mean = abs(bond.force) / bond.area
    assert bond.stress == pytest.approx(mean * bond.peak_share, rel=1e-9)
    assert "joints.abrade" in found(transition, transition.joints)
    hot = [
        replace(case, bond=np.full_like(case.bond, 338.15), axial=2.0 * case.axial)
        for case in transition.flight.cases
    ]
    warm = replace(transition, flight=replace(transition.flight, cases=tuple(hot)))
    told = rejoined(warm)
    assert told.bond is not None
    assert told.bond.reserve < 0.2 * bond.reserve
    assert found(warm, told)["joints.bond-weak"].level is Level.STOP


def test_the_edge_bears_what_its_area_and_planes_do(nose: Plan) -> None:
    """m a of all that hangs on the cord; w t σ_b and 2 w t τ as much as the warm resin keeps."""
    edge = nose.joints.edge
    assert edge is not None
    assert nose.flight is not None
    assert edge.force == pytest.approx(nose.assembly.mass * 50.0 * 9.80665, rel=2e-3)
    practice = nose.library.practice["joints"]
    taut = nose.flight.case("zippering")
    assert taut is not None
    kept = ((nose.flight.glass - taut.mean[-1]) / (nose.flight.glass - 293.15)) ** 0.5
    wall = float(nose.stack.thickness[:, nose.flight.nodes[-1]].sum())
    tear = 2.0 * 10e-3 * wall * practice["tear_out"].value * kept
    assert edge.tear == pytest.approx(tear, rel=1e-3)
    assert edge.cut == pytest.approx(10e-3 * wall * practice["bearing"].value * kept, rel=1e-3)
    assert edge.factor == pytest.approx(tear / edge.force, rel=1e-3)
    doubt = math.hypot(15.0 / 60.0, 5.0 / 10.0, 20.0 / 50.0)  # shear, width, deceleration
    assert edge.factor_spread / edge.factor == pytest.approx(doubt, rel=1e-6)


def test_a_thin_cord_on_a_hard_jerk_may_cut_into_the_edge(nose: Plan) -> None:
    assert nose.job.flight is not None
    assert nose.flight is not None
    assert "joints.zippers" not in found(nose, nose.joints)
    flight = nose.job.flight.model_copy(update={"cord": Quantity(4e-3, 0.5e-3)})
    job = nose.job.model_copy(update={"flight": flight})
    edge = hang_on_edge(job, nose.shape, nose.stack, nose.flight, nose.library)
    assert edge is not None
    told = found(nose, replace(nose.joints, edge=edge))["joints.zippers"]
    assert told.level is Level.CAUTION
    assert "4 mm of edge" in told.what
    assert any("strap" in remedy for remedy in told.do)


def test_a_cord_past_a_glued_coupler_does_not_meet_the_wall(transition: Plan) -> None:
    assert transition.joints.edge is None
    assert rejoined(transition, bond=None).edge is not None


def test_metal_on_carbon_is_told_until_it_is_isolated(transition: Plan, nose: Plan) -> None:
    told = found(transition, transition.joints)
    assert "bulkhead with eye bolt" in told["joints.metal-on-carbon"].what
    items = tuple(replace(item, isolated=True) for item in transition.assembly.items)
    safe = replace(transition, assembly=replace(transition.assembly, items=items))
    assert "joints.metal-on-carbon" not in found(safe, safe.joints)
    assert "joints.metal-on-carbon" not in found(nose, nose.joints)  # glass


def test_coats_over_a_flush_fit_are_told(nose: Plan) -> None:
    """Fill ends 5 mm from the base, where the fit with the airframe begins; two coats go on."""
    assert "0.12 ± 0.03 mm" in found(nose, nose.joints)["joints.coats-at-flush"].what
