"""What an output folder holds when the path is wrong, the disk refuses or the writer is killed."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from mandrelwright.out import files
from mandrelwright.out.files import OutputError, output_folder, replacing, write_bytes, write_text

NAMES = [f"{i}.txt" for i in range(20)]
ROUNDS = 200 if os.environ.get("MANDRELWRIGHT_CAMPAIGN") == "1" else 10
NOBODY = 65534

# A writer in its own process: generations of files that all hold the same number.
WRITER = """
import os, shutil, signal, sys
from pathlib import Path
from mandrelwright.out.files import OutputError, output_folder
NAMES = [f"{i}.txt" for i in range(20)]
final, generations = Path(sys.argv[1]), int(sys.argv[2])
def publish(generation):
    with output_folder(final, NAMES) as folder:
        for name in NAMES:
            (folder / name).write_text(str(generation))
"""


def publish(final: Path, generation: int, names: list[str] = NAMES) -> None:
    with output_folder(final, NAMES) as folder:
        for name in names:
            (folder / name).write_text(str(generation))


def content(folder: Path) -> dict[str, str]:
    return {entry.name: entry.read_text() for entry in folder.iterdir()}


def whole(folder: Path) -> str:
    """The generation that every one of the files has; fails when they differ or one is missing."""
    held = content(folder)
    assert sorted(held) == sorted(NAMES)
    (generation,) = set(held.values())
    return generation


def start(body: str, *arguments: object) -> subprocess.Popen[str]:
    command = [sys.executable, "-c", WRITER + body, *map(str, arguments)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, text=True)


def test_a_folder_is_made_with_its_parents_and_replaced_whole(tmp_path: Path) -> None:
    final = tmp_path / "out" / "plover"
    publish(final, 1)
    assert whole(final) == "1"
    publish(final, 2, NAMES[:3])  # what an earlier build left does not stay
    assert content(final) == dict.fromkeys(NAMES[:3], "2")
    assert os.listdir(final.parent) == ["plover"]


def test_the_folder_is_as_open_as_any_other(tmp_path: Path) -> None:
    publish(tmp_path / "made", 1)
    (tmp_path / "plain").mkdir()
    assert (tmp_path / "made").stat().st_mode == (tmp_path / "plain").stat().st_mode


def refused(final: Path, reason: str) -> None:
    """Publishing raises an error that names path, reason and remedy and changes nothing."""
    around = final.parent if final.parent.is_dir() else final.parent.parent
    before = sorted(os.listdir(around))
    with pytest.raises(OutputError, match=reason) as raised:
        publish(final, 2)
    assert str(final) in str(raised.value)
    assert raised.value.remedy in str(raised.value)
    assert raised.value.path == final
    assert sorted(os.listdir(around)) == before


def test_a_symbolic_link_is_refused(tmp_path: Path) -> None:
    publish(tmp_path / "real", 1)
    (tmp_path / "link").symlink_to(tmp_path / "real")
    refused(tmp_path / "link", "is a symbolic link")
    assert whole(tmp_path / "real") == "1"
    (tmp_path / "dangling").symlink_to(tmp_path / "nowhere")
    refused(tmp_path / "dangling", "is a symbolic link")


def test_a_link_put_there_during_the_build_is_refused(tmp_path: Path) -> None:
    final = tmp_path / "plover"
    with (
        pytest.raises(OutputError, match="is a symbolic link"),
        output_folder(final, NAMES),
    ):
        final.symlink_to(tmp_path)
    assert os.listdir(tmp_path) == ["plover"]


def test_a_file_in_the_way_is_refused(tmp_path: Path) -> None:
    (tmp_path / "plover").write_text("mine")
    refused(tmp_path / "plover", "is not a folder")
    refused(tmp_path / "plover" / "nose", "cannot be written")
    assert (tmp_path / "plover").read_text() == "mine"


def test_a_folder_with_files_of_the_users_own_is_refused(tmp_path: Path) -> None:
    final = tmp_path / "thesis"
    publish(final, 1)
    (final / "chapter.tex").write_text("mine")
    refused(final, "holds 'chapter.tex'")
    assert (final / "chapter.tex").read_text() == "mine"


@pytest.fixture
def unwritable() -> Iterator[Path]:
    """A folder this process may read but not write to; root steps down to nobody for it."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        publish(folder / "plover", 1)
        folder.chmod(0o555)
        root = os.geteuid() == 0
        if root:
            os.seteuid(NOBODY)
        try:
            yield folder
        finally:
            if root:
                os.seteuid(0)
            folder.chmod(0o755)


def test_a_folder_without_permission_is_refused(unwritable: Path) -> None:
    refused(unwritable / "plover", "permission denied")
    refused(unwritable / "new", "permission denied")
    assert whole(unwritable / "plover") == "1"
    with pytest.raises(OutputError, match="permission denied"):
        write_text(unwritable / "report.json", "{}")


@pytest.mark.skipif(not Path("/proc/self").is_dir(), reason="needs a file system made by a kernel")
def test_a_file_system_that_takes_no_folders_is_refused() -> None:
    refused(Path("/proc/plover"), "cannot be written")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_a_full_disk_is_told(tmp_path: Path) -> None:
    final = tmp_path / "plover"
    publish(final, 1)
    with (
        pytest.raises(OutputError, match="no space left on device"),
        output_folder(final, NAMES),
        open("/dev/full", "w") as device,
    ):
        device.write("x")
    assert whole(final) == "1"


@pytest.mark.parametrize("fault", [ValueError("a bug"), KeyboardInterrupt(), SystemExit(3)])
def test_a_build_that_fails_keeps_the_old_folder(tmp_path: Path, fault: BaseException) -> None:
    def half_built() -> None:
        with output_folder(tmp_path / "plover", NAMES) as folder:
            (folder / NAMES[0]).write_text("2")
            raise fault

    publish(tmp_path / "plover", 1)
    with pytest.raises(type(fault)):
        half_built()
    assert whole(tmp_path / "plover") == "1"
    assert os.listdir(tmp_path) == ["plover"]


def test_a_rename_that_fails_puts_the_old_folder_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    publish(tmp_path / "plover", 1)
    rename = Path.rename

    def refuse(self: Path, target: Path) -> Path:
        if self.name.endswith(".building"):
            raise OSError(5, "Input/output error")
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", refuse)
    with pytest.raises(OutputError, match="input/output error"):
        publish(tmp_path / "plover", 2)
    assert whole(tmp_path / "plover") == "1"
    assert os.listdir(tmp_path) == ["plover"]


KILLED_AT_STEP = """
step, after = int(sys.argv[3]), sys.argv[4] == "after"
publish(1)
count = 0
def deadly(action):
    def act(*arguments, **named):
        global count
        count += 1
        if count == step and not after:
            os.kill(os.getpid(), signal.SIGKILL)
        result = action(*arguments, **named)
        if count == step:
            os.kill(os.getpid(), signal.SIGKILL)
        return result
    return act
Path.rename, Path.mkdir = deadly(Path.rename), deadly(Path.mkdir)
os.unlink, os.rmdir = deadly(os.unlink), deadly(os.rmdir)
publish(2)
print("lived")
"""


@pytest.mark.parametrize("when", ["before", "after"])
@pytest.mark.parametrize("step", range(1, 9))
def test_killed_at_any_step_one_of_the_two_is_whole(tmp_path: Path, step: int, when: str) -> None:
    final = tmp_path / "plover"
    with start(KILLED_AT_STEP, final, 0, step, when) as writer:
        assert writer.wait() == -signal.SIGKILL  # the steps are really reached
    survivors = [f for f in (final, tmp_path / ".plover.previous") if f.exists()]
    assert survivors
    assert {whole(folder) for folder in survivors} <= {"1", "2"}  # no half-deleted one comes back
    with pytest.raises(ZeroDivisionError), output_folder(final, NAMES):
        raise ZeroDivisionError  # the next call brings the folder back even when its build fails
    assert whole(final) in {"1", "2"}
    long_ago = time.time() - 2 * files.ABANDONED_AFTER
    for leftover in tmp_path.glob(".*"):
        os.utime(leftover, (long_ago, long_ago))
    publish(final, 3)
    assert whole(final) == "3"
    assert os.listdir(tmp_path) == ["plover"]


def test_a_folder_that_a_running_build_fills_is_left_alone(tmp_path: Path) -> None:
    with output_folder(tmp_path / "plover", NAMES) as folder:
        publish(tmp_path / "plover", 1)
        assert folder.is_dir()
    assert content(tmp_path / "plover") == {}


def test_killed_at_random_moments_one_of_the_two_is_whole(tmp_path: Path) -> None:
    final, moments = tmp_path / "plover", random.Random(7)
    publish(final, 0)
    endless = "print('ready', flush=True)\nfor i in range(10**9): publish(i)"
    for _ in range(ROUNDS):
        with start(endless, final, 0) as writer:
            assert writer.stdout is not None
            writer.stdout.readline()
            time.sleep(moments.uniform(0, 0.03))
            writer.kill()
        whole(final if final.exists() else tmp_path / ".plover.previous")
    publish(final, -1)
    assert whole(final) == "-1"


def test_two_builds_at_once_never_mix(tmp_path: Path) -> None:
    final = tmp_path / "plover"
    body = """
for i in range(60):
    try:
        publish(generations + i)
    except OutputError:
        pass
"""
    with start(body, final, 1000) as one, start(body, final, 2000) as other:
        assert (one.wait(), other.wait()) == (0, 0)
    assert int(whole(final)) >= 1000
    publish(final, 1)
    assert whole(final) == "1"


def _half_a_file() -> Iterator[bytes]:
    yield b"half"
    raise ZeroDivisionError


def test_a_file_is_replaced_whole_or_not_at_all(tmp_path: Path) -> None:
    path = tmp_path / "report.json"
    write_text(path, "{}\n")
    write_bytes(path, b"[\r\n]")
    with pytest.raises(ZeroDivisionError), replacing(path) as file:
        file.writelines(_half_a_file())
    assert path.read_bytes() == b"[\r\n]"
    assert os.listdir(tmp_path) == ["report.json"]
    with pytest.raises(OutputError, match="no such file or directory"):
        write_text(tmp_path / "missing" / "report.json", "{}")
    (tmp_path / "folder").mkdir()
    with pytest.raises(OutputError, match="is a directory"):
        write_text(tmp_path / "folder", "{}")


def test_a_subfolder_may_hold_only_what_a_build_writes(tmp_path: Path) -> None:
    final = tmp_path / "out"
    (final / "segments").mkdir(parents=True)
    (final / "segments" / "a.stl").write_text("old")
    with output_folder(final, ["segments/*.stl"]) as folder:
        (folder / "segments").mkdir()
        (folder / "segments" / "b.stl").write_text("new")
    assert sorted(path.name for path in (final / "segments").iterdir()) == ["b.stl"]
    for own in ("segments/notes.txt", "segments/mine/c.stl", "mine/"):
        path = final / own
        path.mkdir(parents=True) if own.endswith("/") else path.parent.mkdir(exist_ok=True)
        if not own.endswith("/"):
            path.write_text("my own")
        with (
            pytest.raises(OutputError, match="which no build writes"),
            output_folder(final, ["segments/*.stl"]),
        ):
            pass
        assert path.exists()
        path.rmdir() if own.endswith("/") else path.unlink()
        if own == "segments/mine/c.stl":
            path.parent.rmdir()
