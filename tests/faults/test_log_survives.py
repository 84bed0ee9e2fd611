"""A log under kills, rivals, a full disk, a locked folder: nothing that was kept is lost."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from mandrelwright.shop.log import Log, LogError, open_log
from tests.faults.log_writers import sound

CAMPAIGN = os.environ.get("MANDRELWRIGHT_CAMPAIGN") == "1"
KILLS = 1000 if CAMPAIGN else 100
SEED = 20261125
ROOT = Path(__file__).resolve().parents[2]
NOBODY = 65534


def run(*arguments: object) -> dict[str, int]:
    """What the program of writers found."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.faults.log_writers", *map(str, arguments)],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert isinstance(found, dict)
    return found


def test_killed_writers_lose_nothing_that_was_acknowledged(log_place: str) -> None:
    fresh = 0 if "://" in log_place else 5
    found = run("kill", log_place, SEED, KILLS, fresh)
    assert found["acknowledged"] > KILLS // 2  # the kills did hit writers at work
    assert (found["lost"], found["torn"], found["damaged"]) == (0, 0, 0)


def test_writers_at_once_lose_nothing(log_place: str) -> None:
    found = run("together", log_place, 2, 50)
    assert found == {"acknowledged": 100, "lost": 0, "found": 300, "mixed": 0}


FULL = """
import resource, signal, sys
from mandrelwright.shop.log import LogError, open_log
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
with open_log(sys.argv[1]) as log:
    resource.setrlimit(resource.RLIMIT_FSIZE, (400_000, resource.RLIM_INFINITY))
    try:
        for number in range(1000):
            print(log.add_note(f"{number} " + "x" * 5000).id, flush=True)
    except LogError as error:
        print(error, file=sys.stderr)
        sys.exit(2)
"""


def test_a_full_disk_is_said_and_what_was_acknowledged_stays(tmp_path: Path) -> None:
    """A limit on the size of files stands for the disk: writing fails as it would there."""
    place = tmp_path / "log.sqlite"
    done = subprocess.run(
        [sys.executable, "-c", FULL, str(place)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 2, done.stderr
    assert "make room" in done.stderr
    assert "Traceback" not in done.stderr
    _all_there(str(place), done.stdout.split())


@pytest.fixture
def tiny_disk() -> Iterator[Path]:
    """A file system of 500 kB; only root may mount one, and not everywhere."""
    folder = Path(tempfile.mkdtemp(prefix="mwdisk-"))
    mount = ["mount", "-t", "tmpfs", "-o", "size=500k", "tmpfs", str(folder)]
    if os.geteuid() != 0 or subprocess.run(mount, capture_output=True, check=False).returncode:
        folder.rmdir()
        pytest.skip("a small disk cannot be mounted here; the limit on files stands for it")
    yield folder
    subprocess.run(["umount", str(folder)], check=True)
    folder.rmdir()


def test_a_disk_that_is_really_full(tiny_disk: Path) -> None:
    place = str(tiny_disk / "log.sqlite")
    kept: list[str] = []
    with open_log(place) as log:
        with pytest.raises(LogError, match="make room") as refused:
            _fill(log, kept)
        assert place in str(refused.value)
    subprocess.run(["mount", "-o", "remount,size=5m", str(tiny_disk)], check=True)
    _all_there(place, kept)


def _fill(log: Log, kept: list[str]) -> None:
    for number in range(1000):
        entry = log.add_note(f"{number} " + "x" * 5000)
        kept.append(entry.id)


def _all_there(place: str, kept: list[str]) -> None:
    assert kept
    with open_log(place) as log:
        assert [row.entry.id for row in log.entries()] == kept
        log.add_note("goes on")
    assert sound(place)


@pytest.fixture
def locked_folder() -> Iterator[Path]:
    """A folder with a log in it that this process may read and not write."""
    folder = Path(tempfile.mkdtemp(prefix="mwlocked-"))
    with open_log(folder / "old.sqlite") as log:
        log.add_note("before")
    for file in folder.iterdir():
        file.chmod(0o444)
    folder.chmod(0o555)
    root = os.geteuid() == 0  # whom permission bits do not stop
    if root:
        os.seteuid(NOBODY)
    yield folder
    if root:
        os.seteuid(0)
    folder.chmod(0o755)
    shutil.rmtree(folder)


@pytest.mark.parametrize("name", ["new.sqlite", "old.sqlite"])
def test_a_folder_that_may_not_be_written(locked_folder: Path, name: str) -> None:
    with pytest.raises(LogError, match="yours to write to") as refused:
        open_log(locked_folder / name)
    assert str(locked_folder) in str(refused.value)
    assert [path.name for path in locked_folder.iterdir()] == ["old.sqlite"]


def test_a_log_that_another_holds_is_waited_for_and_then_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import sqlite3

    monkeypatch.setattr("mandrelwright.shop.engine.PATIENCE", 0.1)
    place = tmp_path / "log.sqlite"
    with open_log(place) as log:
        log.add_note("before")
        rival = sqlite3.connect(place, isolation_level=None)
        rival.execute("BEGIN IMMEDIATE")
        with pytest.raises(LogError, match="another program"):
            log.add_note("meanwhile")
        assert len(log.entries()) == 1  # reading needs nobody's leave
        rival.execute("ROLLBACK")
        rival.close()
        log.add_note("after")
        assert len(log.entries()) == 2


def test_a_damaged_file_is_said(tmp_path: Path) -> None:
    place = tmp_path / "log.sqlite"
    with open_log(place) as log:
        for number in range(50):
            log.add_note(f"{number} " + "x" * 2000)
    content = bytearray(place.read_bytes())
    content[4096:60_000] = b"\x55" * (60_000 - 4096)
    place.write_bytes(content)
    with pytest.raises(LogError, match=r"damaged|no log|no shop log"), open_log(place) as log:
        log.entries()
