"""What the shop has learned reaches the pages, and not the steps of a mould it was learned from."""

from __future__ import annotations

import shutil
from pathlib import Path

from typer.testing import CliRunner

from mandrelwright import plan_job
from mandrelwright.bench import redraw
from mandrelwright.cli import app
from mandrelwright.job.corrections import corrections_path

EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "plover-nose.toml"


def test_pages_plan_with_the_corrections_beside_the_job(tmp_path: Path) -> None:
    job = Path(shutil.copy(EXAMPLE, tmp_path / "nose.toml"))
    text = job.read_text("utf-8")
    before = redraw.complete(job, text, "mm")["verdict"]["sentence"]
    given = ["measure", str(job), "--new", "--stage", "printed", "--mark", "A=99.20", "--yes"]
    assert CliRunner().invoke(app, given).exit_code == 0
    assert CliRunner().invoke(app, ["next", str(job)]).exit_code == 0
    assert corrections_path(job).exists()
    told = redraw.complete(job, text, "mm")["verdict"]["sentence"]
    assert told == plan_job(job).verdict.sentence
    assert told != before
    own, other = redraw.steps(job, text, "1"), redraw.steps(job, text, "2")
    aims = [str(found["steps"]).partition("Aim ")[2][:8] for found in (own, other)]
    assert aims[0] != aims[1]
