"""A reading may point at the scan or photograph it was taken from."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Add the link; readings kept before have none."""
    link = sa.Column("source", sa.String(36), sa.ForeignKey("entry.id"), index=True)
    op.add_column("reading", link, inline_references=True)
