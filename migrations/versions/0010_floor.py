"""What is done on the floor besides points: each act with its request, and what the page tells."""

import sqlalchemy as sa
from alembic import op

from app.records.columns import UtcDateTime

revision = "0010"
down_revision = "0009"


def _link(name: str, target: str, *, nullable: bool = False, index: bool = True) -> sa.Column[int]:
    key = sa.ForeignKey(f"{target}.id", ondelete="RESTRICT")
    return sa.Column(name, sa.Integer(), key, nullable=nullable, index=index)


def upgrade() -> None:
    op.create_table(
        "draft_act",
        sa.Column("id", sa.Integer(), primary_key=True),
        _link("shop_id", "shop"),
        _link("draft_id", "draft"),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("step", sa.Text(), nullable=True),
        sa.Column("request_key", sa.Text(), nullable=True),
        sa.Column("request_sha256", sa.Text(), nullable=False),
        sa.Column("facts", sa.Text(), nullable=False),
        _link("by_id", "person", nullable=True),
        sa.Column("at", UtcDateTime(), nullable=False),
        sa.CheckConstraint("length(facts) <= 8000000", name="facts_length"),
        sa.CheckConstraint("length(kind) <= 80", name="kind_length"),
        sa.CheckConstraint("length(request_key) <= 300", name="request_key_length"),
        sa.CheckConstraint("length(request_sha256) <= 80", name="request_sha256_length"),
        sa.CheckConstraint("length(step) <= 300", name="step_length"),
        sa.UniqueConstraint("draft_id", "request_key"),
        sqlite_strict=True,
    )
    op.create_table(
        "draft_state",
        sa.Column("id", sa.Integer(), primary_key=True),
        _link("shop_id", "shop"),
        _link("draft_id", "draft", index=False),
        sa.Column("told", sa.Text(), nullable=False),
        sa.Column("told_version", sa.Integer(), nullable=False),
        sa.Column("mark", sa.Text(), nullable=False),
        sa.Column("live_step", sa.Text(), nullable=True),
        sa.CheckConstraint("length(mark) <= 80", name="mark_length"),
        sa.CheckConstraint("length(live_step) <= 300", name="live_step_length"),
        sa.CheckConstraint("length(told) <= 8000000", name="told_length"),
        sa.UniqueConstraint("draft_id"),
        sqlite_strict=True,
    )


def downgrade() -> None:
    raise NotImplementedError("restore the copy that was made before the upgrade")
