"""What docs/flight.md tells a builder to try, run: its tables come out of the plan."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest

from mandrelwright.findings.finding import Level
from mandrelwright.job.read import library_of, read_job
from mandrelwright.physics.local_buckling import PRESSURE
from mandrelwright.plan import Plan, make_plan
from mandrelwright.quantities import celsius
from mandrelwright.stages.strength import LOCAL

ROOT = Path(__file__).resolve().parents[2]
NOSE = (ROOT / "examples" / "plover-nose.toml").read_text("utf-8")
PAGE = (ROOT / "docs" / "flight.md").read_text("utf-8")
STATED = NOSE.partition("[flight]\n")[2].partition("\n\n")[0]
GLASS = '"50 degC +- 4 degC"'
BLOCKS = dict(re.findall(r"```toml\n# ([^\n]+)\n(.*?)\n```", PAGE, re.DOTALL))
CURES = {"50": GLASS, "66": '"66 degC +- 2 degC"', "95": '"95 degC +- 5 degC"'}
ROWS = [
    ("subsonic", "50"), ("subsonic", "95"), ("Mach 1.6", "50"), ("Mach 1.6", "95"),
    ("Mach 1.6 held", "50"), ("Mach 1.6 held", "95"), ("black in the sun", "50"),
    ("black in the sun", "95"), ("gust at the peak", "66"), ("gust after it", "66"),
]  # fmt: skip
CARBON = (
    ('fibre = "E-glass"', 'fibre = "carbon standard modulus"'),
    ('tow = "600 tex +- 15 tex"', 'tow = "414 tex +- 15 tex"'),
    ('mass_per_length = "56 g/m"', 'mass_per_length = "38.7 g/m"'),
)
STEPS = ("flight", "strength")
FACTOR = re.compile(r"(\d+\.\d), [a-z]")  # a reserve factor and its case


@cache
def planned(folder: Path, flight: str, glass: str, carbon: bool = False) -> Plan:
    text = NOSE.replace(STATED, flight).replace(GLASS, glass)
    for old, new in CARBON if carbon else ():
        assert old in text
        text = text.replace(old, new)
    path = folder / "job.toml"
    path.write_text(text, "utf-8")
    job = read_job(path)
    return make_plan(job, library_of(job))


def row_of(name: str, cure: str, plan: Plan) -> str:
    """A row of the page: temperatures when the load peaks and when the mean is hottest."""
    flight = plan.flight
    assert flight is not None
    assert plan.strength is not None
    warm = []
    for id in ("peak-angle", "hottest"):
        case = flight.case(id)
        assert case is not None
        warm.append(", ".join(celsius(case.warmest(key))[:-3] for key in ("skin", "mean", "inner")))
    stops = [f.id for f in plan.findings if f.level is Level.STOP and f.step in STEPS]
    least = min(plan.strength.failures, key=lambda one: one.reserve)
    told = ", ".join(f"`{id}`" for id in dict.fromkeys(stops)) or "none"
    cells = (name, f"{cure} °C", *warm, f"{least.reserve:.1f}, {least.name}", told)
    return f"| {' | '.join(cells)} |"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("page")


def said(row: str) -> None:
    """The page has this row; a reserve factor may differ in its last figure."""
    cells = [cell.strip() for cell in row.strip("|").split("|")]
    same = [line for line in PAGE.splitlines() if line.startswith(f"| {cells[0]} | {cells[1]} |")]
    assert len(same) == 1, row
    there = [cell.strip() for cell in same[0].strip("|").split("|")]
    for told, found in zip(there, cells, strict=True):
        if factor := FACTOR.match(found):
            written = FACTOR.match(told)
            assert written is not None, row
            assert float(written[1]) == pytest.approx(float(factor[1]), abs=0.11), row
        else:
            assert told == found, row


@pytest.mark.parametrize(("name", "cure"), ROWS)
def test_the_page_says_what_the_plan_says(folder: Path, name: str, cure: str) -> None:
    said(row_of(name, cure, planned(folder, BLOCKS[name], CURES[cure])))


def test_the_verdict_turns_as_the_page_says(folder: Path) -> None:
    """Cured cold or post-cured, held or not, white or black, the gust together or apart."""

    def stops(name: str, cure: str) -> set[str]:
        plan = planned(folder, BLOCKS[name], CURES[cure])
        return {f.id for f in plan.findings if f.level is Level.STOP and f.step in STEPS}

    assert stops("subsonic", "50") == stops("subsonic", "95") == stops("Mach 1.6", "95") == set()
    assert "flight.soft-under-load" in stops("Mach 1.6", "50")
    assert "flight.soft-under-load" in stops("Mach 1.6 held", "95")
    assert "flight.soft-in-sun" in stops("black in the sun", "50")
    assert stops("black in the sun", "95") == set()
    assert stops("gust at the peak", "66") == set()
    assert "flight.soft-under-load" in stops("gust after it", "66")


def test_local_formulas_find_no_less_than_half_of_what_buckles_the_thin_front(folder: Path) -> None:
    """Outside pressure on two plies ahead of five: SP-8007's share of the perfect shell's load."""
    plan = planned(folder, BLOCKS["Mach 1.6"], CURES["95"])
    assert plan.strength is not None
    assert plan.whole is not None
    local = next(one for one in plan.strength.failures if one.id == "peak-axial")
    whole = next(one for one in plan.whole.cases if one.id == "peak-axial")
    assert local.buckles_by == LOCAL
    assert local.how == "buckling by outside pressure"
    assert 0.5 < local.buckles / (PRESSURE * whole.perfect) < 1.0


def swap_row(name: str, plan: Plan) -> str:
    assert plan.strength is not None
    assert plan.radio is not None
    least = min(plan.strength.failures, key=lambda one: one.reserve)
    heard = next(one for one in plan.radio.antennas if one.name == "position")
    shut = "stop" if any(f.id == "radio.shut-in" for f in plan.findings) else "heard"
    loss = f"{heard.loss:.2g} dB" if heard.loss < 10.0 else f"{heard.loss:.0f} dB"
    cells = (
        name, f"{plan.assembly.laminate * 1e3:.0f} g", f"{plan.assembly.mass * 1e3:.0f} g",
        f"{least.reserve:.1f}, {least.name}", f"{loss}, {shut}",
    )  # fmt: skip
    return f"| {' | '.join(cells)} |"


def test_carbon_moves_mass_reserve_and_radio_as_the_page_says(folder: Path) -> None:
    glass = planned(folder, STATED, GLASS)
    carbon = planned(folder, STATED, GLASS, True)
    for name, plan in (("E-glass", glass), ("carbon", carbon)):
        said(swap_row(name, plan))
    assert carbon.stack.wall.max() == pytest.approx(glass.stack.wall.max(), rel=0.01)
    assert carbon.assembly.laminate < 0.85 * glass.assembly.laminate
    assert carbon.radio is not None
    assert glass.radio is not None
    assert all(one.loss > 50.0 for one in carbon.radio.antennas)
    assert all(one.loss < 1.0 for one in glass.radio.antennas)
