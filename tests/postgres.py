"""A PostgreSQL server of its own for the tests, on a socket in a temporary folder, no network.

``initdb`` refuses to run as root, so it and the server then run as the user postgres, whom the
Debian package makes.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa

ACCOUNT = "postgres"
START = 60.0  # s


@contextmanager
def server() -> Iterator[sa.URL]:
    """Start a server, yield the URL of its first database, stop it."""
    programs = _programs() or _install()
    folder = Path(tempfile.mkdtemp(prefix="mwpg-"))
    try:
        account: dict[str, Any] = {}
        if os.geteuid() == 0:
            shutil.chown(folder, ACCOUNT)
            account = {"user": ACCOUNT, "group": ACCOUNT, "extra_groups": [], "cwd": folder}
        data = folder / "data"
        make: list[str | Path] = [
            programs / "initdb",
            "-D",
            data,
            "-U",
            ACCOUNT,
            "-A",
            "trust",
            "-E",
            "UTF8",
        ]
        subprocess.run(make, check=True, capture_output=True, **account)
        options: list[str | Path] = ["-k", folder, "-c", "listen_addresses=", "-c", "fsync=off"]
        running = subprocess.Popen(
            [programs / "postgres", "-D", data, *options],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, **account,
        )  # fmt: skip
        try:
            url = sa.URL.create(
                "postgresql+psycopg", ACCOUNT, database=ACCOUNT, query={"host": str(folder)}
            )
            _wait(url)
            yield url
        finally:
            running.terminate()
            running.wait(START)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def fresh_database(url: sa.URL, name: str) -> sa.URL:
    """Make an empty database on the server and return its URL."""
    engine = sa.create_engine(url, isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(sa.text(f'CREATE DATABASE "{name}"'))
    engine.dispose()
    return url.set(database=name)


def _programs() -> Path | None:
    """The folder that holds initdb and postgres."""
    for folder in sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True):
        if (folder / "initdb").exists():
            return folder
    found = shutil.which("initdb")
    return Path(found).parent if found else None


def _install() -> Path:
    """Install the Debian package as root; without root or apt there is no server to test on."""
    if os.geteuid() != 0 or shutil.which("apt-get") is None:
        pytest.skip("no PostgreSQL here; on Debian: apt-get install postgresql")
    for command in (["update"], ["install", "-y", "--no-install-recommends", "postgresql"]):
        subprocess.run(["apt-get", "-qq", *command], check=True, capture_output=True)
    programs = _programs()
    assert programs is not None
    return programs


def _wait(url: sa.URL) -> None:
    engine = sa.create_engine(url)
    deadline = time.monotonic() + START
    while True:
        try:
            engine.connect().close()
            break
        except sa.exc.OperationalError:
            if time.monotonic() > deadline:
                raise
            time.sleep(0.1)
    engine.dispose()
