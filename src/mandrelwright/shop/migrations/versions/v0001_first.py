"""The first schema: entries, and a table for each kind of them."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from mandrelwright.shop.migrations.append_only import guard

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make every table, its indices and its guards."""
    op.create_table(
        "entry",
        sa.Column("number", sa.Integer(), sa.Identity(), primary_key=True),
        sa.Column("id", sa.String(36), nullable=False, unique=True),
        sa.Column("kind", sa.String(20), nullable=False),
        sa.Column("at", sa.String(32), nullable=False),
        _text("by", 60),
        _link("mould"),
        _link("part"),
        _link("coupon"),
        sa.Column("replaces", sa.String(36), sa.ForeignKey("entry.id"), unique=True),
        _text("because"),
        sqlite_autoincrement=True,
    )
    for name, columns in _kinds().items():
        key = sa.Column("id", sa.String(36), sa.ForeignKey("entry.id"), primary_key=True)
        op.create_table(name, key, *columns)
    for name in ("entry", *_kinds()):
        guard(name)


def _kinds() -> dict[str, list[sa.Column[object]]]:
    """Own columns of every kind of entry."""
    return {
        "mould": [
            _text("job", 60),
            _text("name", 60),
            _text("plastic", 60),
            _text("printed_on", 10),
            _text("job_text"),
            _text("job_digest", 64),
            sa.Column("facts", sa.JSON(), nullable=False),
        ],
        "part": [_text("name", 60), _text("laid_on", 10), _link("resin"), *_measure("mate")],
        "coupon": [
            _text("name", 60),
            _text("what", 60),
            _text("plastic", 60),
            _text("printed_on", 10),
            *_measure("file"),
        ],
        "sleeve": [_text("name", 60), _text("lot", 60), _text("bought_on", 10)],
        "resin": [
            _text("name", 60),
            _text("lot", 60),
            *(_text(name, 10) for name in ("bought_on", "opened_on", "use_by")),
        ],
        "tool": [
            _text("name", 60),
            _text("what", 60),
            *_measure("doubt"),
            *_measure("doubt_mass"),
            _text("checked_on", 10),
        ],
        "reading": [
            *(_text(name, 20) for name in ("stage", "mark", "of")),
            *_measure("reads", nullable=False),
            *_measure("angle"),
            *_measure("temperature"),
            sa.Column("repeat", sa.Integer(), nullable=False),
            *_measure("place"),
            _link("tool"),
            _text("questioned"),
        ],
        "weight": [
            _text("what", 60),
            *_measure("reads", nullable=False),
            _link("tool"),
            _text("questioned"),
        ],
        "time": [_text("what", 60), *_measure("took", nullable=False)],
        "event": [
            _text("what", 60),
            _text("text"),
            _link("lot"),
            *_measure("amount"),
            sa.Column("cost", sa.Float(53), nullable=False),
        ],
        "note": [_text("text")],
        "photo": [_text("path", 1000), _text("sha256", 64), _text("caption")],
        "waiver": [_text("gate", 60), _text("reason")],
        "withdrawal": [],
    }


def _link(name: str) -> sa.Column[object]:
    return sa.Column(name, sa.String(36), sa.ForeignKey("entry.id"), index=True)


def _measure(name: str, nullable: bool = True) -> list[sa.Column[object]]:
    return [
        sa.Column(name, sa.String(80), nullable=nullable),
        sa.Column(f"{name}_si", sa.Float(53), nullable=nullable),
        sa.Column(f"{name}_spread", sa.Float(53), nullable=nullable),
    ]


def _text(name: str, most: int | None = None) -> sa.Column[object]:
    return sa.Column(name, sa.String(most) if most else sa.Text(), nullable=False)
