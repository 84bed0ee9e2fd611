"""What becomes of the part once it is free: springback of its bore, coats on its outside."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mandrelwright import plan_job
from mandrelwright.job.records import Reading
from mandrelwright.plan import Plan
from mandrelwright.shop.gate import ask_gate
from mandrelwright.shop.part_gate import own_play
from mandrelwright.stages.fit import FitResult
from tests import jobs

NOSE = Path(__file__).resolve().parents[2] / "examples" / "plover-nose.toml"
TUBE = 102.0  # mm
DRAWS = 40_000


@cache
def plan() -> Plan:
    return plan_job(NOSE)


def test_springback_opens_bore_and_outside_by_its_share_of_the_diameter() -> None:
    chain = plan().fit.chain
    rows = np.repeat(chain.mean[:, None], 2, axis=1)
    rows[chain.index("springback")] = [0.0, 1e-3]
    v = chain.values(rows)
    for station in chain.stations:
        bore = chain.bore(station, v, np.full(2, 0.0992))
        wall = float(chain.wall(station, v)[0])
        assert bore[1] - bore[0] == pytest.approx(1e-3 * (bore[0] + wall), rel=3e-3)
        outside = chain.outside(station, v, bore)
        assert outside[1] - outside[0] == pytest.approx(bore[1] - bore[0], rel=1e-9)


def test_springback_of_the_library_is_wide_and_of_either_sign() -> None:
    datum = plan().library.practice["free part"]["springback"]
    assert datum.value == 0.0
    assert datum.basis == "assumed"
    assert datum.spread == pytest.approx(4e-4)


def test_the_size_map_takes_the_mean_springback() -> None:
    """A shop that learned of 0.1 % gets a mould smaller by as much."""
    chain, sizes = plan().fit.chain, plan().fit.sizes
    assert chain.mean[chain.index("springback")] == 0.0
    moved = sizes.strain + np.array([0.0, 1e-3, 0.0])
    opened = replace(sizes, strain=moved)
    bore = plan().fit.bore
    change = opened.ready_of_bore(bore).r / sizes.ready_of_bore(bore).r - 1.0
    assert change == pytest.approx(-1e-3, rel=0.05)


def planned(*coats: dict[str, str], leads: bool = False) -> Plan:
    """A flush fit that leads at the base of a tube, and what lies on it."""
    stated: dict[str, Any] = {"finish": list(coats)} if coats else {}
    fit = {
        "name": "airframe",
        "kind": "flush",
        "mates": f"{TUBE} mm +- 0.02 mm",
        "from_base": "0 mm",
        "to_base": "20 mm",
        "step": {"least": "-0.10 mm", "wanted": "0.05 mm", "most": "0.20 mm"},
        "finish": "none",
        "leads": False,
    }
    bore = jobs.bore("99.0 mm +- 0.02 mm", 0, 90)
    fits = [fit | {"leads": True}] if leads else [bore, fit]
    raw = jobs.raw(fit=fits, assembly=stated) if stated else jobs.raw(fit=fits)
    return jobs.plan_of(raw, 100)


def flush(*coats: dict[str, str]) -> FitResult:
    return planned(*coats).fit.results[1]


def coat(per_side: float, spread: float = 0.0, **more: str) -> dict[str, str]:
    return {"do": "paint", "per_side": f"{per_side} mm +- {spread} mm", **more}


def odds(bare: Plan, coat_is: float, spread: float) -> float:
    """Share inside the window of bare steps, drawn anew, each with a normal coat of its own."""
    fit = bare.fit
    station = fit.chain.stations[1]
    ready = 2.0 * float(fit.ready.r[station.node])
    steps = fit.chain.play_of_parts(station, ready, 20e-6, fit.chain.parts(DRAWS, 5))
    steps = steps + coat_is + spread * np.random.default_rng(6).standard_normal(DRAWS)
    least, most = fit.results[1].window
    return float(np.mean((steps >= least) & (steps <= most)))


@settings(max_examples=6, deadline=None)
@given(st.floats(0.02, 0.3), st.floats(0.0, 0.08))
def test_a_coat_moves_the_step_by_itself_and_widens_it(per_side: float, spread: float) -> None:
    """step' = step + coat, u'² = u² + u_coat², and the odds follow as drawn."""
    whole, painted = planned(), flush(coat(round(per_side, 3), round(spread, 3)))
    bare = whole.fit.results[1]
    told, doubt = round(per_side, 3) * 1e-3, round(spread, 3) * 1e-3
    assert painted.play == pytest.approx(bare.play + told, abs=6e-6)
    assert painted.spread == pytest.approx(np.hypot(bare.spread, doubt), rel=0.02)
    assert painted.probability == pytest.approx(odds(whole, told, doubt), abs=0.015)
    ((name, size),) = painted.coats
    assert name == "coat of paint"
    assert size == pytest.approx(told)
    assert painted.diameter == pytest.approx(bare.diameter, abs=1e-5)  # as laid, bare


def test_coats_add_up_and_one_that_ends_before_the_fit_does_not_count() -> None:
    bare = flush()
    two = flush(coat(0.06, 0.02), coat(0.05, 0.02))
    assert [name for name, _ in two.coats] == ["coat of paint", "coat of paint 2"]
    assert two.play - bare.play == pytest.approx(0.11e-3, abs=6e-6)
    short = flush(coat(0.06, 0.02, from_base="20 mm"))
    assert short.coats == ()
    assert short.play == bare.play  # not an input at all


def test_a_coat_leaves_the_bore_alone() -> None:
    chain = plan().fit.chain
    assert chain.coats == ("coat of primer", "coat of paint")
    assert chain.lead.coats == ()
    lead = plan().fit.lead
    assert lead.coats == ()
    assert not {name for name, _ in lead.blame} & set(chain.coats)


def test_the_gate_of_a_painted_flush_fit_asks_for_its_bare_outside() -> None:
    """window' = mate + 2 (limit − coat); the step of a part is that of its painted outside."""
    plan = planned(coat(0.12, 0.02), leads=True)
    mark, bare = plan.mould.marks[0].name, plan.fit.lead.diameter
    reading = Reading("part", mark, bare, 1e-5)
    answer = ask_gate(plan, [reading])
    secant = plan.fit.chain.lead.secant
    ends = [TUBE * 1e-3 + 2.0 * (limit - 0.12e-3 * secant) for limit in plan.fit.lead.window]
    assert (answer.least, answer.most) == pytest.approx(ends, abs=1e-9)
    step, doubt = own_play(plan, [reading])
    assert step == pytest.approx(0.5 * (bare - TUBE * 1e-3) + 0.12e-3 * secant, abs=1e-6)
    assert doubt == pytest.approx(np.sqrt(0.02e-3**2 + 0.01e-3**2 + 0.005e-3**2), rel=0.02)


def test_the_rungs_of_a_painted_flush_fit_that_leads_add_up() -> None:
    fit = planned(coat(0.12, 0.02), leads=True).fit
    rungs = {link.label: link.change for link in fit.links}
    assert rungs["coat of paint"] == pytest.approx(-0.24e-3 * fit.chain.lead.secant, rel=1e-9)
    total = sum(link.change for link in fit.links if link.basis != "total")
    assert total == pytest.approx(fit.file_diameter, abs=1e-9)


def test_springback_is_a_rung_of_its_own() -> None:
    (rung,) = (link for link in plan().fit.links if link.label == "springback")
    assert rung.change == 0.0
    assert rung.basis == "assumed"
    assert rung.spread == pytest.approx(4e-4 * 0.0993, rel=0.02)
