"""Notes and calls of a job, and the shop's own notice on personal data."""

import sqlalchemy as sa
from alembic import op

from app.records.columns import UtcDateTime

revision = "0009"
down_revision = "0008"


def upgrade() -> None:
    op.create_table(
        "job_note",
        sa.Column("id", sa.Integer(), primary_key=True),
        sa.Column(
            "shop_id",
            sa.Integer(),
            sa.ForeignKey("shop.id", ondelete="RESTRICT"),
            nullable=False,
            index=True,
        ),
        sa.Column(
            "job_id",
            sa.Integer(),
            sa.ForeignKey("job.id", ondelete="RESTRICT"),
            nullable=False,
            index=True,
        ),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("whom", sa.Text(), nullable=False),
        sa.Column("outcome", sa.Text(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column(
            "person_id",
            sa.Integer(),
            sa.ForeignKey("person.id", ondelete="RESTRICT"),
            nullable=True,
            index=True,
        ),
        sa.Column("at", UtcDateTime(), nullable=False),
        sa.CheckConstraint("kind IN ('note', 'call_wanted', 'called')", name="kind_known"),
        sa.CheckConstraint("whom IN ('', 'customer', 'adjuster')", name="whom_known"),
        sa.CheckConstraint(
            "outcome IN ('', 'reached', 'message_left', 'not_reached')", name="outcome_known"
        ),
        sa.CheckConstraint("length(kind) <= 80", name="kind_length"),
        sa.CheckConstraint("length(outcome) <= 80", name="outcome_length"),
        sa.CheckConstraint("length(whom) <= 80", name="whom_length"),
        sa.CheckConstraint("length(words) <= 8000", name="words_length"),
        sqlite_strict=True,
    )
    with op.batch_alter_table("shop") as shop:
        shop.add_column(sa.Column("privacy_notice", sa.Text(), nullable=False, server_default=""))
        shop.create_check_constraint("privacy_notice_length", "length(privacy_notice) <= 8000")
    with op.batch_alter_table("shop") as shop:
        shop.alter_column("privacy_notice", server_default=None)
