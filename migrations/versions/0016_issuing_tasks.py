"""What is left to do for each certificate that is signed for but not finished."""

import sqlalchemy as sa
from alembic import op

from app.records.columns import UtcDateTime

revision = "0016"
down_revision = "0015"


def upgrade() -> None:
    op.create_table(
        "issuing_task",
        sa.Column("id", sa.Integer(), primary_key=True),
        sa.Column(
            "shop_id",
            sa.Integer(),
            sa.ForeignKey("shop.id", ondelete="RESTRICT"),
            nullable=False,
            index=True,
        ),
        sa.Column(
            "certificate_id",
            sa.Integer(),
            sa.ForeignKey("certificate.id", ondelete="RESTRICT"),
            nullable=False,
        ),
        sa.Column("replacing_reason", sa.Text(), nullable=True),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("begun_at", UtcDateTime(), nullable=True),
        sa.Column("held_by", sa.Text(), nullable=True),
        sa.Column("held_until", UtcDateTime(), nullable=True),
        sa.Column("next_try_at", UtcDateTime(), nullable=True),
        sa.Column("waits_for", sa.Text(), nullable=True),
        sa.Column("problem", sa.Text(), nullable=True),
        sa.CheckConstraint("waits_for IN ('key', 'person')", name="waits_for_known"),
        sa.CheckConstraint("length(replacing_reason) <= 8000", name="replacing_reason_length"),
        sa.CheckConstraint("length(held_by) <= 80", name="held_by_length"),
        sa.CheckConstraint("length(waits_for) <= 80", name="waits_for_length"),
        sa.CheckConstraint("length(problem) <= 80", name="problem_length"),
        sa.UniqueConstraint("certificate_id"),
        sqlite_strict=True,
    )


def downgrade() -> None:
    raise NotImplementedError("restore the copy that was made before the upgrade")
