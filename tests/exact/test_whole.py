"""The part as one shell of revolution: against the laminate cylinder, and its own scaling."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from mandrelwright.job.read import library_of, read_job
from mandrelwright.physics.local_buckling import axial_load
from mandrelwright.plan import Plan, make_plan, with_whole
from mandrelwright.stages.flight import Flight
from mandrelwright.stages.wall import read_constituents
from mandrelwright.stages.whole import Whole, judge_whole

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(scope="module")
def plan() -> Plan:
    job = read_job(EXAMPLES / "plover-transition.toml")
    return make_plan(job, library_of(job))


def pressed(plan: Plan, force: float, moment: float = 0.0) -> Whole | None:
    """The whole part under one even load at room temperature."""
    assert plan.flight is not None
    even = np.ones_like(plan.flight.x)
    case = replace(
        plan.flight.cases[0], axial=force * even, moment=moment * even, pressure=0.0 * even,
        mean=293.15 * even,
    )  # fmt: skip
    flight: Flight = replace(plan.flight, cases=(case,))
    parts = read_constituents(plan.job, plan.stack.layers, plan.library)
    return judge_whole(plan.stack, parts, flight, plan.library)


def test_whole_part_buckles_between_its_weakest_cylinder_and_what_warping_ends_leave(
    plan: Plan,
) -> None:
    """Rings and diamonds of the weakest place; warping ends leave 0.6 of it, its corners less."""
    made = pressed(plan, -500.0)
    assert made is not None
    assert plan.flight is not None
    nodes, wall = plan.flight.nodes, plan.wall
    radius = 0.5 * (plan.stack.r[0] + plan.stack.r[-1])[nodes]
    cosine = plan.stack.meridian.tangent(plan.stack.outside).cosine[nodes]
    line = axial_load(wall.A[nodes], wall.B[nodes], wall.D[nodes], radius / cosine)
    least = float(np.nanmin(line * 2.0 * np.pi * radius * cosine)) / 500.0
    (one,) = made.cases
    assert 0.5 * least < one.perfect < 1.05 * least
    assert 0.3 * one.perfect < one.factor < one.perfect
    assert plan.shape.tip < one.x < plan.shape.base


def test_twice_the_load_halves_the_factor_and_tension_leaves_none(plan: Plan) -> None:
    once, twice = pressed(plan, -500.0), pressed(plan, -1000.0)
    assert once is not None
    assert twice is not None
    assert twice.cases[0].perfect == pytest.approx(0.5 * once.cases[0].perfect, rel=1e-9)
    assert pressed(plan, 500.0) is None


def test_bending_counts_as_the_push_of_its_worst_meridian(plan: Plan) -> None:
    """F = −2 M/r: bending of 10 N·m presses a wall more where it is narrow."""
    bent = pressed(plan, 0.0, 10.0)
    assert bent is not None
    radius = float(plan.stack.r[0].min())
    push = pressed(plan, -2.0 * 10.0 / radius)
    assert push is not None
    assert bent.cases[0].perfect >= push.cases[0].perfect


def test_a_check_leaves_it_out_and_a_build_has_it(plan: Plan) -> None:
    assert plan.whole is None
    made = with_whole(plan).whole
    assert made is not None
    assert {case.id for case in made.cases} >= {"handling", "landing"}
