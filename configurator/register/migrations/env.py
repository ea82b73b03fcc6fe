"""Run by Alembic: brings the register behind the given connection up to date."""

from __future__ import annotations

from alembic import context

context.configure(connection=context.config.attributes["connection"])
context.run_migrations()
