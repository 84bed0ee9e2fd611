"""The treatment plan: what rings tell the chain, hours, roughness, films, solvent, dryness."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy import optimize, stats

from mandrelwright.job.coupons import Coupons
from mandrelwright.job.read import library_of, read_job
from mandrelwright.plan import Plan, make_plan
from mandrelwright.quantities import Quantity
from mandrelwright.stages.smoothing import predict_loss
from tests import jobs

ROOT = Path(__file__).resolve().parents[2]
SMOOTH: dict[str, Any] = {"do": "smooth", "with": "acetone vapour, cold", "time": "25 min"}
WAX = {"do": "wax", "coats": 5}
COLD = Quantity(1200.0, 780.0)  # the library's time constant of cold vapour, 20 ± 13 min
ROWS = ((10, 0.023), (10, 0.013), (25, 0.031), (25, 0.044), (25, 0.036), (40, 0.049))  # min, mm


def rings(rows: Sequence[tuple[float, float]]) -> Coupons:
    """Rings of 50 mm by minutes and loss in mm."""
    time, loss = zip(*rows, strict=True)
    return Coupons(
        tuple(60.0 * t for t in time),
        tuple(0.05 for _ in loss),
        tuple(0.05 - 1e-3 * item for item in loss),
    )


def nose(folder: Path, rows: Sequence[tuple[float, float]] | None, more: str = "") -> Plan:
    """The example's plan, smoothed for 25 min by these rings."""
    text = (ROOT / "examples" / "plover-nose.toml").read_text("utf-8")
    if rows is not None:
        lines = [f"{t},{50.0},{50.0 - loss:.6f}" for t, loss in rows]
        (folder / "rings.csv").write_text("\n".join(["minutes,before (mm),after [mm]", *lines]))
        more += 'coupon = "rings.csv"\n'
    path = folder / "nose.toml"
    path.write_text(text.replace('time = "25 min"\n', f'time = "25 min"\n{more}'), "utf-8")
    job = read_job(path)
    return make_plan(job, library_of(job), 100)


def of(*steps: dict[str, Any], **changes: Any) -> Plan:
    return jobs.plan_of(jobs.raw(surface=list(steps), **changes), 100)


def ids(plan: Plan) -> set[str]:
    return {finding.id.removeprefix("surface.") for finding in plan.findings}


def test_rings_move_the_mean_and_narrow_the_spread_of_the_chain(tmp_path: Path) -> None:
    """By scipy's regression on 1 − e^(−t/20 min), τ being the library's for three times."""
    plan = nose(tmp_path, ROWS)
    chain = plan.fit.chain
    item = chain.inputs[chain.index("smoothing")]
    share = {t: 1.0 - math.exp(-t / 20.0) for t in (10, 25, 40)}
    x, y = np.array([share[t] for t, _ in ROWS]), np.array([loss for _, loss in ROWS])
    line = stats.linregress(x, y)
    mean = line.intercept + line.slope * share[25]
    residual = math.sqrt(np.sum((y - line.intercept - line.slope * x) ** 2) / 4)
    lever = 1 + 1 / 6 + (share[25] - x.mean()) ** 2 / np.sum((x - x.mean()) ** 2)
    spread = stats.t.ppf(0.975, 4) / stats.norm.ppf(0.975) * residual * math.sqrt(lever)
    assert -item.mean * 1e3 == pytest.approx(mean, rel=1e-9)
    doubt = _of_the_time_constant(x, y)
    assert item.spread * 1e3 == pytest.approx(math.hypot(spread, doubt), rel=1e-9)
    assert (item.basis, item.source) == ("measured", "coupon in the job")
    guess = nose(tmp_path, None).fit.chain
    assert item.spread < 0.4 * guess.inputs[guess.index("smoothing")].spread


def _of_the_time_constant(x: np.ndarray, y: np.ndarray) -> float:
    """Half the change of the prediction over τ ± its spread, at most by half of τ."""
    ends = []
    for tau in (10.0, 30.0):
        share = [1.0 - math.exp(-t / tau) for t, _ in ROWS]
        line = stats.linregress(share, y)
        ends.append(line.intercept + line.slope * (1.0 - math.exp(-25 / tau)))
    return 0.5 * abs(ends[1] - ends[0])


def test_four_times_tell_the_time_constant_too() -> None:
    """Against scipy's curve_fit, its covariance included."""
    rows = ((6, 0.012), (12, 0.033), (20, 0.034), (35, 0.058), (50, 0.049), (80, 0.066))
    t, loss = np.array(rows).T

    def model(t: np.ndarray, full: float, tau: float) -> np.ndarray:
        return full * (1.0 - np.exp(-t / tau))

    (full, tau), covariance = optimize.curve_fit(
        model, t, loss, (0.05, 15.0), ftol=1e-14, xtol=1e-14
    )
    told = predict_loss(rings(rows), 25 * 60.0, COLD, stated=False)
    assert told.told == "rings"
    assert told.time_constant / 60.0 == pytest.approx(tau, rel=1e-6)
    assert told.time_constant_spread / 60.0 == pytest.approx(covariance[1, 1] ** 0.5, rel=1e-4)
    assert told.loss * 1e3 == pytest.approx(float(model(np.array(25.0), full, tau)), rel=1e-6)
    slopes = np.array([1 - math.exp(-25 / tau), -full * 25 / tau**2 * math.exp(-25 / tau)])
    residual = np.sum((loss - model(t, full, tau)) ** 2) / 4
    deviation = math.sqrt(residual + slopes @ covariance @ slopes)
    wide = stats.t.ppf(0.975, 4) / stats.norm.ppf(0.975)
    assert told.spread * 1e3 == pytest.approx(wide * deviation, rel=1e-4)
    half = 1.959963984540054 * told.spread
    assert told.band == pytest.approx((told.loss - half, told.loss + half))


def test_rings_of_one_time_tell_that_time() -> None:
    """Mean and s√(1 + 1/n) of the rings, whatever τ."""
    told = predict_loss(rings([(25, 0.03), (25, 0.05), (25, 0.04)]), 1500.0, COLD, stated=False)
    assert told.loss == pytest.approx(4e-5)
    wide = stats.t.ppf(0.975, 2) / stats.norm.ppf(0.975)
    assert told.spread == pytest.approx(wide * 1e-5 * math.sqrt(4 / 3), rel=1e-9)


def test_no_caliper_tells_less_than_its_step() -> None:
    """Three rings alike: two readings rounded to 0.01 mm still differ by 0.01/√6 mm."""
    told = predict_loss(rings([(25, 0.04)] * 3), 1500.0, COLD, stated=False)
    wide = stats.t.ppf(0.975, 2) / stats.norm.ppf(0.975)
    assert told.spread * 1e3 == pytest.approx(wide * 0.01 / math.sqrt(6), rel=1e-9)


def test_a_stated_time_constant_stands(tmp_path: Path) -> None:
    plan = nose(tmp_path, ROWS, 'time_constant = "15 min"\n')
    (fit,) = plan.surface.rings
    assert (fit.told, fit.time_constant) == ("job", 900.0)
    assert "time-constant-guessed" not in ids(plan)
    assert "loss-not-measured" not in ids(plan)


def test_rings_too_short_and_rings_that_grew(tmp_path: Path) -> None:
    assert "beyond-rings" in ids(nose(tmp_path, [(5, 0.01), (10, 0.02), (15, 0.03)]))
    grew = nose(tmp_path, [(10, -0.03), (25, -0.05), (40, -0.06)])
    assert "rings-grew" in ids(grew)
    assert grew.surface.treatments[1].diameter > 0.0


def test_hours_until_the_lay_up() -> None:
    """25 min in the vapour, a day before wax, 60 h before epoxy: the library's waits."""
    surface = of({"do": "sand", "off": "0.02 mm"}, SMOOTH, WAX).surface
    hours = [step.begins / 3600.0 for step in surface.steps]
    assert hours == pytest.approx([0.0, 0.0, 24 + 25 / 60])
    assert surface.ready / 3600.0 == pytest.approx(60 + 25 / 60)
    assert math.isnan(surface.steps[2].waits)  # as the can says
    longer = of({**SMOOTH, "dries": "80 h"}, WAX).surface
    assert longer.ready / 3600.0 == pytest.approx(80 + 25 / 60)


def test_each_treatment_finds_what_the_one_before_left() -> None:
    """Lines sanded away have nothing left to level: only the run-off of 20 µm remains."""
    sanded = of({"do": "sand", "off": "0.2 mm"}, SMOOTH).surface
    rough = [float(step.roughness.max()) * 1e6 for step in sanded.steps]
    assert rough == pytest.approx([1.0, 0.8 + 0.2 * math.exp(-1.25)])
    levelled = 2 / 3 * 9 * math.sqrt(3) / 4 * 1.0 * (1 - math.exp(-1.25))  # of 1 µm of paper
    assert sanded.treatments[1].diameter * 1e6 == pytest.approx(-20 - levelled, rel=1e-6)


def test_films_by_wraps_and_stretch() -> None:
    """Two wraps of 50 µm: 200 µm on diameter. 60 µm opened by λ: between 60/λ and 60/√λ."""
    flat = of(release={"system": "release tape", "film": "50 um", "wraps": 2}).surface
    assert flat.films[0].diameter * 1e6 == pytest.approx(200)
    release = {"system": "stretched release sleeve", "film": "60 um", "stretched_from": "70 mm"}
    plan = of(release=release)
    opens = 2 * plan.mould.curve.r.max() / 0.07
    thin, thick = 60 / opens, 60 / math.sqrt(opens)
    film = plan.surface.films[0]
    assert film.diameter * 1e6 == pytest.approx(thin + thick, rel=1e-9)
    assert film.spread * 1e6 == pytest.approx(2 * (thick - thin) / math.sqrt(12), rel=1e-9)


def test_a_film_lies_in_strips_only(tmp_path: Path) -> None:
    """A whole film pleats on a nose; the widest strip it advises lies, the next one does not."""
    release = {"system": "polyester film wrap"}
    whole = of(release=release)
    (stop,) = [item for item in whole.findings if item.id == "surface.film-pleats"]
    width = int(stop.do[0].partition("wider than ")[2].partition(" mm")[0])
    assert "film-pleats" not in ids(of(release={**release, "width": f"{width} mm"}))
    assert "film-pleats" in ids(of(release={**release, "width": f"{width + 25} mm"}))


REFUSED: dict[str, dict[str, Any]] = {
    "does-not-smooth": {"mould": {"plastic": "PETG"}, "surface": [SMOOTH]},
    "wall-softens": {
        "mould": {"plastic": "ASA", "core": {"walls": 1, "infill": "15 %"}},
        "surface": [SMOOTH],
    },
    "out-of-order": {"surface": [WAX, {"do": "sand", "off": "0.02 mm"}]},
    "repelled": {"surface": [WAX], "release": {"system": "release spray"}},
    "solvent-in-heat": {
        "surface": [{**SMOOTH, "dries": "24 h"}],
        "schedule": [{"stay": "8 h", "at": "60 degC"}],
    },
    "sleeve-is-loose": {
        "release": {"system": "stretched release sleeve", "stretched_from": "130 mm"}
    },
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_work_is_stopped_with_a_remedy(name: str) -> None:
    plan = jobs.plan_of(jobs.raw(**REFUSED[name]), 100)
    (stop,) = [item for item in plan.findings if item.id == f"surface.{name}"]
    assert stop.level == "stop"
    assert stop.do
    assert stop in plan.stops


def test_the_same_that_works_is_not_stopped() -> None:
    plan = of({**SMOOTH, "dries": "72 h"}, WAX, schedule=[{"stay": "8 h", "at": "60 degC"}])
    assert not {item.id for item in plan.stops if item.step == "surface"}


def test_a_frozen_mould_must_be_dry_too() -> None:
    plan = of({**SMOOTH, "dries": "24 h"}, schedule=[{"stay": "8 h", "at": "-18 degC"}])
    assert "solvent-in-heat" in ids(plan)


@pytest.mark.parametrize(
    "stay",
    [
        {"stay": "8 h", "at": "25 degC", "in": "oven"},
        {"stay": "8 h", "at": "30 degC", "in": "hot box"},
        {"stay": "8 h", "at": "-5 degC", "in": "freezer"},
    ],
)
@pytest.mark.parametrize("key", ["schedule", "release_steps"])
def test_no_box_that_switches_takes_a_wet_mould(stay: dict[str, str], key: str) -> None:
    """Before the part is pulled as while it cures, however near the shop's own temperature."""
    assert "solvent-in-heat" in ids(of({**SMOOTH, "dries": "24 h"}, **{key: [stay]}))
    assert "solvent-in-heat" not in ids(of({**SMOOTH, "dries": "72 h"}, **{key: [stay]}))


def test_a_film_is_judged_against_the_release_steps_too() -> None:
    hot, bare = (
        of(schedule=[{"stay": "48 h", "at": "shop"}], **more)
        for more in (
            {"release_steps": [{"stay": "1 h", "at": "95 degC"}]},
            {"release_steps": [{"stay": "1 h", "at": "40 degC"}]},
        )
    )
    assert "release-too-hot" in ids(hot)
    assert "release-too-hot" not in ids(bare)


def test_the_exposure_limit_comes_first_and_nothing_is_allowed() -> None:
    """15 mL and 153 mL in 20 m³, 0.76 mL in 10 L at 20 °C: see cases/surface.toml, SUR-1."""
    plan = of(SMOOTH, shop={"temperature": "20 degC", "room": "20 m^3", "box": "10 L"})
    (both,) = (item for item in plan.findings if item.id == "surface.solvent-amounts")
    assert both.what.startswith("15 mL of acetone")
    assert "250 ppm" in both.what
    assert "a box of 10 L" in both.what
    assert both.why.startswith("153 mL")
    assert "0.76 mL make it explode" in both.why
    assert "allowance" in both.why
    assert "23.7 %" in next(f.why for f in plan.findings if f.id == "surface.solvent-vapour")


@pytest.mark.parametrize(
    ("grams", "dry"), [((212.40, 212.21), "no"), ((212.40, 212.39), "yes"), ((212.4, 212.3), "")]
)
def test_dryness_by_weight(grams: tuple[float, float], dry: str) -> None:
    """0.09 %/d is not dry, 0.005 %/d is, 0.047 ± 0.007 %/d of a limit of 0.05 is not resolved."""
    weighings = [[f"{24 * day} h", f"{g} g +- 0.01 g"] for day, g in enumerate(grams)]
    surface = of({**SMOOTH, "weighings": weighings}).surface
    assert surface.drying[0].dry == (dry or "not resolved")
    assert (surface.ready / 3600.0 < 25) == (dry == "yes")


def test_a_kitchen_scale_does_not_tell() -> None:
    weighings = [["0 h", "212 g"], ["24 h", "212 g"]]
    assert of({**SMOOTH, "weighings": weighings}).surface.drying[0].dry == "not resolved"


def test_the_planned_rings_narrow_as_foretold() -> None:
    """Rings drawn as the plan supposes leave, on average of variances, the spread it expects."""
    plan = of(SMOOTH)
    (wanted,) = plan.surface.plans
    sigma = math.hypot(0.010, 0.020 * math.sqrt(2 / 4))  # ring to ring; caliper, four readings
    generator = np.random.default_rng(4)
    squares = []
    times = np.repeat(np.array(wanted.times) / 60.0, wanted.each)
    for _ in range(300):
        loss = 0.4 * (1 - np.exp(-times / 20.0)) + sigma * generator.standard_normal(len(times))
        told = predict_loss(rings(list(zip(times, loss, strict=True))), 1500.0, COLD, False)
        assert told.told == "rings"
        squares.append(told.spread**2)
    assert math.sqrt(np.mean(squares)) == pytest.approx(wanted.expected, rel=0.06)
    assert wanted.expected < 0.67 * wanted.now


def test_nineteen_of_twenty_moulds_lie_in_the_band() -> None:
    """The band of rings of three times with a time constant that is known."""
    generator = np.random.default_rng(7)
    times, inside = np.repeat([12.0, 25.0, 40.0], 2), 0
    for _ in range(400):
        loss = 0.01 + 0.06 * (1 - np.exp(-times / 20.0)) + 0.01 * generator.standard_normal(6)
        told = predict_loss(
            rings(list(zip(times, loss, strict=True))), 1500.0, Quantity(1200.0), True
        )
        mould = 0.01 + 0.06 * (1 - math.exp(-1.25)) + 0.01 * generator.standard_normal()
        inside += told.band[0] * 1e3 <= mould <= told.band[1] * 1e3
    assert inside / 400 == pytest.approx(0.95, abs=0.035)  # three deviations of the count
