"""The event log, numbers and repeated writes."""

import sqlalchemy as sa
from alembic import op

from app.records.columns import UtcDateTime

revision = "0006"
down_revision = "0005"


def upgrade() -> None:
    op.create_table(
        "event",
        sa.Column("id", sa.Integer(), primary_key=True),
        sa.Column(
            "shop_id",
            sa.Integer(),
            sa.ForeignKey("shop.id", ondelete="RESTRICT"),
            nullable=False,
            index=True,
        ),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("at", UtcDateTime(), nullable=False),
        sa.Column("actor", sa.Text(), nullable=False),
        sa.Column("what", sa.Text(), nullable=False, index=True),
        sa.Column("subject", sa.Text(), nullable=False, index=True),
        sa.Column("public", sa.Text(), nullable=False),
        sa.Column("personal", sa.Text(), nullable=False),
        sa.Column("previous_hash", sa.Text(), nullable=False),
        sa.Column("hash", sa.Text(), nullable=False),
        sa.CheckConstraint("length(actor) <= 80", name="actor_length"),
        sa.CheckConstraint("length(hash) <= 80", name="hash_length"),
        sa.CheckConstraint("length(personal) <= 8000000", name="personal_length"),
        sa.CheckConstraint("length(previous_hash) <= 80", name="previous_hash_length"),
        sa.CheckConstraint("length(public) <= 8000000", name="public_length"),
        sa.CheckConstraint("length(subject) <= 300", name="subject_length"),
        sa.CheckConstraint("length(what) <= 80", name="what_length"),
        sa.UniqueConstraint("shop_id", "position"),
        sqlite_strict=True,
    )
    op.create_table(
        "event_head",
        sa.Column("id", sa.Integer(), primary_key=True),
        sa.Column(
            "shop_id",
            sa.Integer(),
            sa.ForeignKey("shop.id", ondelete="RESTRICT"),
            nullable=False,
            index=True,
        ),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("hash", sa.Text(), nullable=False),
        sa.CheckConstraint("length(hash) <= 80", name="hash_length"),
        sa.UniqueConstraint("shop_id"),
        sqlite_strict=True,
    )
    op.create_table(
        "personal_value",
        sa.Column("id", sa.Integer(), primary_key=True),
        sa.Column(
            "shop_id",
            sa.Integer(),
            sa.ForeignKey("shop.id", ondelete="RESTRICT"),
            nullable=False,
            index=True,
        ),
        sa.Column(
            "event_id", sa.Integer(), sa.ForeignKey("event.id", ondelete="RESTRICT"), nullable=False
        ),
        sa.Column("about", sa.Text(), nullable=False, index=True),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("salt", sa.Text(), nullable=True),
        sa.Column("value", sa.Text(), nullable=True),
        sa.Column("erased_at", UtcDateTime(), nullable=True),
        sa.CheckConstraint("length(about) <= 300", name="about_length"),
        sa.CheckConstraint("length(name) <= 80", name="name_length"),
        sa.CheckConstraint("length(salt) <= 80", name="salt_length"),
        sa.CheckConstraint("length(value) <= 8000000", name="value_length"),
        sa.UniqueConstraint("event_id", "name"),
        sqlite_strict=True,
    )
    op.create_table(
        "number_counter",
        sa.Column("id", sa.Integer(), primary_key=True),
        sa.Column(
            "shop_id",
            sa.Integer(),
            sa.ForeignKey("shop.id", ondelete="RESTRICT"),
            nullable=False,
            index=True,
        ),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("year", sa.Integer(), nullable=False),
        sa.Column("last", sa.Integer(), nullable=False),
        sa.CheckConstraint("length(kind) <= 80", name="kind_length"),
        sa.UniqueConstraint("shop_id", "kind", "year"),
        sqlite_strict=True,
    )
    op.create_table(
        "idempotency_key",
        sa.Column("id", sa.Integer(), primary_key=True),
        sa.Column(
            "shop_id",
            sa.Integer(),
            sa.ForeignKey("shop.id", ondelete="RESTRICT"),
            nullable=False,
            index=True,
        ),
        sa.Column("actor", sa.Text(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("request_hash", sa.Text(), nullable=False),
        sa.Column("status", sa.Integer(), nullable=False),
        sa.Column("answer", sa.Text(), nullable=False),
        sa.Column("created_at", UtcDateTime(), nullable=False, index=True),
        sa.CheckConstraint("length(actor) <= 80", name="actor_length"),
        sa.CheckConstraint("length(answer) <= 8000000", name="answer_length"),
        sa.CheckConstraint("length(key) <= 300", name="key_length"),
        sa.CheckConstraint("length(request_hash) <= 80", name="request_hash_length"),
        sa.UniqueConstraint("shop_id", "actor", "key"),
        sqlite_strict=True,
    )


def downgrade() -> None:
    raise NotImplementedError("restore the copy that was made before the upgrade")
