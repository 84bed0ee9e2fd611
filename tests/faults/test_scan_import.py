"""A scan at the command line: its readings in the log, and what is refused."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest
import trimesh
from typer.testing import CliRunner

from mandrelwright import plan_job
from mandrelwright.cli import app
from mandrelwright.shop.entries import Reading
from mandrelwright.shop.log import log_beside, open_log

EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "plover-nose.toml"
LARGER = 0.1  # mm, on radius


@pytest.fixture(scope="module")
def scan(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The prepared mould, 0.2 mm too large, as another library revolves and writes it."""
    ready = plan_job(EXAMPLE).fit.ready
    x = np.linspace(ready.x[0], ready.x[-1], 900)
    profile = np.column_stack([np.interp(x, ready.x, ready.r) * 1e3 + LARGER, x * 1e3])
    path = tmp_path_factory.mktemp("scan") / "mould.stl"
    trimesh.creation.revolve(profile, sections=240).export(path)
    return path


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return Path(shutil.copy(EXAMPLE, tmp_path / "nose.toml"))


def mw(*arguments: str | Path) -> tuple[int, str]:
    done = CliRunner().invoke(app, [str(each) for each in arguments])
    return done.exit_code, done.output


def test_a_scan_becomes_readings_that_point_at_it(job: Path, scan: Path) -> None:
    code, told = mw("import", job, scan, "--stage", "ready", "--unit", "mm", "--at", "20 degC")
    assert code == 0, told
    with open_log(log_beside(job)) as log:
        rows = [row.entry for row in log.standing()]
    readings = {entry.mark: entry for entry in rows if isinstance(entry, Reading)}
    (kept,) = [entry for entry in rows if entry.kind == "photo"]
    plan = plan_job(job)
    assert set(readings) == {mark.name for mark in plan.mould.marks}
    for mark in plan.mould.marks:
        true = 2.0 * np.interp(mark.x, plan.fit.ready.x, plan.fit.ready.r) + 2e-3 * LARGER
        place = readings[mark.name].place
        doubt = 2.0 * abs(mark.slope) * (place.value if place else 0.0)
        assert readings[mark.name].reads.value == pytest.approx(true, abs=15e-6 + 2.0 * doubt)
        assert readings[mark.name].source == kept.id


def test_the_same_scan_again_is_refused(job: Path, scan: Path) -> None:
    given = ("import", job, scan, "--stage", "printed", "--unit", "mm")
    assert mw(*given)[0] == 0
    code, told = mw(*given)
    assert code == 2
    assert "is in the log as entry" in told


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (("--unit", "mm"), "--stage"),
        (("--stage", "ready"), "no unit of a scan"),
        (("--stage", "ready", "--unit", "in"), "points reach over"),
        (("--stage", "ring", "--unit", "mm"), "of a scan is not known"),
    ],
)
def test_what_is_not_stated_of_a_scan_is_asked_for(
    job: Path, scan: Path, options: tuple[str, ...], says: str
) -> None:
    code, told = mw("import", job, scan, *options)
    assert code == 2
    assert says in told
    assert "Traceback" not in told
    with open_log(log_beside(job)) as log:
        assert not [row for row in log.entries() if row.entry.kind == "reading"]
