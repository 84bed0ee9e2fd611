"""Laws that every plan obeys, whatever its numbers."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from mandrelwright.physics.curves import Curve
from mandrelwright.plan import Plan
from tests import jobs

Array = NDArray[np.float64]

SEEDS = range(6)


def flush(size: float) -> list[Any]:
    """Outside flush with a tube of the drawn size leads, so that the drawing is not scaled."""
    return [
        {
            "name": "airframe",
            "kind": "flush",
            "mates": f"{size} mm +- 0.02 mm",
            "from_base": "0 mm",
            "to_base": "20 mm",
            "leads": True,
            "step": {"least": "-0.10 mm", "wanted": "0.00 mm", "most": "0.20 mm"},
        }
    ]


def full(repeat: int) -> list[Any]:
    """Nothing but whole sleeves from end to end."""
    return [{"sleeve": "big", "from": "tip", "to": "end", "repeat": repeat}]


def drawn(seed: int, **changes: Any) -> dict[str, Any]:
    """A nose with a skirt of random size and shape, sleeves that fit it."""
    draw = np.random.default_rng(seed)
    base = round(draw.uniform(70, 140), 1)
    shape, more = [("von Karman", {}), ("ellipsoid", {}), ("power", {"exponent": 0.6})][seed % 3]
    section = jobs.nose(shape, round(4 * base), base, {"open": f"{0.62 * base:.1f} mm"}, **more)
    size = base / (np.sqrt(2) * np.sin(np.radians(55)))
    return jobs.raw(
        **{
            "section": [section, jobs.tube(100, base)],
            "fit": flush(base),
            "sleeve": [jobs.sleeve("big", round(size, 2), 600, 1.5, 2 * round(0.73 * base))],
            "layer": full(2),
            **changes,
        }
    )


def radius(curve: Curve, at: Array) -> Array:
    return np.interp(at, curve.x, curve.r)


def shared(*plans: Plan) -> Array:
    """Stations on which all the plans have a mould."""
    low = max(float(plan.stack.mould.x[0]) for plan in plans)
    return np.linspace(low, plans[0].shape.stop, 300)


@pytest.mark.parametrize("seed", SEEDS)
def test_more_layers_make_a_smaller_mould(seed: int) -> None:
    """By one layer, 0.2 to 1 mm, at every place, and the outside stays."""
    plans = [jobs.plan_of(drawn(seed, layer=full(n)), 150) for n in (1, 2, 3)]
    at = shared(*plans)
    moulds = [radius(plan.stack.mould, at) for plan in plans]
    assert np.all(moulds[0] - moulds[1] > 0.15e-3)
    assert np.all(moulds[1] - moulds[2] > 0.15e-3)
    assert [plan.stack.scale for plan in plans] == pytest.approx([1, 1, 1], abs=1e-6)
    outsides = [radius(plan.stack.outside, at) for plan in plans]
    # linear between nodes up to 6 mm apart on a curve of 0.4 m: 10 µm
    assert np.ptp(outsides, axis=0).max() < 2e-5


@pytest.mark.parametrize("seed", SEEDS)
def test_more_resin_makes_a_thicker_wall_and_a_smaller_mould(seed: int) -> None:
    """Thickness goes as 1/V_f, less a little because the layers lie further in."""
    wet, dry = (
        jobs.plan_of(
            drawn(seed, compaction={"method": "peel ply", "fibre_fraction": f"{percent} %"}), 150
        )
        for percent in (36, 48)
    )
    at = shared(wet, dry)
    walls = [np.interp(at, plan.stack.mould.x, plan.stack.wall) for plan in (wet, dry)]
    ratio = walls[0] / walls[1]
    assert np.all(radius(wet.stack.mould, at) < radius(dry.stack.mould, at))
    assert np.all((ratio > 1.27) & (ratio < 1.40))


@pytest.mark.parametrize("seed", SEEDS)
def test_a_larger_sleeve_lies_at_a_smaller_angle(seed: int) -> None:
    """At every node; the tip of the mould is not reached by jamming."""
    data = drawn(seed)
    size = float(data["sleeve"][0]["diameter_at_45"].split()[0])
    angles = []
    for more in (1.0, 1.08):
        data["sleeve"][0]["diameter_at_45"] = f"{size * more:.3f} mm"
        plan = jobs.plan_of(data, 150)
        angles.append(np.interp(shared(plan), plan.stack.mould.x, plan.stack.free_angle[0]))
    assert np.all(angles[1] < angles[0])


@pytest.mark.parametrize("seed", SEEDS)
def test_layers_do_not_move_a_drawn_inside(seed: int) -> None:
    data = drawn(seed, part={"name": "Inside", "describes": "inside"})
    base = float(data["section"][0]["base"].split()[0])
    data["fit"] = [jobs.bore(f"{base - 0.15:.2f} mm +- 0.02 mm", 0, 60)]
    plans = [jobs.plan_of({**data, "layer": full(n)}, 150) for n in (1, 3)]
    np.testing.assert_array_equal(plans[0].stack.mould.r, plans[1].stack.mould.r)
    assert np.all(plans[1].stack.outside.r > plans[0].stack.outside.r)


def in_inches(value: Any) -> Any:
    """Every length of a job written in inches instead of millimetres."""
    if isinstance(value, dict):
        return {key: in_inches(item) for key, item in value.items()}
    if isinstance(value, list):
        return [in_inches(item) for item in value]
    if isinstance(value, str):
        return re.sub(r"([-\d.]+) mm\b", lambda m: f"{float(m[1]) / 25.4:.17g} in", value)
    return value


@pytest.mark.parametrize("seed", [0, 4])
def test_inches_make_the_same_plan(seed: int) -> None:
    """17 digits in, the same numbers out to rounding; odds are counted draws."""
    data = drawn(seed)
    metric, imperial = jobs.plan_of(data, 150), jobs.plan_of(in_inches(data), 150)
    assert " mm" not in str(in_inches(data))
    np.testing.assert_allclose(imperial.stack.mould.r, metric.stack.mould.r, rtol=1e-11)
    np.testing.assert_allclose(imperial.fit.file.r, metric.fit.file.r, rtol=1e-10)
    assert [f.id for f in imperial.findings] == [f.id for f in metric.findings]
    assert imperial.fit.forecast.gated == pytest.approx(metric.fit.forecast.gated, abs=1e-3)


def twice(value: Any) -> Any:
    """Every length of sections, fits and sleeves doubled, tows four times as heavy."""
    if isinstance(value, dict):
        return {key: twice(item) for key, item in value.items()}
    if isinstance(value, list):
        return [twice(item) for item in value]
    if isinstance(value, str):
        value = re.sub(r"([-\d.]+) mm\b", lambda m: f"{2 * float(m[1]):.10g} mm", value)
        return re.sub(r"([\d.]+) tex\b", lambda m: f"{4 * float(m[1]):.10g} tex", value)
    return value


@pytest.mark.parametrize("seed", [0, 1, 3])
def test_a_part_twice_as_large_is_twice_as_large(seed: int) -> None:
    """Nets, areas and normals know no size: the mould of the double job is the double mould.

    The corner's blend is a length too. Stations differ where the closest are dropped.
    """
    data = drawn(seed)
    for section in data["section"]:
        section["blend"] = "20 mm"
    data["mould"] = {"plastic": "ASA", "beyond_trim": {"tip": "5 mm", "base": "15 mm"}}
    large = {**data, **{k: twice(data[k]) for k in ("section", "fit", "sleeve", "mould")}}
    small_plan, large_plan = jobs.plan_of(data, 300), jobs.plan_of(large, 300)
    at = shared(small_plan)[5:]
    mould = large_plan.stack.mould
    exact = CubicSpline(mould.x, mould.r)(2 * at)
    small = CubicSpline(small_plan.stack.mould.x, small_plan.stack.mould.r)(at)
    np.testing.assert_allclose(exact, 2 * small, rtol=0.0, atol=2e-7)
    thick = [
        np.interp(at, p.stack.mould.x / k, p.stack.wall / k)
        for p, k in ((small_plan, 1), (large_plan, 2))
    ]
    np.testing.assert_allclose(thick[1], thick[0], rtol=2e-4)


@pytest.mark.parametrize("seed", SEEDS)
def test_rungs_of_the_ladder_add_up_to_the_print_file(seed: int) -> None:
    """The mate and every change: the totals on the way and at the end, to a picometre."""
    lead = flush(100) if seed % 2 else [jobs.bore("99.0 mm +- 0.02 mm", 0, 90)]
    data = jobs.raw(fit=lead) if seed < 2 else drawn(seed)
    data["surface"] = [
        {"do": "fill", "adds": "0.1 mm +- 0.03 mm"},
        {"do": "sand", "off": "0.05 mm +- 0.02 mm"},
        {"do": "wax", "coats": 3},
    ]
    data["printer"]["offset"] = "0.07 mm +- 0.05 mm"
    plan = jobs.plan_of(data, 150)
    size = 0.0
    for rung in plan.fit.links:
        if rung.basis == "total":
            assert size == pytest.approx(rung.change, abs=1e-12)
        else:
            size += rung.change
    assert plan.fit.links[-1].change == plan.fit.file_diameter
    node = plan.fit.chain.lead.node
    assert 2 * plan.fit.file.r[node] == pytest.approx(plan.fit.file_diameter, abs=1e-15)


def test_mould_follows_the_mate() -> None:
    """A coupler 0.1 mm larger makes the print file 0.1 mm·(1 + small) larger.

    d file/d mate = 1/((1 − s)(1 + α ΔT)(1 + e)): shrink 0.6 %, the rest a part in a thousand.
    """
    sizes = []
    for mate in (99.0, 99.1):
        data = jobs.raw(fit=[jobs.bore(f"{mate} mm +- 0.02 mm", 0, 90)])
        sizes.append(jobs.plan_of(data, 150).fit.file_diameter)
    change = (sizes[1] - sizes[0]) / 0.1e-3
    # the aim is one of 601 diameters, 3 µm apart
    assert change == pytest.approx(1 / (1 - 0.006), abs=0.04)


def test_odds_fall_with_a_narrower_window_and_a_vaguer_mate() -> None:
    def odds(mates: str, most: str) -> float:
        fit = jobs.bore(mates, 0, 90)
        fit["clearance"] = {"least": "0.05 mm", "wanted": "0.12 mm", "most": most}
        return jobs.plan_of(jobs.raw(fit=[fit]), 100).fit.lead.probability

    wide, narrow = odds("99.0 mm +- 0.02 mm", "0.30 mm"), odds("99.0 mm +- 0.02 mm", "0.20 mm")
    vague = odds("99.0 mm +- 0.08 mm", "0.30 mm")
    assert narrow < wide
    assert vague < wide


def test_same_job_same_plan() -> None:
    one, two = jobs.plan_of(jobs.raw(), 150), jobs.plan_of(jobs.raw(), 150)
    assert one.verdict == two.verdict
    assert one.findings == two.findings
    assert one.fit.results == two.fit.results
    np.testing.assert_array_equal(one.fit.file.r, two.fit.file.r)


def test_more_places_make_the_same_mould() -> None:
    """400, 800 and 1600 stations agree between their nodes to a tenth of a micrometre."""
    plans = [jobs.plan_of(jobs.raw(), places) for places in (400, 800, 1600)]
    joint = 0.400  # m: nose and skirt, where the curvature jumps
    at = np.linspace(plans[0].stack.mould.x[0], joint - 1e-3, 2000)
    moulds = [
        CubicSpline(
            *(v[plan.stack.mould.x < joint] for v in (plan.stack.mould.x, plan.stack.mould.r))
        )(at)
        for plan in plans
    ]
    assert np.abs(moulds[0] - moulds[2]).max() < 1e-7
    assert np.abs(moulds[1] - moulds[2]).max() < 1e-7
    files = [plan.fit.file_diameter for plan in plans]
    assert np.ptp(files) < 4e-6  # m: one step of the tabulated aim
