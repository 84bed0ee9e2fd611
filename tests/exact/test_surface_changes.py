"""What sanding, filling, smoothing, wax and film do to a diameter, by arithmetic on the job."""

from __future__ import annotations

import math
from typing import Any

import pytest

from mandrelwright.stages.surface import Surface
from tests import jobs


def treated(*steps: dict[str, Any], **changes: Any) -> Surface:
    return jobs.plan_of(jobs.raw(surface=list(steps), **changes), 100).surface


def told(changes: Any) -> dict[str, tuple[float, float]]:
    """Change of diameter and its spread by label, in micrometres."""
    return {c.label: (c.diameter * 1e6, c.spread * 1e6) for c in changes}


def test_sanding_and_filling_count_on_both_sides() -> None:
    surface = treated(
        {"do": "fill", "adds": "0.10 mm +- 0.03 mm"},
        {"do": "sand", "off": "0.05 mm +- 0.02 mm"},
        {"do": "sand", "off": "0.02 mm +- 0.01 mm"},
    )
    changes = told(surface.treatments)
    assert len(changes) == 3
    assert sum(change for change, _ in changes.values()) == pytest.approx(2 * (100 - 50 - 20))
    spreads = sorted(spread for _, spread in changes.values())
    assert spreads == pytest.approx([20, 40, 60])


def test_wax_counts_by_its_coats_and_a_stated_film_twice() -> None:
    """One buffed coat is 1 µm ± 0.7 µm in the library, a film of 20 µm ± 8 µm in the job."""
    films = told(treated({"do": "wax", "coats": 5}).films)
    assert films["wax"] == pytest.approx((10, 7))
    assert films["release film"] == pytest.approx((40, 16))


def test_wax_as_release_system_is_not_counted_again() -> None:
    waxed = told(treated({"do": "wax", "coats": 5}, release={"system": "wax"}).films)
    assert waxed == {"wax": pytest.approx((10, 7))}
    bare = told(treated(release={"system": "wax"}).films)
    assert bare == {"release film": pytest.approx((8, 4))}


def test_smoothing_from_a_coupon_is_the_coupon() -> None:
    smooth = {"do": "smooth", "with": "acetone vapour, cold", "time": "25 min"}
    changes = told(treated({**smooth, "loss": "0.04 mm +- 0.02 mm"}).treatments)
    assert changes["smoothing"] == pytest.approx((-40, 20))


def test_smoothing_without_a_coupon_is_levelling_and_run_off() -> None:
    """Ra 0.065·0.2 mm + 1 µm on a vertical wall; scallops of height h = 9√3/4·Ra level by
    2h/3·(1 − e^(−25/20)) on the diameter; run-off 20 µm ± 40 µm; half of the levelling in doubt.

    Ra of parabolic scallops is 4h/(9√3) and their peaks stand h/3 above the mean line.
    """
    smooth = {"do": "smooth", "with": "acetone vapour, cold", "time": "25 min"}
    changes = told(treated(smooth).treatments)
    roughness = 0.065 * 200 + 1
    levelled = 2 / 3 * 9 * math.sqrt(3) / 4 * roughness * (1 - math.exp(-25 / 20))
    change, spread = changes["smoothing"]
    assert change == pytest.approx(-levelled - 20, rel=1e-6)
    assert spread == pytest.approx(math.hypot(levelled / 2, 40), rel=1e-6)


def test_roughness_grows_with_the_slope() -> None:
    """√[(0.065 t)² + (0.6 t sin β/4)²] + 1 µm at t = 0.2 mm, from the slope of the mould."""
    plan = jobs.plan_of(jobs.raw(), 100)
    mould = plan.stack.mould
    node = 20
    slope = (mould.r[node + 1] - mould.r[node - 1]) / (mould.x[node + 1] - mould.x[node - 1])
    expected = math.hypot(0.065 * 200, 0.6 * 200 / 4 * math.sin(math.atan(slope))) + 1
    assert plan.surface.roughness[node] * 1e6 == pytest.approx(expected, rel=2e-3)
    assert plan.surface.roughness[-1] * 1e6 == pytest.approx(0.065 * 200 + 1, rel=1e-9)
