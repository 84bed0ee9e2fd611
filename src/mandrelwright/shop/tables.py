"""The tables of a shop log: one row in ``entry`` per entry, and its own fields in its kind's table.

Numbers are SI; a measure has three columns: text as typed, ``_si`` and ``_spread``. Nothing is
ever changed or deleted: triggers refuse it (see migrations).
"""

from __future__ import annotations

from sqlalchemy import (
    JSON,
    Column,
    Float,
    ForeignKey,
    Identity,
    Integer,
    MetaData,
    String,
    Table,
    Text,
)

HEAD_REVISION = "0002"
"""The schema that this program writes; the last file in migrations/versions."""

metadata = MetaData()


def _link(name: str) -> Column[str]:
    return Column(name, String(36), ForeignKey("entry.id"), index=True)


def _measure(name: str, nullable: bool = True) -> tuple[Column[str], Column[float], Column[float]]:
    return (
        Column(name, String(80), nullable=nullable),
        Column(f"{name}_si", Float(53), nullable=nullable),
        Column(f"{name}_spread", Float(53), nullable=nullable),
    )


def _text(name: str, most: int | None = None) -> Column[str]:
    return Column(name, String(most) if most else Text(), nullable=False)


def _kind(name: str, *columns: Column[str] | Column[float] | Column[int]) -> Table:
    key = Column("id", String(36), ForeignKey("entry.id"), primary_key=True)
    return Table(name, metadata, key, *columns)


entry = Table(
    "entry",
    metadata,
    Column("number", Integer, Identity(), primary_key=True),
    Column("id", String(36), nullable=False, unique=True),
    Column("kind", String(20), nullable=False),
    Column("at", String(32), nullable=False),
    _text("by", 60),
    _link("mould"),
    _link("part"),
    _link("coupon"),
    Column("replaces", String(36), ForeignKey("entry.id"), unique=True),
    _text("because"),
    sqlite_autoincrement=True,
)
mould = _kind(
    "mould",
    _text("job", 60),
    _text("name", 60),
    _text("plastic", 60),
    _text("printed_on", 10),
    _text("job_text"),
    _text("job_digest", 64),
    Column("facts", JSON, nullable=False),
)
part = _kind("part", _text("name", 60), _text("laid_on", 10), _link("resin"), *_measure("mate"))
coupon = _kind(
    "coupon",
    _text("name", 60),
    _text("what", 60),
    _text("plastic", 60),
    _text("printed_on", 10),
    *_measure("file"),
)
sleeve = _kind("sleeve", _text("name", 60), _text("lot", 60), _text("bought_on", 10))
resin = _kind(
    "resin",
    _text("name", 60),
    _text("lot", 60),
    _text("bought_on", 10),
    _text("opened_on", 10),
    _text("use_by", 10),
)
tool = _kind(
    "tool",
    _text("name", 60),
    _text("what", 60),
    *_measure("doubt"),
    *_measure("doubt_mass"),
    _text("checked_on", 10),
)
reading = _kind(
    "reading",
    _text("stage", 20),
    _text("mark", 20),
    _text("of", 20),
    *_measure("reads", nullable=False),
    *_measure("angle"),
    *_measure("temperature"),
    Column("repeat", Integer, nullable=False),
    *_measure("place"),
    _link("tool"),
    _text("questioned"),
    _link("source"),
)
weight = _kind(
    "weight", _text("what", 60), *_measure("reads", nullable=False), _link("tool"),
    _text("questioned"),
)  # fmt: skip
time = _kind("time", _text("what", 60), *_measure("took", nullable=False))
event = _kind(
    "event",
    _text("what", 60),
    _text("text"),
    _link("lot"),
    *_measure("amount"),
    Column("cost", Float(53), nullable=False),
)
note = _kind("note", _text("text"))
photo = _kind("photo", _text("path", 1000), _text("sha256", 64), _text("caption"))
waiver = _kind("waiver", _text("gate", 60), _text("reason"))
withdrawal = _kind("withdrawal")
