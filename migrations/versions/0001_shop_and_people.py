"""The shop and its people."""

import sqlalchemy as sa
from alembic import op

from app.records.columns import Flag, Real, UtcDateTime

revision = "0001"
down_revision = None


def upgrade() -> None:
    op.create_table(
        "shop",
        sa.Column("id", sa.Integer(), primary_key=True),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("address", sa.Text(), nullable=False),
        sa.Column("phone", sa.Text(), nullable=False),
        sa.Column("email", sa.Text(), nullable=False),
        sa.Column("language", sa.Text(), nullable=False),
        sa.Column("confidence_threshold", Real(), nullable=False),
        sa.Column("measurer_may_sign", Flag(), nullable=False),
        sa.Column("claim_link_days", sa.Integer(), nullable=False),
        sa.Column("own_statement", sa.Text(), nullable=False),
        sa.Column("created_at", UtcDateTime(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint("length(address) <= 8000", name="address_length"),
        sa.CheckConstraint(
            "confidence_threshold > 0.5 AND confidence_threshold < 1",
            name="confidence_threshold_range",
        ),
        sa.CheckConstraint("length(email) <= 300", name="email_length"),
        sa.CheckConstraint("length(language) <= 80", name="language_length"),
        sa.CheckConstraint("length(name) <= 300", name="name_length"),
        sa.CheckConstraint("length(own_statement) <= 8000", name="own_statement_length"),
        sa.CheckConstraint("length(phone) <= 300", name="phone_length"),
        sqlite_strict=True,
    )
    op.create_table(
        "person",
        sa.Column("id", sa.Integer(), primary_key=True),
        sa.Column(
            "shop_id",
            sa.Integer(),
            sa.ForeignKey("shop.id", ondelete="RESTRICT"),
            nullable=False,
            index=True,
        ),
        sa.Column("sign_in_name", sa.Text(), nullable=False),
        sa.Column("sign_in_key", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("title", sa.Text(), nullable=False),
        sa.Column("email", sa.Text(), nullable=False),
        sa.Column("password_hash", sa.Text(), nullable=True),
        sa.Column("password_set_at", UtcDateTime(), nullable=True),
        sa.Column("one_time_until", UtcDateTime(), nullable=True),
        sa.Column("disabled_at", UtcDateTime(), nullable=True),
        sa.Column("created_at", UtcDateTime(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint("length(email) <= 300", name="email_length"),
        sa.CheckConstraint("length(name) <= 300", name="name_length"),
        sa.CheckConstraint("length(password_hash) <= 300", name="password_hash_length"),
        sa.CheckConstraint("length(sign_in_key) <= 300", name="sign_in_key_length"),
        sa.CheckConstraint("length(sign_in_name) <= 300", name="sign_in_name_length"),
        sa.CheckConstraint("length(title) <= 300", name="title_length"),
        sa.UniqueConstraint("shop_id", "sign_in_key"),
        sqlite_strict=True,
    )
    op.create_table(
        "person_role",
        sa.Column("id", sa.Integer(), primary_key=True),
        sa.Column(
            "shop_id",
            sa.Integer(),
            sa.ForeignKey("shop.id", ondelete="RESTRICT"),
            nullable=False,
            index=True,
        ),
        sa.Column(
            "person_id",
            sa.Integer(),
            sa.ForeignKey("person.id", ondelete="RESTRICT"),
            nullable=False,
            index=True,
        ),
        sa.Column("role", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "role IN ('desk', 'technician', 'inspector', 'owner')", name="role_known"
        ),
        sa.CheckConstraint("length(role) <= 80", name="role_length"),
        sa.UniqueConstraint("person_id", "role"),
        sqlite_strict=True,
    )
    op.create_table(
        "sign_in_session",
        sa.Column("id", sa.Integer(), primary_key=True),
        sa.Column(
            "shop_id",
            sa.Integer(),
            sa.ForeignKey("shop.id", ondelete="RESTRICT"),
            nullable=False,
            index=True,
        ),
        sa.Column(
            "person_id",
            sa.Integer(),
            sa.ForeignKey("person.id", ondelete="RESTRICT"),
            nullable=False,
            index=True,
        ),
        sa.Column("token_hash", sa.Text(), nullable=False, unique=True),
        sa.Column("created_at", UtcDateTime(), nullable=False),
        sa.Column("last_seen_at", UtcDateTime(), nullable=False),
        sa.Column("ends_at", UtcDateTime(), nullable=False),
        sa.Column("idle_s", sa.Integer(), nullable=False),
        sa.Column("confirmed_at", UtcDateTime(), nullable=True),
        sa.Column("address", sa.Text(), nullable=False),
        sa.Column("user_agent", sa.Text(), nullable=False),
        sa.Column("revoked_at", UtcDateTime(), nullable=True),
        sa.CheckConstraint("length(address) <= 300", name="address_length"),
        sa.CheckConstraint("length(token_hash) <= 80", name="token_hash_length"),
        sa.CheckConstraint("length(user_agent) <= 300", name="user_agent_length"),
        sqlite_strict=True,
    )
    op.create_table(
        "throttle",
        sa.Column("id", sa.Integer(), primary_key=True),
        sa.Column(
            "shop_id",
            sa.Integer(),
            sa.ForeignKey("shop.id", ondelete="RESTRICT"),
            nullable=False,
            index=True,
        ),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("subject_hash", sa.Text(), nullable=False),
        sa.Column("failures", sa.Integer(), nullable=False),
        sa.Column("last_failed_at", UtcDateTime(), nullable=False),
        sa.Column("blocked_until", UtcDateTime(), nullable=True),
        sa.CheckConstraint("length(kind) <= 80", name="kind_length"),
        sa.CheckConstraint("length(subject_hash) <= 80", name="subject_hash_length"),
        sa.UniqueConstraint("shop_id", "kind", "subject_hash"),
        sqlite_strict=True,
    )
    op.create_table(
        "api_token",
        sa.Column("id", sa.Integer(), primary_key=True),
        sa.Column(
            "shop_id",
            sa.Integer(),
            sa.ForeignKey("shop.id", ondelete="RESTRICT"),
            nullable=False,
            index=True,
        ),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("role", sa.Text(), nullable=False),
        sa.Column("token_hash", sa.Text(), nullable=False, unique=True),
        sa.Column("hint", sa.Text(), nullable=False),
        sa.Column(
            "created_by_id",
            sa.Integer(),
            sa.ForeignKey("person.id", ondelete="RESTRICT"),
            nullable=True,
            index=True,
        ),
        sa.Column("created_at", UtcDateTime(), nullable=False),
        sa.Column("expires_at", UtcDateTime(), nullable=True),
        sa.Column("last_used_at", UtcDateTime(), nullable=True),
        sa.Column("revoked_at", UtcDateTime(), nullable=True),
        sa.CheckConstraint("length(hint) <= 80", name="hint_length"),
        sa.CheckConstraint("length(name) <= 300", name="name_length"),
        sa.CheckConstraint(
            "role IN ('desk', 'technician', 'inspector', 'owner')", name="role_known"
        ),
        sa.CheckConstraint("length(role) <= 80", name="role_length"),
        sa.CheckConstraint("length(token_hash) <= 80", name="token_hash_length"),
        sa.UniqueConstraint("shop_id", "name"),
        sqlite_strict=True,
    )


def downgrade() -> None:
    raise NotImplementedError("restore the copy that was made before the upgrade")
