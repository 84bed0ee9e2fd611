"""Put files and whole folders in place at once, or leave what was there untouched."""

from __future__ import annotations

import glob
import os
import secrets
import shutil
import time
from collections.abc import Collection, Iterator
from contextlib import contextmanager, suppress
from fnmatch import fnmatchcase
from pathlib import Path, PurePosixPath
from typing import IO

ABANDONED_AFTER = 3600.0  # s; a half-built folder older than this belongs to no running build


class OutputError(OSError):
    """An output cannot be put where it was asked for; names the path, the reason and a remedy."""

    def __init__(self, path: Path, reason: str, remedy: str) -> None:
        super().__init__(f"{path}: {reason}. {remedy}")
        self.path, self.reason, self.remedy = path, reason, remedy


@contextmanager
def replacing(path: Path) -> Iterator[IO[bytes]]:
    """Open a file that takes the place of `path` when the block ends well, and never before.

    Raises OutputError when the file cannot be written; `path` is then as it was.
    """
    part = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
    with _naming(path):
        try:
            with open(part, "xb") as file:
                yield file
            part.replace(path)
        finally:
            with suppress(OSError):
                part.unlink(missing_ok=True)


def write_bytes(path: Path, content: bytes) -> None:
    """Write `content` to `path` whole or not at all; raises OutputError."""
    with replacing(path) as file:
        file.write(content)


def write_text(path: Path, content: str) -> None:
    """Write `content` to `path` in UTF-8 with its newlines as they are; raises OutputError."""
    write_bytes(path, content.encode("utf-8"))


@contextmanager
def output_folder(final: Path, may_hold: Collection[str]) -> Iterator[Path]:
    """Give an empty folder to build in; it takes the place of `final` when the block ends well.

    `may_hold` are the names that a build writes, below the folder, "*" for any part of a name.
    An existing `final` is replaced only when it holds nothing else, so a mistyped path cannot
    cost the user a folder of their own.
    Raises OutputError when `final` is a symbolic link, not a folder, holds other files or cannot
    be written; it is then as it was.  Whatever kills the program, the old folder stays whole: under
    its own name or, for the instant between two renames, as `.<name>.previous`, from which the
    next call brings it back.
    """
    final = Path(os.path.abspath(final))
    with _naming(final):
        _refuse(final, may_hold)
        final.parent.mkdir(parents=True, exist_ok=True)
        _recover(final)
        building = _aside(final)
        building.mkdir()
        try:
            yield building
            _refuse(final, may_hold)  # it may have changed during the build
            replace_folder(building, final)
        finally:
            shutil.rmtree(building, ignore_errors=True)


def replace_folder(building: Path, final: Path) -> None:
    """Rename `building` to `final` and discard what was there; if that fails, put it back."""
    previous = _previous(final)
    if final.exists():
        final.rename(previous)
    try:
        building.rename(final)
    except BaseException:
        if previous.exists() and not final.exists():
            previous.rename(final)
        raise
    _discard(previous, final)


def _refuse(final: Path, may_hold: Collection[str]) -> None:
    if final.is_symlink():
        raise OutputError(
            final, "is a symbolic link", "Remove the link or choose another output folder"
        )
    if not os.path.lexists(final):
        return
    if not final.is_dir():
        raise OutputError(
            final, "is not a folder", "Move the file away or choose another output folder"
        )
    folders = {str(parent) for name in may_hold for parent in PurePosixPath(name).parents}
    foreign = sorted(name for name in _names(final) if not _known(name, may_hold, folders))
    if foreign:
        raise OutputError(
            final,
            f"holds {foreign[0]!r}, which no build writes",
            "A build replaces its whole folder: move your own files out or choose another folder",
        )


def _names(final: Path) -> Iterator[str]:
    """Everything below a folder; the folders of it end in a slash."""
    for entry in final.rglob("*"):
        is_folder = entry.is_dir() and not entry.is_symlink()
        yield entry.relative_to(final).as_posix() + ("/" if is_folder else "")


def _known(name: str, may_hold: Collection[str], folders: Collection[str]) -> bool:
    if name.endswith("/"):
        return name.removesuffix("/") in folders
    return any(fnmatchcase(name, pattern) for pattern in may_hold)


def _recover(final: Path) -> None:
    """Undo what a killed build left: bring the old folder back, clear away half-built ones."""
    previous = _previous(final)
    if not final.exists() and previous.exists():
        previous.rename(final)
    elif final.exists():
        _discard(previous, final)
    oldest = time.time() - ABANDONED_AFTER
    for leftover in final.parent.glob(f".{glob.escape(final.name)}.*.building"):
        if leftover.stat().st_mtime < oldest:
            shutil.rmtree(leftover, ignore_errors=True)


def _discard(previous: Path, final: Path) -> None:
    """Delete `previous` under another name, so that no half-deleted folder is ever brought back."""
    if previous.exists():
        shutil.rmtree(previous.rename(_aside(final)), ignore_errors=True)


def _previous(final: Path) -> Path:
    return final.with_name(f".{final.name}.previous")


def _aside(final: Path) -> Path:
    return final.with_name(f".{final.name}.{secrets.token_hex(4)}.building")


@contextmanager
def _naming(path: Path) -> Iterator[None]:
    """Turn any OSError of the block into an OutputError that names `path`."""
    try:
        yield
    except OutputError:
        raise
    except OSError as error:
        reason = (error.strerror or type(error).__name__).lower()
        raise OutputError(
            path,
            f"cannot be written ({reason})",
            "Choose a folder that is yours to write to, with enough free space",
        ) from error
