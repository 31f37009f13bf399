"""Runs the steps on a connection that is handed over, within its transaction: all of them or none."""

from __future__ import annotations

from alembic import context

from rootfill.store.model import Base


def run() -> None:
    """Called by alembic, which executes this file."""
    context.configure(
        connection=context.config.attributes["connection"],
        target_metadata=Base.metadata,
        render_as_batch=True,
        transactional_ddl=True,
    )
    with context.begin_transaction():
        context.run_migrations()


if __name__ == "env_py":  # alembic's name for it; who merely imports it has no context
    run()
