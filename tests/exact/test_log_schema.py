"""A log of any earlier schema is brought up to date with all it holds, on two databases.

The logs in ``logs`` were written by the program when their schema was its newest.
"""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa
from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory

from mandrelwright.shop import tables
from mandrelwright.shop.engine import MIGRATIONS, LogError, locate
from mandrelwright.shop.entries import KINDS
from mandrelwright.shop.log import open_log

LOGS = Path(__file__).with_name("logs")
CONFIG = Config()
CONFIG.set_main_option("script_location", str(MIGRATIONS))
REVISIONS = [step.revision for step in ScriptDirectory.from_config(CONFIG).walk_revisions()][::-1]
Rows = dict[str, list[dict[str, Any]]]


def test_the_program_writes_the_newest_schema_and_every_older_one_is_kept_as_a_log() -> None:
    assert REVISIONS[-1] == tables.HEAD_REVISION
    assert sorted(path.stem for path in LOGS.glob("*.sql")) == [
        f"schema-{revision}" for revision in REVISIONS[:-1]
    ]


@pytest.mark.parametrize("revision", REVISIONS[:-1])
def test_what_an_older_log_holds_is_held_after(
    revision: str, log_place: str, tmp_path: Path
) -> None:
    old = _old_log(revision, log_place, tmp_path / "old.sqlite")
    assert {kind for kind in KINDS if old[kind]} == set(old) - {"entry"}
    with open_log(log_place) as log:
        assert len(log.entries()) == len(old["entry"])
        assert len(log.standing()) == len(old["entry"]) - 3  # a correction, a withdrawal
    new = _rows(log_place)
    for table, rows in old.items():
        kept = [{key: row[key] for key in rows[0]} for row in new[table]]
        assert kept == rows, table
    assert [row["version_num"] for row in new["alembic_version"]] == [tables.HEAD_REVISION]
    with open_log(log_place) as log:
        assert log.add_note("goes on").id == log.entries()[-1].entry.id


@pytest.mark.parametrize("revision", REVISIONS)
def test_every_step_ends_in_a_guarded_log(revision: str, log_place: str) -> None:
    _make(revision, log_place)
    with open_log(log_place) as log:
        log.add_note("first")
    engine = sa.create_engine(locate(log_place))
    with pytest.raises(sa.exc.DBAPIError, match="append-only"), engine.begin() as connection:
        connection.execute(sa.text("DELETE FROM note"))
    engine.dispose()


def test_a_newer_schema_is_refused_and_left_as_it_is(log_place: str) -> None:
    with open_log(log_place) as log:
        log.add_note("first")
    engine = sa.create_engine(locate(log_place))
    with engine.begin() as connection:
        connection.execute(sa.text("UPDATE alembic_version SET version_num = '9999'"))
    engine.dispose()
    before = _rows(log_place)
    with pytest.raises(LogError, match=r"schema 9999, newer than .*: update mandrelwright"):
        open_log(log_place)
    assert _rows(log_place) == before


def _make(revision: str, place: str) -> None:
    """An empty log of a revision."""
    engine = sa.create_engine(locate(place))
    with engine.begin() as connection:
        CONFIG.attributes["connection"] = connection
        command.upgrade(CONFIG, revision)
    engine.dispose()


def _old_log(revision: str, place: str, aside: Path) -> Rows:
    """Put the kept log of a revision at a place; return what it holds."""
    script = (LOGS / f"schema-{revision}.sql").read_text("utf-8")
    connection = sqlite3.connect(aside)
    connection.executescript(script)
    connection.close()
    held = _rows(str(aside))
    held.pop("alembic_version")
    if "://" not in place:
        aside.rename(place)
        return held
    _make(revision, place)
    engine = sa.create_engine(locate(place))
    made = sa.MetaData()
    made.reflect(engine)
    with engine.begin() as into:
        for table in made.sorted_tables:
            if held.get(table.name):
                into.execute(table.insert(), held[table.name])
        into.execute(sa.text("SELECT setval('entry_number_seq', max(number)) FROM entry"))
    engine.dispose()
    return held


def _rows(place: str) -> Rows:
    """Every row of every table, by reflection."""
    engine = sa.create_engine(locate(place))
    found = sa.MetaData()
    found.reflect(engine)
    with engine.connect() as connection:
        out = {
            table.name: [dict(row) for row in connection.execute(_ordered(table)).mappings()]
            for table in found.sorted_tables
        }
    engine.dispose()
    return out


def _ordered(table: sa.Table) -> sa.Select[Any]:
    return sa.select(table).order_by(*table.primary_key.columns)
