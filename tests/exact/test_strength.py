"""First failure of a plan: closed forms of cylinder and cone, what heat takes, what is told."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from mandrelwright.findings.finding import Level
from mandrelwright.job.read import library_of, read_job
from mandrelwright.physics import local_buckling
from mandrelwright.physics.strength import MODES
from mandrelwright.plan import Plan, make_plan
from mandrelwright.quantities import Quantity
from mandrelwright.stages.flight import Case, Flight
from mandrelwright.stages.strength import Strength, fraction_spread, judge_strength
from mandrelwright.stages.strength_checks import check_strength
from mandrelwright.stages.wall import read_constituents
from mandrelwright.stages.warm_wall import PLY

from ..jobs import plan_of, raw

EXAMPLES = Path(__file__).parents[2] / "examples"
Array = NDArray[np.float64]
COLD = 293.15


@pytest.fixture(scope="module")
def transition() -> Plan:
    job = read_job(EXAMPLES / "plover-transition.toml")
    return make_plan(job, library_of(job))


@pytest.fixture(scope="module")
def nose() -> Plan:
    job = read_job(EXAMPLES / "plover-nose.toml")
    return make_plan(job, library_of(job))


def loaded(
    plan: Plan,
    kelvin: float = COLD,
    axial: float = 0.0,
    moment: float = 0.0,
    pressure: float = 0.0,
    time: float | None = None,
) -> Strength:
    """The strength under one even load, evenly warm."""
    assert plan.flight is not None
    even = np.ones_like(plan.flight.x)
    case: Case = replace(
        plan.flight.cases[0], id="test", name="test", time=time,
        axial=axial * even, moment=moment * even, shear=0.0 * even, pressure=pressure * even,
        skin=kelvin * even, mean=kelvin * even, inner=kelvin * even, bond=kelvin * even,
    )  # fmt: skip
    flight = replace(plan.flight, cases=(case,))
    parts = read_constituents(plan.job, plan.stack.layers, plan.library)
    made = judge_strength(plan.job, plan.stack, parts, plan.cure, flight, plan.library)
    assert made is not None
    return made


def flight_at(plan: Plan, kelvin: float) -> Flight:
    """The flight with one case of this warmth."""
    assert plan.flight is not None
    even = np.full_like(plan.flight.x, kelvin)
    return replace(plan.flight, cases=(replace(plan.flight.cases[0], id="test", mean=even),))


def closed_form(plan: Plan, along: float, around: float, node: int) -> float:
    """Load factor of the first ply of a wall of ±θ pairs, cold, with what cure left in it.

    Independent of the program's laminate: plane stress by transformation matrices in the test,
    each ply carrying its own Q, the wall their sum over thickness; Schapery's strains by hand.
    """
    stack, library = plan.stack, plan.library
    (name,) = {layer.textile.fibre for layer in stack.layers}
    fibre, resin = library.fibres[name], library.resins[plan.job.resin.name]
    V, k = stack.fibre_fraction, library.practice["braid"]["crimp_stiffness"].value

    def halpin(f: float, m: float, xi: float) -> float:
        eta = (f - m) / (f + xi * m)
        return m * (1.0 + xi * eta * V) / (1.0 - eta * V)

    Em, nu = resin["modulus"].value, resin["poisson"].value
    E1 = k * (fibre["modulus_along"].value * V + Em * (1.0 - V))
    E2 = halpin(fibre["modulus_across"].value, Em, 2.0)
    G = halpin(fibre["shear_modulus"].value, Em / 2.0 / (1.0 + nu), 1.0)
    nu12 = fibre["poisson"].value * V + nu * (1.0 - V)
    S = np.array([[1 / E1, -nu12 / E1, 0.0], [-nu12 / E1, 1 / E2, 0.0], [0.0, 0.0, 1 / G]])
    Q, A = np.linalg.inv(S), np.zeros((3, 3))
    plies = [
        (sign * stack.angle[n, node], 0.5 * stack.thickness[n, node])
        for n in range(len(stack.layers)) for sign in (1, -1)
    ]  # fmt: skip
    rise, kept = COLD - plan.cure.set_temperature, plan.cure.share_kept
    Ef, af1, af2, am = (fibre["modulus_along"].value, fibre["expansion_along"].value,
                        fibre["expansion_across"].value, resin["expansion"].value)  # fmt: skip
    nuf, straight = fibre["poisson"].value, E1 / k
    cure = -resin["cure_shrinkage"].value * kept
    fibre1, fibre2, matrix = af1 * rise, af2 * rise, am * rise + cure
    e1 = (Ef * fibre1 * V + Em * matrix * (1.0 - V)) / straight
    e2 = fibre2 * V + matrix * (1.0 - V)  # and what the sides do by the strain along
    e2 += V * nuf * (fibre1 - e1) + (1.0 - V) * nu * (matrix - e1)
    free, pull = np.array([e1, e2, 0.0]), np.zeros(3)
    for angle, thickness in plies:
        A += thickness * np.linalg.inv(turn(angle)) @ Q @ np.linalg.inv(turn(angle)).T
        pull += thickness * np.linalg.inv(turn(angle)) @ Q @ free
    strain = np.linalg.solve(A, np.array([along, around, 0.0]))
    set_free = np.linalg.solve(A, pull)
    limits = [
        fibre[f"ply_{key}"].value
        for key in (
            "tension_along",
            "compression_along",
            "tension_across",
            "compression_across",
            "shear",
        )
    ]
    share = library.practice["braid"]["crimp_strength"].value * V / fibre["ply_fraction"].value
    limits[0], limits[1] = limits[0] * share, limits[1] * share
    turns = [np.linalg.inv(turn(angle)).T for angle, _ in plies]
    return min(first(Q @ T @ strain, Q @ (T @ set_free - free), limits) for T in turns)


def first(stress: Array, left: Array, limits: list[float]) -> float:
    """Load factor at which any of the three criteria is met, by halving."""
    low, high = 0.0, 1e6
    for _ in range(200):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if met(middle * stress + left, limits) else (middle, high)
    return low


def met(stress: Array, limits: list[float]) -> bool:
    """Whether maximum stress, Tsai-Wu (F12 = -sqrt(F11 F22)/2) or Hashin (S23 = Yc/2) is met."""
    (s1, s2, t), (Xt, Xc, Yt, Yc, S) = stress.tolist(), limits
    shear = (t / S) ** 2
    wu = s1 * (1 / Xt - 1 / Xc) + s2 * (1 / Yt - 1 / Yc) + s1**2 / (Xt * Xc) + s2**2 / (Yt * Yc)
    wu += shear - s1 * s2 / math.sqrt(Xt * Xc * Yt * Yc)
    hashin = (s1 / Xt) ** 2 + shear if s1 > 0.0 else -s1 / Xc
    cracked = (s2 / Yt) ** 2 + shear if s2 >= 0.0 else (s2 / Yc) ** 2 + shear
    single = max(s1 / Xt, -s1 / Xc, s2 / Yt, -s2 / Yc, abs(t) / S)
    return max(wu, hashin, cracked, single) >= 1.0


def turn(angle: float) -> Array:
    """Stress transformation T from part to ply axes."""
    c, s = math.cos(angle), math.sin(angle)
    return np.array(
        [[c * c, s * s, 2 * c * s], [s * s, c * c, -2 * c * s], [-c * s, c * s, c * c - s * s]]
    )


@pytest.mark.parametrize("from_base", [0.05, 0.17])  # a cylinder, a cone
@pytest.mark.parametrize("force", [800.0, -800.0])
def test_first_ply_of_cylinder_and_cone_is_that_of_its_membrane(
    transition: Plan, from_base: float, force: float
) -> None:
    stack, made = transition.stack, loaded(transition, axial=force)
    assert transition.flight is not None
    at = int(np.argmin(np.abs(made.x - (transition.shape.base - from_base))))
    node = int(transition.flight.nodes[at])
    slope = stack.meridian.tangent(stack.outside)
    radius = 0.5 * (stack.r[0] + stack.r[-1])[node]
    along = force / (2.0 * math.pi * radius * slope.cosine[node])
    single = closed_form(transition, float(along), 0.0, node)
    assert made.cracks[at] == pytest.approx(single, rel=1e-9)


def test_bending_is_the_axial_force_that_gives_its_edge_load(transition: Plan) -> None:
    """M/(π r²) along one side is N/(2π r): N = 2 M/r."""
    push, bent = loaded(transition, axial=-600.0), loaded(transition, moment=600.0 * 0.05)
    at = int(np.argmin(np.abs(push.x - (transition.shape.base - 0.05))))
    stack = transition.stack
    assert transition.flight is not None
    radius = 0.5 * (stack.r[0] + stack.r[-1])[transition.flight.nodes[at]]
    pull = loaded(transition, axial=600.0)
    least = min(push.cracks[at], pull.cracks[at])
    assert bent.cracks[at] == pytest.approx(least * radius / (2.0 * 0.05), rel=1e-6)


def test_pressure_on_a_cylinder_fails_at_p_r(transition: Plan) -> None:
    made = loaded(transition, pressure=-100e3)
    at = int(np.argmin(np.abs(made.x - (transition.shape.base - 0.05))))
    assert transition.flight is not None
    node = int(transition.flight.nodes[at])
    radius = 0.5 * (transition.stack.r[0] + transition.stack.r[-1])[node]
    single = closed_form(transition, 0.0, 100e3 * float(radius), node)
    assert made.cracks[at] == pytest.approx(single, rel=1e-9)


@pytest.mark.parametrize("from_base", [0.05, 0.17])
def test_buckling_is_the_classical_load_times_its_share(transition: Plan, from_base: float) -> None:
    """By the wall's own A, B, D cold; the cone here is 4.4° steep and counts as a cylinder."""
    stack, wall, made = transition.stack, transition.wall, loaded(transition, axial=-500.0)
    assert transition.flight is not None
    at = int(np.argmin(np.abs(made.x - (transition.shape.base - from_base))))
    node = int(transition.flight.nodes[at])
    cosine = float(stack.meridian.tangent(stack.outside).cosine[node])
    radius = 0.5 * float((stack.r[0] + stack.r[-1])[node])
    one = slice(node, node + 1)
    A, B, D = wall.A[one], wall.B[one], wall.D[one]
    perfect = local_buckling.axial_load(A, B, D, np.array([radius / cosine]))
    ratio = radius / cosine / local_buckling.equivalent_wall(A, D)
    force = local_buckling.cylinder_share(ratio) * perfect * 2.0 * math.pi * radius * cosine
    assert made.buckles[at] == pytest.approx(float(force[0]) / 500.0, rel=0.02)
    assert not np.isfinite(loaded(transition, axial=500.0).buckles[at])


def test_warmth_takes_strength_and_past_glass_leaves_next_to_none(nose: Plan) -> None:
    assert nose.flight is not None
    cold, warm = loaded(nose, axial=-500.0), loaded(nose, kelvin=313.15, axial=-500.0)
    soft = loaded(nose, kelvin=nose.flight.glass + 5.0, axial=-500.0)
    assert np.nanmin(soft.cracks) < 0.1 * np.nanmin(cold.cracks)
    assert np.nanmin(soft.buckles) < np.nanmin(warm.buckles) < np.nanmin(cold.buckles)
    assert soft.failures[0].kept == pytest.approx(0.01)


def test_every_case_says_where_and_how_it_first_fails(nose: Plan) -> None:
    assert nose.strength is not None
    assert {one.id for one in nose.strength.failures} >= {"handling", "ejection", "landing"}
    for one in nose.strength.failures:
        assert nose.shape.tip - 2e-4 <= one.x <= nose.shape.base + 1e-6
        assert one.how.startswith("buckling") or one.layer in one.how
        assert one.reserve <= one.factor


def test_a_load_beyond_the_wall_is_a_stop_in_flight_and_a_caution_on_the_ground(nose: Plan) -> None:
    assert nose.strength is not None
    assert nose.flight is not None
    for id, level in (("ejection", Level.STOP), ("landing", Level.CAUTION)):
        bad = tuple(
            replace(one, buckles=0.5, alone=0.5) if one.id == id else one
            for one in nose.strength.failures
        )
        strength = replace(nose.strength, failures=bad)
        told = check_strength(nose.shape, strength, nose.flight, nose.library)
        assert next(item for item in told if item.id == "strength.fails").level is level
        assert "strength.first-failure" in {item.id for item in told}


def test_a_fibre_whose_plies_nobody_tested_is_told(nose: Plan) -> None:
    assert nose.strength is not None
    assert nose.flight is not None
    strength = replace(nose.strength, unknown=("basalt",))
    told = check_strength(nose.shape, strength, nose.flight, nose.library)
    assert "basalt" in next(item for item in told if item.id == "strength.not-known").what


def test_a_load_factor_near_the_glass_transition_has_a_wide_spread(nose: Plan) -> None:
    """10 K below by ± 4 K: [(10 − 4)/(30 − 4)]^½ over (10/30)^½ is what one step takes."""
    assert nose.flight is not None
    glass = nose.flight.glass
    cold, warm, near = (
        loaded(nose, kelvin=t, axial=-500.0) for t in (COLD, glass - 10.0, glass - 5.0)
    )
    shares = [one.failures[0].heat_share for one in (cold, warm, near)]
    assert shares[0] < 0.08
    assert shares[2] > shares[1] > 0.2
    one = near.failures[0]
    assert one.buckles_heat < one.buckles_spread
    taken = {
        f.id: f
        for f in check_strength(nose.shape, near, flight_at(nose, glass - 5.0), nose.library)
    }
    assert "5 K ± 4" in taken["strength.near-glass"].what
    quiet = check_strength(nose.shape, cold, flight_at(nose, COLD), nose.library)
    assert "strength.near-glass" not in {f.id for f in quiet}


def test_the_doubt_of_the_glass_transition_is_one_step_of_it(nose: Plan) -> None:
    """What its spread adds to the square is the change of the factor with T_g lower by it."""
    assert nose.flight is not None
    near, sure = nose.flight.glass - 12.0, replace(nose.flight, glass_spread=0.0)
    low = replace(sure, glass=sure.glass - nose.flight.glass_spread)
    doubted, known, moved = (
        loaded(replace(nose, flight=flight), kelvin=near, axial=-500.0).failures[0]
        for flight in (nose.flight, sure, low)
    )
    for spread, factor in (("heat", "cracks"), ("buckles_heat", "buckles")):
        now = getattr(known, factor)
        added = (getattr(doubted, spread) / now) ** 2 - (getattr(known, spread) / now) ** 2
        change = getattr(moved, factor) / now - 1.0
        assert added == pytest.approx(change**2, rel=0.02)


def test_the_doubt_of_the_warmth_is_one_step_of_what_the_flight_brought(nose: Plan) -> None:
    assert nose.flight is not None
    flight, near = replace(nose.flight, sun_spread=0.0), nose.flight.glass - 9.0
    step = flight.heat_doubt * (near - flight.start)
    sure = replace(nose, flight=replace(flight, heat_doubt=0.0))
    nose = replace(nose, flight=flight)
    doubted = loaded(nose, kelvin=near, axial=-500.0, time=3.0).failures[0]
    known = loaded(sure, kelvin=near, axial=-500.0, time=3.0).failures[0]
    moved = loaded(sure, kelvin=near + step, axial=-500.0, time=3.0).failures[0]
    added = (doubted.heat / known.cracks) ** 2 - (known.heat / known.cracks) ** 2
    assert added == pytest.approx((moved.cracks / known.cracks - 1.0) ** 2, rel=0.02)
    assert loaded(nose, kelvin=near, axial=-500.0).failures[0].heat == pytest.approx(known.heat)


def test_stress_left_by_cure_takes_from_what_a_ply_bears(nose: Plan) -> None:
    """Set stress-free, and with twice the cure strain."""
    assert nose.strength is not None
    assert 0.2 < nose.strength.left_share < 0.5
    cure = replace(nose.cure, share_kept=0.0, set_temperature=COLD)
    free = loaded(replace(nose, cure=cure), axial=500.0)
    assert free.left == pytest.approx(0.0, abs=1.0)
    once = loaded(nose, axial=500.0)
    assert once.failures[0].cracks < free.failures[0].cracks
    twice = replace(nose, cure=replace(nose.cure, share_kept=2.0 * nose.cure.share_kept))
    assert loaded(twice, axial=500.0).failures[0].cracks < once.failures[0].cracks


@pytest.mark.parametrize(("strain", "cracked"), [("3 %", True), ("0 %", False)])
def test_a_wall_that_cure_alone_cracks_is_a_stop(strain: str, cracked: bool) -> None:
    """And none stated is no strain at all: what divides by it still stands."""
    plan = plan_of(raw(flight={"top_speed": "300 m/s"}, stated={"cure_strain": strain}))
    assert plan.strength is not None
    assert (min(one.cracks for one in plan.strength.failures) == 0.0) is cracked
    told = [f for f in plan.findings if f.id == "strength.fails" and f.level is Level.STOP]
    assert ["before any load" in f.what for f in told] == [True] * cracked
    assert plan.release is not None
    assert np.isfinite(plan.release.margin)


def test_spread_counts_strength_fibre_fraction_and_angle(nose: Plan) -> None:
    """Strength alone from the library; the rest by laying the same fibres at other V_f, angle."""
    made = loaded(nose, axial=-500.0)
    one = made.failures[0]
    fibre = nose.library.fibres[nose.stack.layers[0].textile.fibre]
    key = dict(zip(MODES, PLY, strict=True))[one.mode]
    alone = fibre[f"ply_{key}"].spread / fibre[f"ply_{key}"].value
    assert alone < one.spread / one.cracks < 2.0 * alone
    job = nose.job.model_copy(deep=True)
    twice = 2.0 * fraction_spread(job, nose.library)
    stated = Quantity(nose.stack.fibre_fraction, twice)
    doubted = replace(nose, job=job.model_copy(
        update={"compaction": job.compaction.model_copy(update={"fibre_fraction": stated})}
    ))  # fmt: skip
    assert loaded(doubted, axial=-500.0).failures[0].buckles_spread > one.buckles_spread > 0.0
