"""The job files of one folder: list, load, save whole and never over somebody else's change."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

from mandrelwright.job.values import MOST_BYTES
from mandrelwright.out.files import write_bytes

NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9 _-]{0,59}\.toml", re.ASCII)
_SECTION = re.compile(rb"^\[\[section\]\]", re.MULTILINE)


class NoSuchJobError(LookupError):
    """There is no job file of that name in the folder, or the name is none."""


class ChangedOnDiskError(RuntimeError):
    """The file is no longer what the page loaded; ``text`` is what it holds now."""

    def __init__(self, text: str) -> None:
        super().__init__("the file has changed on disk since it was loaded")
        self.text = text


def digest_of(text: str) -> str:
    """SHA-256 of a text as UTF-8, in hexadecimal."""
    return hashlib.sha256(text.encode()).hexdigest()


class JobFolder:
    """One folder; nothing outside it is read or written, and no name leads out of it."""

    def __init__(self, root: Path) -> None:
        self.root = root.resolve()

    def names(self) -> list[str]:
        """Names of the job files, in order; other TOML files are left out."""
        return sorted(path.name for path in self.root.glob("*.toml") if self._is_job(path))

    def path(self, name: str) -> Path:
        """Where a job of that name is or would be; raises NoSuchJobError for no fit name."""
        path = self.root / name
        if not NAME.fullmatch(name) or path.is_symlink() or path.parent != self.root:
            raise NoSuchJobError(name)
        return path

    def load(self, name: str) -> str:
        """The text of a job; raises NoSuchJobError."""
        path = self.path(name)
        if not self._is_job(path):
            raise NoSuchJobError(name)
        return path.read_bytes().decode("utf-8", errors="strict").replace("\r\n", "\n")

    def save(self, name: str, text: str, loaded: str) -> None:
        """Write a job whole; ``loaded`` is the digest of what the page once got, "" for none.

        Raises ChangedOnDiskError when the file holds something else by now, OutputError when
        it cannot be written.
        """
        path = self.path(name)
        if path.exists():
            there = self.load(name)
            if digest_of(there) != loaded:
                raise ChangedOnDiskError(there)
        elif loaded:
            raise ChangedOnDiskError("")
        write_bytes(path, text.encode())

    def _is_job(self, path: Path) -> bool:
        if not NAME.fullmatch(path.name) or path.is_symlink() or not path.is_file():
            return False
        with path.open("rb") as file:
            content = file.read(MOST_BYTES + 1)
        if len(content) > MOST_BYTES or not _SECTION.search(content):
            return False
        try:
            content.decode("utf-8")
        except UnicodeDecodeError:
            return False
        return True
