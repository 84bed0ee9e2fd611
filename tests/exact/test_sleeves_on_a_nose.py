"""Sleeves that cannot go where they are wanted: told, placed, and mended by the proposal."""

from __future__ import annotations

import tomllib
from functools import cache
from typing import Any

import numpy as np
import pytest
import tomlkit

from mandrelwright.advice import adopt, propose, settle
from mandrelwright.findings.finding import Finding, Level
from mandrelwright.plan import Plan
from mandrelwright.stages.stack_checks import reach
from tests import jobs

LENGTH, BASE = 0.392, 0.098  # m, four to one


def flush(**more: Any) -> dict[str, Any]:
    """Outside flush with a 98 mm tube, so that the drawn surface is the built one."""
    return {
        "name": "airframe",
        "kind": "flush",
        "mates": "98.0 mm +- 0.02 mm",
        "from_base": "0 mm",
        "to_base": "5 mm",
        "leads": True,
        "step": {"least": "-0.10 mm", "wanted": "0.00 mm", "most": "0.20 mm"},
        **more,
    }


def ogive(sleeves: list[Any], layers: list[Any], tip: Any = "pointed") -> dict[str, Any]:
    """A sharp 4:1 tangent ogive of 98 mm with a short skirt."""
    return jobs.raw(
        section=[jobs.nose("tangent ogive", 392, 98, tip), jobs.tube(40, 98)],
        fit=[flush()],
        sleeve=sleeves,
        layer=layers,
    )


def stops(plan: Plan) -> list[Finding]:
    return [finding for finding in plan.findings if finding.level is Level.STOP]


SIX = ogive(
    [jobs.sleeve("full", 98, 600, 1.9)],
    [{"sleeve": "full", "from": "tip", "to": "end", "repeat": 6}],
)


@cache
def six() -> Plan:
    return jobs.plan_of(SIX)


def ogive_radius(x: float) -> tuple[float, float]:
    """Radius and cos β of the ogive: arc of ρ = (R² + L²)/2R about (L, R − ρ)."""
    rho = (BASE**2 / 4 + LENGTH**2) / BASE
    height = np.sqrt(rho**2 - (LENGTH - x) ** 2)
    return float(height - rho + BASE / 2), float(height / rho)


def constant() -> float:
    """c = N T/(2π ρ V) of one of the six, m²."""
    density = jobs.library().fibres["E-glass"]["density"].value
    return float(144 * 600e-6 / (2 * np.pi * density * 0.40))


def test_six_sleeves_leave_no_mould_near_the_tip_as_the_closed_form_says() -> None:
    """Below the lock the layers telescope: r_out² < 2 cos β Σ c/cos θ_lock, to ±2 mm.

    θ_lock where p sin 2θ = w, p = 2π√2 r45/N: 19.4°, so the hard limit of 20° holds.
    """
    lock = max(0.5 * np.arcsin(1.9e-3 * 144 / (2 * np.pi * np.sqrt(2) * 0.049)), np.radians(20))
    low, high = 1e-3, LENGTH
    for _ in range(60):
        middle = (low + high) / 2
        r, cosine = ogive_radius(middle)
        gone = r * r < 2 * cosine * 6 * constant() / np.cos(lock)
        low, high = (middle, high) if gone else (low, middle)
    assert 0.10 * LENGTH < high < 0.20 * LENGTH
    assert six().stack.vanishes == pytest.approx(high, abs=2e-3)
    found = [finding for finding in stops(six()) if finding.id == "stack.vanishes"]
    assert len(found) == 1
    assert found[0].place is not None
    assert found[0].place[1] == pytest.approx(high, abs=2e-3)
    assert six().stack.mould.x[0] > high - 2e-3


def test_six_sleeves_are_four_and_a_half_millimetres_at_a_quarter() -> None:
    """Σ t at x = L/4, peeled by hand: r_in² = r_out² − 2 cos β c/cos θ(r_mid), six times."""
    quarter = LENGTH / 4
    outside, cosine = ogive_radius(quarter)
    r = outside
    for _ in range(6):
        inner = r
        for _ in range(50):
            middle = (r + inner) / 2
            sine = max(middle / (np.sqrt(2) * 0.049), np.sin(np.radians(20)))
            inner = np.sqrt(r * r - 2 * cosine * constant() / np.sqrt(1 - sine**2))
        r = inner
    by_hand = (outside - r) / cosine
    assert by_hand == pytest.approx(4.5e-3, rel=0.05)
    stack = six().stack
    node = int(np.argmin(np.abs(stack.outside.x - quarter)))
    # the hand uses one slope for all layers and stops at x, not at the foot of the normals
    assert stack.wall[node] == pytest.approx(by_hand, rel=0.02)


def test_six_sleeves_get_an_end_each() -> None:
    """Every one of the six is told where it has to end, further in for the inner ones."""
    limits = reach(six().shape, six().stack)
    ends = np.array([row.start_diameter for row in limits])
    assert np.all(np.isfinite(ends))
    assert np.all((ends > 0.03) & (ends < 0.07))
    assert np.all(np.diff(ends) < 0)  # the inner layers lie on a smaller radius
    bunched = [finding for finding in stops(six()) if finding.id == "stack.bunches"]
    assert len(bunched) == 6
    for finding, end in zip(bunched, ends, strict=True):
        assert f"{end * 1e3:.1f} mm" in " ".join((finding.what, *finding.do))
    assert six().verdict.level == "no"


@pytest.mark.parametrize(
    ("diameter", "tex", "width", "level"),
    [(70, 600, 1.9, Level.STOP), (76, 300, 1.2, Level.CAUTION), (84, 600, 1.9, None)],
)
def test_sleeve_sizes_over_a_base_of_98(
    diameter: float, tex: float, width: float, level: Level | None
) -> None:
    """sin θ = 98/(√2·70): 82°, beyond 70; √2·76: 65.8°, beyond the habit of 65; √2·84: 55.6°."""
    sleeves = [jobs.sleeve("it", diameter, tex, width)]
    layers = [{"sleeve": "it", "from": {"diameter": "62 mm"}, "to": "end"}]
    plan = jobs.plan_of(ogive(sleeves, layers))
    # on the mid-surface of a layer of 0.5 mm (1.1 mm where it lies at 80 degrees)
    least, most = (np.degrees(np.arcsin(d / (np.sqrt(2) * diameter))) for d in (96.8, 98))
    found = [f for f in plan.findings if f.id in ("stack.cannot-open", "stack.steep")]
    assert [f.level for f in found] == ([] if level is None else [level])
    assert [f for f in stops(plan) if f.id != "stack.cannot-open"] == []
    for finding in found:
        told = int(finding.what.partition("°")[0].rpartition(" ")[2])
        assert round(least) <= told <= round(most)
        assert finding.place is not None
        assert finding.place[1] > plan.shape.base - 0.04


def too_small() -> dict[str, Any]:
    """A sleeve of 70 mm over everything of a nose open at 45 mm."""
    return ogive(
        [jobs.sleeve("it", 70, 600, 1.9)],
        [{"sleeve": "it", "from": "tip", "to": "end", "repeat": 2}],
        {"open": "45 mm"},
    )


def from_the_shelf() -> dict[str, Any]:
    """The library's 76 mm sleeve over a nose of 120 mm: too small, and known by name only."""
    data = ogive(
        [{"name": "it", "library": "E-glass 76"}],
        [{"sleeve": "it", "from": "tip", "to": "end"}],
        {"open": "55 mm"},
    )
    for section in data["section"]:
        section["diameter" if "diameter" in section else "base"] = "120 mm"
    data["fit"] = [flush(mates="120.0 mm +- 0.02 mm")]
    return data


@pytest.mark.parametrize(
    "data", [SIX, too_small(), from_the_shelf()], ids=["six", "too small", "from the shelf"]
)
def test_adopting_what_is_proposed_passes(data: dict[str, Any]) -> None:
    """Round by round, as a builder would, until nothing is proposed: then no stop is left."""
    text = "# our nose\n" + tomlkit.dumps(data)
    plan, rounds = jobs.plan_of(data), 0
    assert stops(plan) != []
    while not (proposal := propose(plan)).empty:
        assert proposal.lines(plan.job) != []
        text = adopt(text, proposal, plan.library)
        plan, rounds = jobs.plan_of(tomllib.loads(text)), rounds + 1
        assert rounds <= 6
    assert [finding.id for finding in stops(plan)] == []
    assert text.startswith("# our nose\n")
    settled = settle("# our nose\n" + tomlkit.dumps(data), jobs.plan_of(data))
    assert settled.plan.stops == []
    assert settled.changes != ()


def test_nothing_is_proposed_for_a_job_that_can_be_made() -> None:
    plan = jobs.plan_of(jobs.raw())
    assert stops(plan) == []
    assert propose(plan).empty
