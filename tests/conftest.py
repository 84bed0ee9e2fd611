"""No test is timed; a log in a new SQLite file or a new database on a real PostgreSQL."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from pathlib import Path

import pytest
import sqlalchemy as sa
from hypothesis import settings

from tests import postgres

settings.register_profile("busy machine", deadline=None)  # times are no promise of the tests
settings.load_profile("busy machine")


@pytest.fixture(scope="session")
def postgres_url() -> Iterator[sa.URL]:
    """A running server, once for the session and only where a test asks for it."""
    with postgres.server() as url:
        yield url


@pytest.fixture(params=["sqlite", "postgresql"])
def log_place(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Where a new log may be kept: the tests that ask run on both databases."""
    if request.param == "sqlite":
        return str(tmp_path / "shop.log.sqlite")
    url = request.getfixturevalue("postgres_url")
    made = postgres.fresh_database(url, f"log_{uuid.uuid4().hex}")
    return made.render_as_string(hide_password=False)
