"""The shop's own time zone, in which its certificates tell days and times."""

import sqlalchemy as sa
from alembic import op

revision = "0013"
down_revision = "0012"


def upgrade() -> None:
    with op.batch_alter_table("shop") as shop:
        shop.add_column(sa.Column("time_zone", sa.Text(), nullable=False, server_default="UTC"))
        shop.create_check_constraint("time_zone_length", "length(time_zone) <= 80")
    with op.batch_alter_table("shop") as shop:
        shop.alter_column("time_zone", server_default=None)


def downgrade() -> None:
    raise NotImplementedError("restore the copy that was made before the upgrade")
