"""The part as one shell of revolution: edge bending, membrane and beam by closed form, buckling.

Closed forms are of an isotropic wall, so its plies are made of one isotropic stuff; they stay
plies, with strengths along and across.
"""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import product
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from mandrelwright.findings.finding import Level
from mandrelwright.job.read import library_of, read_job
from mandrelwright.physics.local_buckling import axial_load
from mandrelwright.physics.micromechanics import Fibre, Matrix
from mandrelwright.plan import Plan, make_plan
from mandrelwright.stages.flight import Flight
from mandrelwright.stages.shell_model import make_model
from mandrelwright.stages.shell_stress import crack
from mandrelwright.stages.strength import Strength, judge_strength
from mandrelwright.stages.strength_checks import check_strength
from mandrelwright.stages.wall import Constituents, read_constituents
from mandrelwright.stages.warm_wall import PLY
from mandrelwright.stages.whole import BY_SHELL, FINE, Whole, judge_whole, least_of
from tests.exact.test_first_failure import part
from tests.exact.test_strength import first, turn

EXAMPLES = Path(__file__).parents[2] / "examples"
Array = NDArray[np.float64]
COLD = 293.15
E, NU = 12e9, 0.3


@pytest.fixture(scope="module")
def transition() -> Plan:
    job = read_job(EXAMPLES / "plover-transition.toml")
    return make_plan(job, library_of(job))


@pytest.fixture(scope="module")
def tube() -> Plan:
    job = read_job(EXAMPLES / "dunlin-tube.toml")
    return make_plan(job, library_of(job))


def thinned(plan: Plan, times: float) -> Plan:
    """The same middle surface with a thinner wall: closed forms are of thin shells."""
    return replace(plan, stack=replace(plan.stack, thickness=plan.stack.thickness / times))


def isotropic(plan: Plan) -> Constituents:
    """Fibre and resin of one stuff, so that every laminate of it is isotropic."""
    parts = read_constituents(plan.job, plan.stack.layers, plan.library)
    rows = np.ones_like(parts.fibre.E1)
    G = E / (2.0 * (1.0 + NU))
    fibre = Fibre(E * rows, E * rows, G * rows, NU * rows, 0.0 * rows, 0.0 * rows, rows)
    return replace(parts, fibre=fibre, resin=Matrix(E, NU, 0.0, 1.0, 0.0), crimp=1.0)


def pressed(
    plan: Plan,
    parts: Constituents | None = None,
    axial: float = 0.0,
    moment: float = 0.0,
    pressure: float = 0.0,
    shear: float = 0.0,
    nought: float = 0.0,
    spread: float = 0.0,
) -> tuple[Strength, Whole]:
    """Strength by local formulas, and the shell's, under one load at room temperature.

    A shear force has no moment at x = ``nought``; ``spread`` is a side force per length from there.
    """
    assert plan.flight is not None
    x = plan.flight.x
    even = np.ones_like(x)
    case = replace(
        plan.flight.cases[0], id="test", axial=axial * even, pressure=pressure * even,
        moment=moment * even + (shear + 0.5 * spread * (x - nought)) * (x - nought),
        shear=shear * even + spread * (x - nought), mean=COLD * even,
    )  # fmt: skip
    flight: Flight = replace(plan.flight, cases=(case,))
    used = parts or read_constituents(plan.job, plan.stack.layers, plan.library)
    local = judge_strength(plan.job, plan.stack, used, plan.cure, flight, plan.library)
    assert local is not None
    whole = judge_whole(plan.shape, plan.stack, used, plan.cure, flight, local, plan.library)
    assert whole is not None
    return local, whole


def bears(
    plan: Plan,
    even: tuple[float, float, float],
    bent: tuple[float, float] = (0.0, 0.0),
    node: int = -1,
) -> float:
    """Load factor of an isotropic wall's first ply, cold: stress (Pa) even, and bent at its faces.

    σ(z) = even + bent 2z/t at both faces of every pair, turned into the axes of ±θ.
    """
    stack, library = plan.stack, plan.library
    angles, thickness = (values[:, node] for values in stack.pairs)
    names = [layer.textile.fibre for layer in stack.layers for _ in layer.textile.families(angles)]
    crimp = library.practice["braid"]["crimp_strength"].value
    edges = np.concatenate(([0.0], np.cumsum(thickness))) / thickness.sum() * 2.0 - 1.0
    factors = []
    for number, (name, angle) in enumerate(zip(names, angles, strict=True)):
        fibre = library.fibres[name]
        limits = [fibre[f"ply_{key}"].value for key in PLY]
        share = crimp * stack.fibre_fraction / fibre["ply_fraction"].value
        limits[:2] = [limit * share for limit in limits[:2]]
        for z in edges[number : number + 2]:
            stress = np.array(even) + z * np.array([*bent, 0.0])
            factors += [
                first(turn(sign * angle) @ stress, np.zeros(3), limits) for sign in (1.0, -1.0)
            ]
    return min(factors)


def clamped(plan: Plan, pulled: float, pressure: float, x: float) -> float:
    """Load factor of the zone beside a clamped end of a long isotropic cylinder, cold.

    w = w∞ [1 − e^(−βs) (cos βs + sin βs)], β⁴ = 3(1 − ν²)/(R t)², E t w∞ = p R² − ν N R;
    σ_s = N/t ∓ E t w''/(2(1 − ν²)), σ_φ = E w/R + ν σ_s. At the end M = 2β² D w∞, or p/(2β²).
    On a cone R = r/cos β and N = F/(2πr cos β) of the end at x.
    Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed. 1959, sections 114 and
    115; 129 and 133 of the cone (from memory).
    """
    node = int(np.abs(plan.stack.mould.x - x).argmin())
    t, c = float(plan.stack.wall[node]), cosine(plan, node)
    R = 0.5 * float(plan.stack.r[0][node] + plan.stack.r[-1][node]) / c
    N, beta = pulled / (2.0 * math.pi * R * c * c), (3.0 * (1.0 - NU**2)) ** 0.25 / math.sqrt(R * t)
    free = (pressure * R * R - NU * N * R) / (E * t)
    factors = []
    for along in np.linspace(0.0, 6.0, 121):
        cos, sin, dies = math.cos(along), math.sin(along), math.exp(-along)
        w, curved = free * (1.0 - dies * (cos + sin)), 2.0 * beta**2 * free * dies * (cos - sin)
        bent = -0.5 * E * t * curved / (1.0 - NU**2)
        even = (N / t, E * w / R + NU * N / t, 0.0)
        factors.append(bears(plan, even, (bent, NU * bent), node))
    return min(factors)


def cosine(plan: Plan, node: int) -> float:
    """Of the slope at a node."""
    return float(plan.stack.meridian.tangent(plan.stack.outside).cosine[node])


@pytest.mark.parametrize(("pulled", "pressure"), [(0.0, 1e5), (500.0, 0.0), (-500.0, 2e4)])
def test_a_clamped_end_bends_as_timoshenko_has_it(
    tube: Plan, pulled: float, pressure: float
) -> None:
    """Pressure, and what a pull narrows or a push widens: held back at the end."""
    thin = thinned(tube, 5.0)
    _, whole = pressed(thin, isotropic(thin), axial=pulled, pressure=-pressure)
    expected = clamped(thin, pulled, pressure, whole.ends[1])
    assert whole.cases[0].cracks == pytest.approx(expected, rel=0.01)


def test_the_wide_end_of_a_steep_cone_bends_as_its_cylinder() -> None:
    """15°, clamped where its coupler ends: R = r/cos β stands for the cone."""
    thin = thinned(part("cone"), 20.0)
    _, whole = pressed(thin, isotropic(thin), axial=100.0)
    assert whole.cases[0].cracks_x == pytest.approx(whole.ends[1], abs=1e-3)
    expected = clamped(thin, 100.0, 0.0, whole.ends[1])
    assert whole.cases[0].cracks == pytest.approx(expected, rel=0.01)


def test_the_moment_at_a_clamped_end_is_half_the_pressure_over_beta_squared(tube: Plan) -> None:
    """Nothing but σ = 6 p/(2β²)/t² at the end itself, and ν of it round."""
    thin, p = thinned(tube, 5.0), 1e5
    parts = isotropic(thin)
    assert thin.flight is not None
    even = np.ones_like(thin.flight.x)
    case = replace(thin.flight.cases[0], axial=0.0 * even, moment=0.0 * even, shear=0.0 * even,
                   pressure=-p * even, mean=COLD * even)  # fmt: skip
    model = make_model(thin.stack, parts, thin.flight, [case], (0.0, thin.shape.base), FINE,
                       thin.library)  # fmt: skip
    t, r = float(thin.stack.wall[-1]), float(model.shell.node_r[-1])
    beta2 = math.sqrt(3.0 * (1.0 - NU**2)) / (r * t)
    bent = 6.0 * p / (2.0 * beta2) / t**2
    found = crack(model, [case], thin.cure, thin.library).factor[0, -1]
    assert found == pytest.approx(bears(thin, (0.0, 0.0, 0.0), (-bent, -NU * bent)), rel=0.02)


def beam(r: float, c: float, t: float, M: float, V: float) -> list[tuple[float, float, float]]:
    """Pulled side, pressed side and between: on a cone the moment's forces bear part of V."""
    line = M / (math.pi * r * r * c) / t
    sheared = (V - M * math.sqrt(1.0 - c * c) / (c * r)) / (math.pi * r) / t
    return [(line, 0.0, 0.0), (-line, 0.0, 0.0), (0.0, 0.0, sheared)]


EVERYWHERE = product(("cylinder", "cone", "steep cone"), ("pull", "bend", "shear", "pressure"))


@pytest.mark.parametrize(("place", "load"), [*EVERYWHERE, ("cylinder", "spread")])
def test_membrane_and_beam_stress_away_from_ends(
    tube: Plan, transition: Plan, place: str, load: str
) -> None:
    """N_s = F/(2πr cos β), M/(πr² cos β), N_sφ = V/(πr), N_φ = p r cos β: within 1 %.

    The pressure comes without axial force: what it pushes along is held back where it acts, and
    leaves p cos² β square to the wall.
    """
    plan, times, middle = {
        "cylinder": (tube, 10.0, 0.2),
        "cone": (transition, 40.0, 0.155),
        "steep cone": (part("cone"), 20.0, 0.09),
    }[place]
    thin, parts = thinned(plan, times), isotropic(plan)
    assert thin.flight is not None
    at = int(np.abs(thin.flight.x - middle).argmin())
    node = int(thin.flight.nodes[at])
    r = 0.5 * float(thin.stack.r[0][node] + thin.stack.r[-1][node])
    t = float(thin.stack.wall[node])
    c = cosine(thin, node)
    x = float(thin.flight.x[at])
    loads, stresses = {
        "pull": ({"axial": 10.0}, [(10.0 / (2.0 * math.pi * r * c) / t, 0.0, 0.0)]),
        "bend": ({"moment": 0.5}, beam(r, c, t, 0.5, 0.0)),
        "shear": ({"shear": 4.0, "nought": x}, beam(r, c, t, 0.0, 4.0)),
        "spread": ({"moment": 0.5, "spread": 100.0, "nought": x}, beam(r, c, t, 0.5, 0.0)),
        "pressure": ({"pressure": -1e3}, [(0.0, 1e3 * r * c / t, 0.0)]),
    }[load]
    _, whole = pressed(thin, parts, **loads)
    expected = min(bears(thin, stress, node=node) for stress in stresses)
    assert whole.cracks[at] == pytest.approx(expected, rel=0.01)


def test_bending_of_the_end_decides_and_stands_in_the_one_reserve(transition: Plan) -> None:
    """A braid pulled at a clamped end bears less than its membrane; the lesser is told."""
    local, whole = pressed(transition, moment=20.0)
    one, was = whole.cases[0], local.failures[0]
    assert one.cracks < 0.7 * was.cracks
    told = least_of(local, whole).failures[0]
    assert (told.cracks, told.cracks_by, told.alone) == (one.cracks, BY_SHELL, was.reserve)
    assert told.reserve < was.reserve


def test_the_wall_is_held_where_a_coupler_ends_inside(transition: Plan) -> None:
    """Plugged and clamped at the inner ends of both couplers; bending there shows in the strip."""
    local, whole = pressed(transition, axial=500.0)
    couplers = {place.fit.name: place for place in transition.shape.fits}
    ends = couplers["fore coupler"].stop, couplers["aft coupler"].start
    assert whole.ends == pytest.approx(ends, abs=1e-3)
    for end in ends:
        near = np.abs(whole.x - end) < 8e-3
        assert np.min(whole.cracks[near] / local.cracks[near]) < 0.97
    assert np.all(np.isinf(whole.cracks[whole.x < ends[0] - 6e-3]))  # left to local formulas


@pytest.mark.parametrize(("axial", "moment"), [(500.0, 0.0), (-500.0, 0.0), (0.0, 10.0)])
def test_far_from_ends_the_braid_bears_what_its_membrane_does(
    transition: Plan, axial: float, moment: float
) -> None:
    """With what cure left in it: to the two faces of a wall of r/t 30, three in a hundred."""
    local, whole = pressed(transition, axial=axial, moment=moment)
    at = int(np.abs(whole.x - 0.155).argmin())
    assert whole.cracks[at] == pytest.approx(local.cracks[at], rel=0.03)


def test_a_plan_tells_the_lesser_of_both(transition: Plan) -> None:
    """Failures, strip and proof load of the plan are the least of local formulas and shell."""
    assert transition.whole is not None
    assert transition.strength is not None
    parts = read_constituents(transition.job, transition.stack.layers, transition.library)
    local = judge_strength(
        transition.job, transition.stack, parts, transition.cure, transition.flight,
        transition.library,
    )  # fmt: skip
    assert local is not None
    rows = zip(transition.strength.failures, local.failures, transition.whole.cases,
               strict=True)  # fmt: skip
    for told, alone, shell in rows:
        least = min(
            alone.cracks - alone.spread, alone.buckles - alone.buckles_spread,
            shell.cracks - shell.spread, shell.buckles - shell.buckles_spread,
        )  # fmt: skip
        assert told.reserve == pytest.approx(least, rel=1e-12)
        assert told.alone == pytest.approx(alone.reserve, rel=1e-12)
    shut = min(one.buckles for one in transition.whole.cases)
    assert np.nanmax(transition.strength.buckles) <= shut
    along = np.fmin(local.cracks, transition.whole.cracks)
    assert transition.strength.cracks == pytest.approx(along)
    assert along.sum() < local.cracks.sum()
    landing = {one.id: one for one in transition.strength.failures}["landing"]
    assert landing.buckles == pytest.approx(
        next(one.buckles for one in transition.whole.cases if one.id == "landing")
    )
    hand = [next(one for one in made.failures if one.id == "handling")
            for made in (transition.strength, local)]  # fmt: skip
    share = transition.strength.proof_factor / local.proof_factor
    assert share == pytest.approx(hand[0].factor / hand[1].factor, rel=1e-12)
    assert share < 1.0


@pytest.mark.parametrize(
    ("id", "grows", "found", "level"),
    [
        ("max-q", 0.6, "strength.shell-fails", Level.STOP),
        ("landing", 0.6, "strength.shell-fails", Level.CAUTION),
        ("max-q", 1.2, "strength.shell-little-reserve", Level.CAUTION),
    ],
)
def test_what_only_the_shell_finds_is_told_apart(
    transition: Plan, id: str, grows: float, found: str, level: Level
) -> None:
    """Local formulas pass, the shell does not: a stop in flight, a caution on the ground."""
    assert transition.strength is not None
    assert transition.flight is not None
    one = transition.strength.failures[0]
    one = replace(one, id=id, cracks=grows, spread=0.0, alone=5.0)
    strength = replace(transition.strength, failures=(one,))
    told = check_strength(transition.shape, strength, transition.flight, transition.library)
    assert (told[0].id, told[0].level) == (found, level)
    assert "5" in told[0].why
    passed = replace(strength, failures=(replace(one, alone=math.nan),))
    told = check_strength(transition.shape, passed, transition.flight, transition.library)
    assert told[0].id in ("strength.fails", "strength.little-reserve")


def test_whole_part_buckles_between_its_weakest_cylinder_and_what_warping_ends_leave(
    transition: Plan,
) -> None:
    """Rings and diamonds of the weakest place; warping ends leave 0.6 of it, its corners less."""
    _, made = pressed(transition, axial=-500.0)
    assert transition.flight is not None
    nodes, wall = transition.flight.nodes, transition.wall
    radius = 0.5 * (transition.stack.r[0] + transition.stack.r[-1])[nodes]
    cosine = transition.stack.meridian.tangent(transition.stack.outside).cosine[nodes]
    line = axial_load(wall.A[nodes], wall.B[nodes], wall.D[nodes], radius / cosine)
    least = float(np.nanmin(line * 2.0 * np.pi * radius * cosine)) / 500.0
    (one,) = made.cases
    assert 0.5 * least < one.perfect < 1.05 * least
    assert 0.3 * one.perfect < one.buckles < one.perfect
    assert transition.shape.tip < one.buckles_x < transition.shape.base


def test_twice_the_load_halves_the_factors_and_tension_buckles_nothing(transition: Plan) -> None:
    (once,), (twice,) = (pressed(transition, axial=-F)[1].cases for F in (500.0, 1000.0))
    assert twice.perfect == pytest.approx(0.5 * once.perfect, rel=1e-9)
    assert twice.cracks == pytest.approx(0.5 * once.cracks, rel=1e-9)
    assert math.isinf(pressed(transition, axial=500.0)[1].cases[0].buckles)


def test_bending_counts_as_the_push_of_its_worst_meridian(transition: Plan) -> None:
    """F = −2 M/r: bending of 10 N·m presses a wall more where it is narrow."""
    (bent,) = pressed(transition, moment=10.0)[1].cases
    radius = float(transition.stack.r[0].min())
    (push,) = pressed(transition, axial=-2.0 * 10.0 / radius)[1].cases
    assert bent.perfect >= push.perfect
