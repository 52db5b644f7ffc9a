"""Where Alembic is told about the connection: always one that `migrate.upgrade` has opened."""

from __future__ import annotations

from alembic import context

from boughwright.store.schema import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    render_as_batch=True,
    compare_type=True,
)
with context.begin_transaction():
    context.run_migrations()
