"""When a customer asked to be erased, so that it is seen to wait."""

import sqlalchemy as sa
from alembic import op

from app.records.columns import UtcDateTime

revision = "0020"
down_revision = "0019"


def upgrade() -> None:
    with op.batch_alter_table("customer", recreate="always") as customer:
        customer.add_column(sa.Column("erasure_asked_at", UtcDateTime(), nullable=True))
        customer.create_index("ix_customer_erasure_asked_at", ["erasure_asked_at"])


def downgrade() -> None:
    raise NotImplementedError("restore the copy that was made before the upgrade")
