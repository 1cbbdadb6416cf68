"""Runs the steps on the connection that `app.records.migrating` has opened and will commit.

All steps of one upgrade are one transaction: it is begun by hand there, because SQLite's driver
would otherwise commit each change of a table by itself.
"""

from alembic import context

from app.records.tables import Base

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Base.metadata,
    render_as_batch=True,
)
context.run_migrations()
