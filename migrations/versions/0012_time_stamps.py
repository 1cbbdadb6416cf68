"""Whether a certificate carries a time stamp, and if not, why."""

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0011"


def upgrade() -> None:
    with op.batch_alter_table("certificate") as certificate:
        certificate.add_column(sa.Column("time_stamp", sa.Text(), nullable=True))
        certificate.create_check_constraint("time_stamp_length", "length(time_stamp) <= 80")


def downgrade() -> None:
    raise NotImplementedError("restore the copy that was made before the upgrade")
