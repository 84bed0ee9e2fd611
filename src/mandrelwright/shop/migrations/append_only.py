"""Triggers that refuse to change or delete what was logged, in SQLite and PostgreSQL."""

from __future__ import annotations

from alembic import op

REFUSAL = "the log is append-only: enter a correction"


def guard(table: str) -> None:
    """Refuse UPDATE, DELETE and, where it exists, TRUNCATE of a table from now on."""
    if op.get_bind().dialect.name == "sqlite":
        for action in ("UPDATE", "DELETE"):
            op.execute(
                f'CREATE TRIGGER "{table}_no_{action.lower()}" BEFORE {action} ON "{table}" '
                f"BEGIN SELECT RAISE(ABORT, '{REFUSAL}'); END"
            )
        return
    op.execute(
        "CREATE OR REPLACE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN RAISE EXCEPTION '{REFUSAL}'; END $$"
    )
    op.execute(
        f'CREATE TRIGGER "{table}_no_change" BEFORE UPDATE OR DELETE OR TRUNCATE ON "{table}" '
        "FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()"
    )
