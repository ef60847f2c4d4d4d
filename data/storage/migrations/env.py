"""Entry that Alembic runs: every migration goes over the connection that ``data.storage.store`` hands in."""

from __future__ import annotations

from alembic import context

from data.storage.tables import METADATA

context.configure(connection=context.config.attributes["connection"], target_metadata=METADATA)
with context.begin_transaction():
    context.run_migrations()
