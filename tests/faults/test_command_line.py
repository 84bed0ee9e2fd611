"""The command line as its user meets it: exit codes, whole folders, errors without traceback."""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

from mandrelwright.cli import app
from tests.faults.test_bad_jobs import CASES, GOOD, spoilt

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
NOSE = EXAMPLES / "plover-nose.toml"
SHARP = (
    NOSE.read_text(encoding="utf-8")
    .replace('tip = { open = "38 mm" }', 'tip = "pointed"')
    .replace('pull_rod = "10.2 mm"\nvent = "3 mm"\n', "")
)


def run(*arguments: str | Path):
    """The outcome of one command, in this process."""
    return CliRunner().invoke(app, [str(argument) for argument in arguments])


def digest(folder: Path) -> dict[str, str]:
    """Every file of a folder by its SHA-256."""
    return {name: hashlib.sha256(content).hexdigest() for name, content in tree(folder).items()}


@pytest.fixture
def built(tmp_path: Path) -> Path:
    """A folder that looks like an earlier build."""
    folder = tmp_path / "out"
    folder.mkdir()
    (folder / "report.html").write_text("an earlier report")
    (folder / "segments").mkdir()
    (folder / "segments" / "mould.stl").write_bytes(b"an earlier mould")
    return folder


@pytest.mark.parametrize("kind", CASES)
def test_bad_input_exits_2_and_leaves_the_folder(kind: str, tmp_path: Path, built: Path) -> None:
    before = digest(built)
    for case in CASES[kind]:
        job = tmp_path / "bad.toml"
        job.write_text(spoilt(case)[0], encoding="utf-8")
        result = run("build", job, "--to", built)
        assert result.exit_code == 2, result.output
        assert "Traceback" not in result.output
        assert digest(built) == before


@pytest.mark.parametrize("date", ["25.11.2026", "2026-13-01", "20261125", "today"])
def test_a_date_is_written_in_one_way(date: str, built: Path) -> None:
    before = digest(built)
    result = run("build", NOSE, "--to", built, "--date", date)
    assert result.exit_code == 2
    assert "2026-11-25" in result.output
    assert digest(built) == before


@pytest.mark.parametrize("content", [b"", b"\xff\xfe\x00", b"x" * 10_000_000, b"[[["])
def test_junk_exits_2(content: bytes, tmp_path: Path, built: Path) -> None:
    before = digest(built)
    job = tmp_path / "junk.toml"
    job.write_bytes(content)
    assert run("build", job, "--to", built).exit_code == 2
    assert digest(built) == before


def test_a_good_job_builds_everything_once_and_again_alike(tmp_path: Path) -> None:
    first, second = tmp_path / "a", tmp_path / "b"
    assert run("build", NOSE, "--to", first).exit_code == 0
    assert run("build", NOSE, "--to", second).exit_code == 0
    files = {path.name for path in first.iterdir()}
    assert {"section.svg", "strips.svg", "ladder.svg", "report.html", "report.json",
            "mould.3mf", "segments"} <= files  # fmt: skip
    assert tree(first) == tree(second)


def tree(folder: Path) -> dict[str, bytes]:
    """Every file below a folder with its bytes."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_a_stop_exits_1_and_leaves_no_mould(tmp_path: Path) -> None:
    job, out = tmp_path / "sharp.toml", tmp_path / "out"
    job.write_text(SHARP, encoding="utf-8")
    assert run("check", job).exit_code == 1
    assert run("build", job, "--to", out).exit_code == 1
    files = {path.name for path in out.iterdir()}
    assert "report.html" in files
    assert not files & {"mould.3mf", "segments"}


def test_adopting_the_proposal_passes_and_never_overwrites(tmp_path: Path) -> None:
    job, new = tmp_path / "sharp.toml", tmp_path / "adopted.toml"
    job.write_text(SHARP, encoding="utf-8")
    assert run("check", job, "--adopt", new).exit_code == 1
    assert run("check", new).exit_code == 0
    assert "# " in new.read_text(encoding="utf-8")  # comments kept
    before = new.read_bytes()
    assert run("check", job, "--adopt", new).exit_code == 2
    assert new.read_bytes() == before


def test_an_accepted_stop_builds_and_stands(tmp_path: Path) -> None:
    flat = NOSE.read_text(encoding="utf-8").replace('height = "240 mm"', 'height = "900 mm"')
    job, out = tmp_path / "wide.toml", tmp_path / "out"
    wide = flat.replace('bed = ["220 mm", "220 mm"]', 'bed = ["120 mm", "120 mm"]')
    job.write_text(wide, encoding="utf-8")
    assert run("build", job, "--to", out).exit_code == 1
    accept = '\n[[accept]]\nfinding = "print.wider-than-bed"\nreason = "printed by a friend"\n'
    job.write_text(wide + accept, encoding="utf-8")
    assert run("build", job, "--to", out).exit_code == 0
    assert (out / "mould.stl").exists()
    assert not (out / "segments").exists()  # printed in one piece
    assert "printed by a friend" in (out / "report.html").read_text(encoding="utf-8")


def test_output_that_is_a_link_a_file_or_somebody_elses(tmp_path: Path) -> None:
    mine = tmp_path / "mine"
    mine.mkdir()
    (mine / "thesis.txt").write_text("years of work")
    (tmp_path / "link").symlink_to(mine)
    (tmp_path / "file").write_text("a file")
    for target in ("link", "file", "mine"):
        result = run("build", NOSE, "--to", tmp_path / target)
        assert result.exit_code == 2, target
        assert target in result.output
    assert (mine / "thesis.txt").read_text() == "years of work"
    assert [path.name for path in mine.iterdir()] == ["thesis.txt"]


def test_a_folder_that_cannot_be_written(built: Path) -> None:
    """/proc refuses even root, whom permission bits do not stop."""
    result = run("build", NOSE, "--to", "/proc/mandrelwright-out")
    assert result.exit_code == 2
    assert "/proc" in result.output


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["--mark", "A=98,31"], "98,31"),
        (["--mark", "A"], "not a reading"),
        (["--mark", "Z=99.1"], "A (coupler)"),
        (["--mark", "A=89.13"], "slip"),
        (["--mark", "A=nan"], "nan"),
        (["--mark", "A=99.1 kg"], "kg"),
        (["--mark", "A=99.1", "--stage", "wet"], "printed, ready, part"),
        (["--mark", "A=99.1", "--at", "22"], "22"),
        (["--readings", "nowhere.toml"], "nowhere.toml"),
        ([], "no reading"),
    ],
)
def test_bad_readings(arguments: list[str], says: str) -> None:
    result = run("gate", NOSE, *arguments)
    assert result.exit_code == 2
    assert says in result.output
    assert "Traceback" not in result.output


def test_readings_from_a_file_answer_like_the_command_line(tmp_path: Path) -> None:
    file = tmp_path / "readings.toml"
    file.write_text('[[reading]]\nmark = "A"\nreads = "99.05 mm"\n')
    one = run("gate", NOSE, "--readings", file, "--json")
    other = run("gate", NOSE, "--mark", "A=99.05", "--json")
    assert json.loads(one.output) == json.loads(other.output)
    assert "film" in json.loads(one.output)["instruction"]


@pytest.mark.parametrize("command", [["schema"], ["materials", "--json"], ["check", NOSE, "--json"],
                                     ["why", NOSE, "--json"]])  # fmt: skip
def test_machine_readable_output_is_json(command: list[str]) -> None:
    result = run(*command)
    assert result.exit_code == 0
    json.loads(result.output)


def test_new_asks_six_questions_and_its_job_passes(tmp_path: Path) -> None:
    answers = "102.21 mm\n99.03 mm +- 0.02 mm\n1\n392 mm\ny\n2\n1\nASA\n\n\n\n1\n"
    job = tmp_path / "first.toml"
    result = CliRunner().invoke(app, ["new", str(job)], input=answers)
    assert result.exit_code == 0, result.output
    assert "# default" in job.read_text(encoding="utf-8")
    assert run("check", job).exit_code == 0
    assert CliRunner().invoke(app, ["new", str(job)], input=answers).exit_code == 2


def test_new_asks_again_for_a_length_it_cannot_read(tmp_path: Path) -> None:
    answers = "102,21 mm\n102.21 mm\n99.03\n99.03 mm\n1\n392 mm\ny\n2\n1\nASA\n\n\n\n1\n"
    job = tmp_path / "first.toml"
    result = CliRunner().invoke(app, ["new", str(job)], input=answers)
    assert result.exit_code == 0, result.output
    assert "comma" in result.output
    assert "unit" in result.output
    assert "}#" not in job.read_text(encoding="utf-8")


def test_a_fresh_process_says_the_verdict_first_without_traceback() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "mandrelwright", "check", str(NOSE)],
        capture_output=True, text=True, check=False, env={**os.environ, "COLUMNS": "200"},
    )  # fmt: skip
    assert done.returncode == 0
    assert done.stdout.startswith("Can be made. Of 100 first moulds")
    assert not done.stderr
    assert GOOD
