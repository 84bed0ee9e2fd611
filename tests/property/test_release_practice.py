"""What everybody who pulls parts off printed moulds knows comes out of the physics.

Common practice, no source. Each must hold in at least four of five parts drawn over the spreads
of the library, and turn round when what drives it is turned round.
"""

from __future__ import annotations

import json
from functools import lru_cache
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from mandrelwright.job.curing import Medium
from mandrelwright.plan import Plan
from mandrelwright.stages import release, release_checks
from mandrelwright.stages.cells import cells_at
from mandrelwright.stages.cooling import Follower, Moments, Step
from mandrelwright.stages.judge import Case, open_case
from mandrelwright.stages.resin import read_resin
from mandrelwright.stages.seat import heat_at, pick_places
from mandrelwright.stages.wall import read_constituents
from tests import jobs

Array = NDArray[np.float64]

MOST = 0.8
DRAWS = 2000
SHOP = 295.15
SANDED: list[dict[str, str]] = [{"do": "sand", "off": "0.10 mm +- 0.02 mm"}]
FREEZER = {"at": "-18 degC", "in": "freezer"}


def tube_job(
    degrees: float,
    steps: list[dict[str, str]],
    surface: list[dict[str, str]] = SANDED,
    plastic: str = "ASA",
    core: Any = "solid",
) -> dict[str, Any]:
    """A straight tube of about 98 mm whose sleeve lies at an angle."""
    label = 100.5 * np.sin(np.pi / 4.0) / np.sin(np.radians(degrees))
    sleeve = jobs.sleeve("big", round(label, 2), 600.0, 1.6)
    return jobs.raw(
        section=[jobs.tube(400.0, 102.0)],
        sleeve=[sleeve],
        layer=[{"sleeve": "big", "from": "tip", "to": "end", "repeat": 3}],
        surface=surface,
        mould={"plastic": plastic, "core": core},
        release_steps=steps,
        schedule=[{"stay": "5 d", "at": "shop"}],
        printer={"bed": ["220 mm", "220 mm"], "height": "600 mm", "layer": "0.30 mm"},
        stated={"glass_transition": "50 degC +- 4 degC", "set_temperature": "22 degC +- 2 degC"},
    )


@lru_cache(maxsize=32)
def _planned(key: str) -> Plan:
    return jobs.plan_of(json.loads(key), 120)


def planned(data: dict[str, Any]) -> Plan:
    return _planned(json.dumps(data))


def judged(data: dict[str, Any]) -> release.Release:
    found = planned(data).release
    assert found is not None
    return found


class Drawn:
    """Parts drawn from one job, and their least gap to spare at the moments of any steps."""

    def __init__(self, data: dict[str, Any]) -> None:
        plan = planned(data)
        job, stack = plan.job, plan.stack
        parts = read_constituents(job, stack.layers, plan.library)
        nodes = pick_places(stack, 24)
        self.case: Case = open_case(
            job, stack, parts, plan.surface, plan.fit.chain, plan.library, nodes
        )
        cells = cells_at(job, stack, nodes, 0, read_resin(job, plan.library), plan.library)
        infill = job.mould.core.infill
        self.follower = Follower(cells, infill is not None, plan.library)
        root = np.sqrt(np.diag(self.case.covariance))
        self.rows = self.case.mean + root * np.random.default_rng(1).standard_normal(
            (DRAWS, len(root))
        )

    def spare(self, *steps: Step) -> tuple[Moments, Array]:
        """Moments, and the least margin (moment, part)."""
        now = self.follower.follow(SHOP, steps)
        faster = self.follower.follow(SHOP, steps, 1.0 + self.case.pace)
        wall = self.case.seats.wall(self.rows)
        margins = self.case.margins(self.rows, wall, now, faster, slice(None))
        return now, margins.min(axis=-1)


def share(these: NDArray[np.bool_]) -> float:
    return float(np.mean(these))


def test_an_unsmoothed_straight_mould_keys() -> None:
    """A cold morning frees a smooth straight mould, not one with its layer lines."""
    cold = [{"stay": "12 h", "at": "8 degC", "in": "air"}]
    rough, smooth = (judged(tube_job(55.0, cold, s)) for s in ([], SANDED))
    assert 1.0 - rough.odds > MOST
    assert smooth.odds > MOST
    assert rough.gap[rough.best].min() > 0.0  # it does not grip: it is keyed


@pytest.mark.parametrize("plastic", ["ASA", "PLA", "PETG"])
def test_heat_below_softening_tightens(plastic: str) -> None:
    drawn = Drawn(tube_job(50.0, [], plastic=plastic))
    for degrees, tighter in ((42.0, True), (2.0, False)):
        medium: Medium = "oven" if tighter else "air"
        _, spare = drawn.spare(Step(8 * 3600.0, degrees + 273.15, medium))
        change = spare[-1] - spare[0]
        assert share(change < 0.0 if tighter else change > 0.0) > MOST


def test_past_softening_the_mould_lets_go_and_the_part_is_scrap() -> None:
    hot, warm = (
        planned(tube_job(50.0, [{"stay": "8 h", "at": at, "in": "oven"}], plastic="PLA"))
        for at in ("75 degC", "42 degC")
    )
    assert hot.release is not None
    assert warm.release is not None
    assert hot.release.odds > MOST
    assert 1.0 - warm.release.odds > MOST
    assert "release.past-glass" in {finding.id for finding in hot.stops}
    assert release_checks.comes_off(hot.release) == "no"
    assert "release.past-glass" not in {finding.id for finding in warm.findings}


@pytest.mark.parametrize("degrees", [47.0, 53.0, 59.0])
def test_a_smooth_waxed_mould_frees_after_a_long_freezer(degrees: float) -> None:
    long = [{"stay": "16 h", **FREEZER}]
    assert judged(tube_job(degrees, long)).odds > MOST


def test_at_low_angles_the_freezer_does_not_free_a_straight_mould() -> None:
    steps = [{"stay": "16 h", **FREEZER}]
    assert 1.0 - judged(tube_job(28.0, steps, plastic="PLA")).odds > MOST
    assert judged(tube_job(50.0, steps, plastic="PLA")).odds > MOST


def test_a_short_stay_does_nothing_for_a_solid_core() -> None:
    """Twenty minutes make less than a quarter of sixteen hours; through a thin wall, over half."""
    for core, little in (("solid", True), ({"hollow": "3 mm"}, False)):
        drawn = Drawn(tube_job(50.0, [], core=core))
        gained = []
        for stay in (1200.0, 16 * 3600.0):
            _, spare = drawn.spare(Step(stay, 255.15, "freezer"))
            gained.append(spare[-1] - spare[0])
        part = gained[0] / gained[1]
        assert share(part < 0.25 if little else part > 0.5) > MOST


def test_low_angles_on_a_slope_need_travel() -> None:
    """At the tip, where the sleeve is stretched thin, the part grips until it is worked along."""
    drawn = Drawn(jobs.raw(surface=SANDED))
    moments = drawn.follower.follow(SHOP, [Step(60.0, SHOP, "air")])
    seats, wall = drawn.case.seats, drawn.case.seats.wall(drawn.rows)
    heat = heat_at(moments, 0)
    still, moved = (seats.gap(drawn.rows, wall, heat, travel) for travel in (0.0, 0.5e-3))
    tip = int(np.argmax(seats.sine))
    straight = np.flatnonzero(np.abs(seats.sine) < 1e-3)
    assert share(still[:, tip] < 0.0) > MOST
    assert share(moved[:, tip] > 0.0) > MOST
    assert np.allclose(moved[:, straight], still[:, straight], atol=1e-9)


def test_hot_water_outside_helps_for_seconds_at_most() -> None:
    """The wall warms before the mould does; a minute later everything is tighter. Cold, the
    other way round."""
    drawn = Drawn(tube_job(45.0, [], core={"hollow": "3 mm"}))
    for degrees, sign in ((48.0, 1.0), (1.0, -1.0)):
        moments, spare = drawn.spare(Step(1800.0, degrees + 273.15, "water"))
        change = sign * (spare - spare[0])
        late = moments.times > 60.0
        assert share(change[late].max(axis=0) < 0.0) > MOST
        best = np.maximum(change[~late].max(axis=0), 0.0)
        assert share(best < 0.3 * np.abs(change[-1])) > MOST
