"""The lay-up against the part: masses add up to volumes the test finds itself, cups to layers."""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from mandrelwright.job.read import library_of, read_job
from mandrelwright.plan import Plan, make_plan
from mandrelwright.stages.cups import Share, Work, fill_cups
from tests import jobs

EXAMPLES = Path(__file__).parents[2] / "examples"
ASKED = {
    "name": "medium",
    "pot_life": {"time": "30 min +- 3 min", "mass": "150 g", "at": "25 degC"},
    "hardener": "30 g per 100 g",
}


@cache
def example(name: str) -> Plan:
    job = read_job(EXAMPLES / f"{name}.toml")
    return make_plan(job, library_of(job))


def plan(**changes: object) -> Plan:
    return jobs.plan_of(jobs.raw(resin=ASKED, **changes), places=120)


def turned(x: np.ndarray, r: np.ndarray, low: float, high: float) -> float:
    """π ∫ r² dx between two x, by a spline through the nodes (kinks of ramps cost 1e-4)."""
    spline = CubicSpline(x, r)
    t = np.linspace(low, high, 40001)
    return float(np.pi * np.trapezoid(spline(t) ** 2, t))


@pytest.mark.parametrize("name", ["plover-nose", "plover-transition"])
def test_the_part_weighs_what_its_volume_holds(name: str) -> None:
    """m = V·(V_f ρ_f + (1 − V_f − V_v) ρ_m), V between mould and outside, by revolution.

    The volume is cut square to the axis and the layers along their normals: with slopes below
    0.35 and walls of 1.6 mm the two cuts differ by less than 0.5 mm of length in 400, so 1e-3.
    """
    one = example(name)
    stack, shape, library = one.stack, one.shape, one.library
    low = max(shape.tip, float(stack.x[-1][0]), float(stack.x[0][0]))
    volume = turned(stack.x[-1], stack.r[-1], low, shape.base) - turned(
        stack.x[0], stack.r[0], low, shape.base
    )
    (fibre,) = {layer.textile.fibre for layer in stack.layers}
    empty = library.compactions[one.job.compaction.method]["voids"].value
    density = (
        stack.fibre_fraction * library.fibres[fibre]["density"].value
        + (1.0 - stack.fibre_fraction - empty) * library.resins[one.job.resin.name]["density"].value
    )
    assert one.layup.part_mass == pytest.approx(volume * density, rel=1e-3)


@pytest.mark.parametrize("name", ["plover-nose", "plover-transition"])
def test_fibre_is_its_share_of_the_laid_volume(name: str) -> None:
    """ρ_f V_f V: two ways through the stack (weight by angle, volume by thickness), to 1e-6,
    which is the trapezium's difference between two smooth integrands of one shape."""
    one = example(name)
    for piece, layer in zip(one.layup.pieces, one.stack.layers, strict=True):
        density = one.library.fibres[layer.textile.fibre]["density"].value
        assert piece.fibre == pytest.approx(
            density * one.stack.fibre_fraction * piece.volume, rel=1e-6
        )
        assert piece.trimmed <= piece.fibre + piece.resin
        assert piece.dry > piece.fibre  # the tails hang over


def test_cut_length_on_a_tube_is_a_closed_form() -> None:
    """L = 1.1·l·cos 45°/cos θ + 60 mm, sin θ = r/(√2 r45); m = N T L/cos 45°; to 1e-6."""
    one = plan(
        section=[jobs.tube(300.0, 102.0)],
        layer=[{"sleeve": "big", "from": "tip", "to": "end", "repeat": 2}],
    )
    length = float(one.stack.mould.x[-1] - one.stack.mould.x[0])
    for number, piece in enumerate(one.layup.pieces):
        middle = 0.5 * (one.stack.r[number, 0] + one.stack.r[number + 1, 0])
        cosine = math.sqrt(1.0 - (middle / (math.sqrt(2.0) * 0.042)) ** 2)
        cut = 1.1 * length * math.sqrt(0.5) / cosine + 0.060
        assert piece.cut == pytest.approx(cut, rel=1e-6)
        assert piece.dry == pytest.approx(144 * 600e-6 * cut / math.sqrt(0.5), rel=1e-6)
        assert piece.area == pytest.approx(2.0 * math.pi * middle * length, rel=1e-6)


def test_cups_hold_the_resin_of_all_layers_and_what_is_lost() -> None:
    layup = plan(shop={"temperature": "22 degC", "batch_most": "60 g", "scale": "0.1 g"}).layup
    laid = sum(piece.resin for piece in layup.pieces)
    assert len(layup.cups) > 1
    assert sum(cup.needed for cup in layup.cups) == pytest.approx(laid, rel=1e-12)
    assert layup.mixed == pytest.approx(1.2 * laid + 15e-3 * len(layup.cups), rel=1e-12)
    for cup in layup.cups:
        assert cup.hardener == pytest.approx(0.30 * cup.resin, rel=1e-12)
        assert cup.mixed <= 60e-3 * (1.0 + 1e-12)


def test_every_cup_is_empty_in_time_and_the_clock_never_runs_back() -> None:
    layup = plan(
        shop={"temperature": "25 degC +- 1 degC"}, compaction={"method": "vacuum bag"}
    ).layup
    clock = 0.0
    for step in layup.steps:
        assert step.at == pytest.approx(clock, abs=1e-9)
        clock = step.ends
    assert layup.takes == clock
    assert len(layup.cups) > 1
    for cup in layup.cups:
        assert cup.empty_at - cup.mixed_at <= layup.lasts
    assert layup.lasts < layup.pot_life


def test_pot_life_at_the_cans_own_temperature_is_the_cans() -> None:
    layup = plan(shop={"temperature": "25 degC"}).layup
    assert layup.pot_life == pytest.approx(1800.0, rel=1e-12)
    assert layup.pot_life_spread == pytest.approx(180.0, rel=1e-12)


def test_a_layer_too_large_for_a_cup_is_shared_out_evenly() -> None:
    work = [Work(0.03, 0.0, 60.0, 0.0), Work(0.25, 0.0, 60.0, 0.0), Work(0.02, 0.0, 60.0, 0.0)]
    cups = fill_cups(work, 0.1, 1000.0)
    assert cups == [(Share(0),), *((Share(1, part, 3),) for part in range(3)), (Share(2),)]


def test_cups_are_filled_evenly() -> None:
    """Five equal layers, four to a cup at most: three and two, not four and one."""
    cups = fill_cups([Work(0.02, 0.0, 60.0, 0.0)] * 5, 0.085, 1e6)
    assert [len(cup) for cup in cups] == [3, 2]


def test_shelf_and_cost() -> None:
    """Two pieces of a stated sleeve; price times length, and resin by the kilogram."""
    sleeve = {**jobs.sleeve("big", 84, 600, 1.9), "price": "12 EUR/m", "on_shelf": "0.7 m"}
    one = plan(
        sleeve=[sleeve],
        section=[jobs.tube(300.0, 102.0)],
        layer=[{"sleeve": "big", "from": "tip", "to": "end", "repeat": 2}],
    )
    (supply,) = one.supplies.items
    needed = sum(piece.cut for piece in one.layup.pieces)
    assert supply.needed == pytest.approx(needed)
    assert supply.cost == pytest.approx(12.0 * needed)
    assert supply.lacking == pytest.approx(needed - 0.7)
    assert supply.parts == 0
    assert one.supplies.laid_from_shelf == 1
    assert math.isnan(one.supplies.cost)  # the resin has no price
    assert "supplies.short" in {finding.id for finding in one.findings}
    priced = jobs.plan_of(
        jobs.raw(
            sleeve=[sleeve],
            section=[jobs.tube(300.0, 102.0)],
            layer=[{"sleeve": "big", "from": "tip", "to": "end", "repeat": 2}],
            resin={**ASKED, "price": "30 EUR/kg"},
        ),
        places=120,
    )
    assert priced.supplies.cost == pytest.approx(12.0 * needed + 30.0 * priced.layup.mixed)
