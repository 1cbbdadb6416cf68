"""What is searched of a customer parts name and telephone from address and mail."""

import sqlalchemy as sa
from alembic import op

from app.records.search_text import search_text

revision = "0021"
down_revision = "0020"

TOLD = ("name", "phone", "address", "email")


def upgrade() -> None:
    columns = [sa.column(name, sa.Text) for name in (*TOLD, "search_text")]
    table = sa.table("customer", sa.column("id", sa.Integer), *columns)
    rows = op.get_bind().execute(sa.select(table.c.id, *(table.c[name] for name in TOLD))).all()
    for identity, name, phone, address, email in rows:
        new = search_text(name, marks=(phone,), beside=(address, email))
        op.get_bind().execute(
            sa.update(table).where(table.c.id == identity).values(search_text=new)
        )


def downgrade() -> None:
    raise NotImplementedError("restore the copy that was made before the upgrade")
