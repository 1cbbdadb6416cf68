"""Runs the steps on the connection that `app.records.migrating` has opened and will commit.

All steps of one upgrade are one transaction: it is begun by hand there, because SQLite's driver
would otherwise commit each change of a table by itself.
"""

from typing import Any

from alembic import context
from alembic.operations import Operations

from app.records.tables import Base

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Base.metadata,
    render_as_batch=True,
)
steps = context.get_context()
with Operations.context(steps) as operations:
    with_all_it_points_to = operations.batch_alter_table

    def rebuild(table: str, *rest: Any, **options: Any) -> Any:
        """A table that is rebuilt is read alone: for its links the names of others suffice."""
        alone = {**options, "reflect_kwargs": {"resolve_fks": False}}
        return with_all_it_points_to(table, *rest, **alone)

    operations.batch_alter_table = rebuild
    steps.run_migrations()
