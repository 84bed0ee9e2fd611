"""The bore swept off the mould step by step, in another way than the plan does it."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from mandrelwright.findings.finding import Finding, Level
from mandrelwright.job.read import library_of, read_job
from mandrelwright.plan import Plan, make_plan
from mandrelwright.stages.layers import PlanError
from tests import jobs
from tests.property.random_jobs import random_job

Array = NDArray[np.float64]

CAMPAIGN = bool(os.environ.get("MANDRELWRIGHT_CAMPAIGN"))
SEEDS = range(200 if CAMPAIGN else 30)
EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.toml"))
ALLOWED = 3e-6  # m: a hundredth of a layer line; the straight lines between nodes err by 0.5 µm
SEEN = 1.5e-6  # m: what the sweep surely sees of an undercut that the plan calls one
STATIONS, STEPS = 1201, 401


def interference(x: Array, r: Array, tipwards: bool) -> float:
    """Largest radial overlap while a bore equal to the mould is moved off along the axis (m).

    The bore is moved by steps of 1/400 of the length; at each step every station of the mould
    is compared with the piece of bore that has come over it.
    """
    at = np.linspace(x[0], x[-1], STATIONS)
    mould, worst = np.interp(at, x, r), -np.inf
    for moved in np.linspace(0.0, x[-1] - x[0], STEPS)[1:-1]:
        origin = at + moved if tipwards else at - moved
        covered = (origin >= x[0]) & (origin <= x[-1])
        bore = np.interp(origin[covered], x, r)
        worst = max(worst, float(np.max(mould[covered] - bore)))
    return worst


def swept(plan: Plan) -> float:
    """Interference of a plan's bore with its mould."""
    curve = plan.mould.curve
    return interference(curve.x, curve.r, plan.job.mould.leaves == "tipwards")


def stops_of(plan: Plan) -> list[Finding]:
    return [finding for finding in plan.findings if finding.level is Level.STOP]


def test_sweep_sees_a_barb_and_a_cone() -> None:
    """The check itself: a groove of 0.1 mm is seen whole, a cone leaves one way only."""
    x = np.linspace(0.0, 0.2, 401)
    groove = np.where((x > 0.1) & (x < 0.12), 0.0499, 0.05)
    assert interference(x, groove, True) == pytest.approx(1e-4, rel=1e-9)
    cone = np.asarray(0.03 + 0.1 * x)
    assert interference(x, cone, True) < 0.0
    assert interference(x, cone, False) > 0.01


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_examples_come_off(path: Path) -> None:
    job = read_job(path)
    plan = make_plan(job, library_of(job))
    assert swept(plan) <= ALLOWED
    assert plan.mould.comes_off
    assert stops_of(plan) == []


@pytest.mark.parametrize("seed", SEEDS)
def test_random_part_comes_off_or_is_stopped(seed: int) -> None:
    try:
        plan = jobs.plan_of(random_job(seed))
    except PlanError:
        return  # refused in words: no mould at the base, or nothing left of a staggered layer
    overlap = swept(plan)
    assert plan.stack.closure < 1e-9
    if plan.mould.comes_off:
        assert overlap <= ALLOWED
    else:
        assert overlap > SEEN
        assert "mould.undercut" in [finding.id for finding in stops_of(plan)]


@pytest.mark.parametrize("seed", SEEDS)
def test_layers_faired_outside_never_lock_the_part_on(seed: int) -> None:
    """The default for a layer that ends part way, wherever the drawing itself comes off."""
    data = random_job(seed)
    for layer in data["layer"]:
        layer.pop("rebate", None)
        layer.pop("ramp", None)
    try:
        plan = jobs.plan_of(data, 200)
    except PlanError:
        return
    at = np.linspace(plan.shape.start, plan.shape.stop, STATIONS)
    drawing, _ = plan.shape.profile(at)
    if interference(at, drawing, plan.job.mould.leaves == "tipwards") <= 0.0:
        assert plan.mould.comes_off
        assert swept(plan) <= ALLOWED


def test_the_seeds_reach_both_answers_and_every_kind() -> None:
    """Parts that come off without any stop, parts that do not, both ways, both drawn sides."""
    plans = []
    for seed in range(30):
        try:
            plans.append(jobs.plan_of(random_job(seed), 100))
        except PlanError:
            continue
    clean = [plan for plan in plans if not stops_of(plan)]
    locked = [plan for plan in plans if not plan.mould.comes_off]
    assert len(clean) >= 8
    assert len(locked) >= 5
    assert {plan.job.mould.leaves for plan in clean} == {"tipwards", "basewards"}
    assert {plan.job.part.describes for plan in locked} == {"outside", "inside"}
    assert len({section.shape for plan in plans for section in plan.job.sections}) >= 8
    assert any(layer.rebate for plan in clean for layer in plan.stack.layers)


def four_to_one(layer: Any) -> Plan:
    """A 4:1 von Karman of 98 mm, one full sleeve and another layer."""
    full = {"sleeve": "big", "from": "tip", "to": "end"}
    return jobs.plan_of(
        jobs.raw(
            section=[jobs.nose("von Karman", 392, 98, {"open": "44 mm"})],
            fit=[
                {
                    "name": "airframe",
                    "kind": "flush",
                    "mates": "98.0 mm +- 0.02 mm",
                    "from_base": "0 mm",
                    "to_base": "5 mm",
                    "leads": True,
                    "step": {"least": "-0.10 mm", "wanted": "0.00 mm", "most": "0.20 mm"},
                }
            ],
            layer=[layer, full],
        )
    )


@pytest.mark.parametrize(
    ("layer", "ends"),
    [
        ({"from": "196 mm", "to": "110 mm", "ramp": "6 mm"}, [0.196]),
        ({"from": "118 mm", "to": "60 mm"}, [0.274]),
        ({"from": "30 mm", "to": "end"}, [0.362]),
    ],
    ids=["half way, 1:12", "patch at 0.7", "doubler at the base"],
)
def test_rebate_that_locks_is_a_stop_with_place_and_ways_out(
    layer: dict[str, Any], ends: list[float]
) -> None:
    """It locks at its tipward end, where the mould gets smaller towards the base."""
    plan = four_to_one({"sleeve": "big", "rebate": True, **layer})
    found = [finding for finding in stops_of(plan) if finding.id == "mould.undercut"]
    assert len(found) == 1
    place, ramp = found[0].place, plan.stack.layers[0].ramp
    assert place is not None
    assert all(place[0] - ramp <= end <= place[1] + ramp for end in ends)
    assert len(set(found[0].do)) >= 3
    assert swept(plan) > ALLOWED
    faired = four_to_one({"sleeve": "big", **{k: v for k, v in layer.items() if k != "ramp"}})
    assert faired.mould.comes_off
    assert swept(faired) <= ALLOWED


@pytest.mark.parametrize(("share", "off"), [(0.55, True), (0.60, True), (0.68, False)])
def test_ramp_of_1_to_20_against_the_slope_of_the_nose(share: float, off: bool) -> None:
    """1.875/20 is the steepest of a C2 ramp; the nose has that slope at 0.63 of its length.

    dr/dx = R/(√π L)·2 sin φ/√(φ − ½ sin 2φ), cos φ = 1 − 2u: 0.106, 0.099 and 0.087.
    """
    start = 392 * (1.0 - share)
    plan = four_to_one({"sleeve": "big", "rebate": True, "from": f"{start:.1f} mm", "to": "20 mm"})
    phi = np.arccos(1.0 - 2.0 * share)
    root = np.sqrt(phi - np.sin(2.0 * phi) / 2.0)
    slope = 49.0 / (np.sqrt(np.pi) * 392.0) * 2.0 * np.sin(phi) / root
    assert (slope > 1.875 / 20.0) == off
    assert plan.mould.comes_off == off
    assert (swept(plan) <= ALLOWED) == off
