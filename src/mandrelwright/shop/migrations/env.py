"""What alembic runs: the steps that are missing, inside the transaction it is handed."""

from __future__ import annotations

from alembic import context

context.configure(
    connection=context.config.attributes["connection"],
    transactional_ddl=False,  # the caller's transaction holds all of it
)
context.run_migrations()
