"""Where a shop log is kept: opened, made, brought to this program's schema, or refused clearly."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy import exc
from sqlalchemy.engine import URL, Connection, Engine, make_url

from mandrelwright.job.values import InputError
from mandrelwright.shop.tables import HEAD_REVISION

MIGRATIONS = Path(__file__).parent / "migrations"
PATIENCE = 30.0  # s to wait for another writer
LOCK = 0x6D77  # key of the advisory lock under which a server's log is written


class LogError(InputError):
    """A log that cannot be opened, read or written; names it, the reason and a remedy."""


@contextmanager
def naming(url: URL) -> Iterator[None]:
    """Turn any database error of the block into a LogError that names the log, never a password."""
    try:
        yield
    except exc.IntegrityError as error:
        raise LogError(f"{shown(url)} refuses the entry ({_first(error)})", "check ids") from None
    except exc.DBAPIError as error:
        raise LogError(f"{shown(url)}: {_first(error)}", _remedy(str(error.orig), url)) from None


def shown(url: URL) -> str:
    """The log as a person knows it: its file, or its URL without the password."""
    return (url.database or "") if url.drivername == "sqlite" else url.render_as_string()


def _first(error: exc.DBAPIError) -> str:
    return (str(error.orig).strip().splitlines() or ["no reason given"])[0]


REMEDIES = {
    "is full": "make room on the disk and enter it again; what was acknowledged is kept",
    "disk i/o": "make room or mend the disk, and enter it again; what was acknowledged is kept",
    "readonly": "choose a folder and file that are yours to write to",
    "unable to open": "choose a folder that exists and is yours to write to",
    "locked": "another program writes to it: wait and enter it again",
    "not a database": "name another file: this one is no log",
    "malformed": "restore it from a copy or an export: the file is damaged",
}


def _remedy(reason: str, url: URL) -> str:
    if url.drivername != "sqlite":
        return "check the URL, and that the server runs and knows you"
    for words, remedy in REMEDIES.items():
        if words in reason.lower():
            return remedy
    return "check the file and its folder"


def locate(where: str | Path) -> URL:
    """The URL of a log from a file's path or any SQLAlchemy URL; raises LogError."""
    text = str(where)
    if "://" not in text:
        return URL.create("sqlite", database=text)
    try:
        url = make_url(text)
        if url.drivername in ("postgresql", "postgres"):
            url = url.set(drivername="postgresql+psycopg")
        sa.create_engine(url).dispose()
    except exc.ArgumentError:
        told = "a log's URL cannot be read"
        raise LogError(told, "write postgresql://user@host/name, or a file") from None
    except ModuleNotFoundError as error:
        told = f"a log at {shown(url)} needs the package {error.name}"
        raise LogError(told, 'install the extra: pip install "mandrelwright[postgres]"') from None
    return url


def connect(url: URL) -> Engine:
    """An engine whose commits are on the disk when they return, its schema brought up to date.

    SQLite: WAL, synchronous FULL, foreign keys, BEGIN IMMEDIATE for writers; one file.
    Raises LogError, also for a schema newer than this program.
    """
    engine = sa.create_engine(url, **_options(url))
    if url.drivername == "sqlite":
        sa.event.listen(engine, "connect", _prepare)
        sa.event.listen(engine, "begin", _begin)
    try:
        with naming(url):
            _bring_up_to_date(engine)
    except BaseException:
        engine.dispose()
        raise
    return engine


def _bring_up_to_date(engine: Engine) -> None:
    with engine.connect() as connection:
        current = _revision(connection)
    if current != HEAD_REVISION:
        with writing(engine) as connection:
            _migrate(connection, engine.url)


def _options(url: URL) -> dict[str, Any]:
    if url.drivername == "sqlite":
        return {"connect_args": {"timeout": PATIENCE}}
    return {"pool_pre_ping": True}  # a server may have been started anew meanwhile


def _prepare(connection: Any, record: object) -> None:
    """Settings of every SQLite connection; transactions are begun by us, not by the driver."""
    assert isinstance(connection, sqlite3.Connection)
    connection.isolation_level = None
    for pragma in ("journal_mode = WAL", "synchronous = FULL", "foreign_keys = ON"):
        connection.execute(f"PRAGMA {pragma}")


def _begin(connection: Connection) -> None:
    write = connection.get_execution_options().get("write", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if write else "BEGIN")


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """A transaction that no other writer shares, committed at the end of the block."""
    with engine.connect().execution_options(write=True) as connection, connection.begin():
        if connection.dialect.name == "postgresql":
            connection.execute(sa.select(sa.func.pg_advisory_xact_lock(LOCK)))
        yield connection


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """A transaction whose queries all see one state of the log."""
    with engine.connect() as connection:
        if connection.dialect.name == "postgresql":
            connection = connection.execution_options(isolation_level="REPEATABLE READ")
        yield connection


def _revision(connection: Connection) -> str | None:
    """Revision of the schema; None of an empty database. Raises LogError for one not ours."""
    names = sa.inspect(connection).get_table_names()
    if "alembic_version" in names and "entry" in names:
        return str(connection.scalar(sa.text("SELECT version_num FROM alembic_version")))
    if names:
        told = f"{shown(connection.engine.url)} holds tables that are no shop log"
        raise LogError(told, "name another file or database")
    return None


def _migrate(connection: Connection, url: URL) -> None:
    """Run the missing steps, all or none; another program may have done so meanwhile."""
    from alembic import command
    from alembic.config import Config
    from alembic.script import ScriptDirectory

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    known = [script.revision for script in ScriptDirectory.from_config(config).walk_revisions()]
    current = _revision(connection)
    if current is not None and current not in known:
        told = f"{shown(url)} has schema {current}, newer than {HEAD_REVISION} of this program"
        raise LogError(told, "update mandrelwright; nothing was changed")
    config.attributes["connection"] = connection
    command.upgrade(config, "head")
