"""Tablets that the owner has enrolled, and the PINs that open them."""

import sqlalchemy as sa
from alembic import op

from app.records.columns import UtcDateTime

revision = "0011"
down_revision = "0010"


def _link(name: str, target: str, *, nullable: bool = False) -> sa.Column[int]:
    key = sa.ForeignKey(f"{target}.id", ondelete="RESTRICT")
    return sa.Column(name, sa.Integer(), key, nullable=nullable, index=True)


def upgrade() -> None:
    op.create_table(
        "tablet",
        sa.Column("id", sa.Integer(), primary_key=True),
        _link("shop_id", "shop"),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("code_hash", sa.Text(), nullable=True),
        sa.Column("code_until", UtcDateTime(), nullable=True),
        sa.Column("token_hash", sa.Text(), nullable=True),
        _link("created_by_id", "person", nullable=True),
        sa.Column("created_at", UtcDateTime(), nullable=False),
        sa.Column("enrolled_at", UtcDateTime(), nullable=True),
        sa.Column("last_seen_at", UtcDateTime(), nullable=True),
        sa.Column("revoked_at", UtcDateTime(), nullable=True),
        sa.CheckConstraint("length(code_hash) <= 80", name="code_hash_length"),
        sa.CheckConstraint("length(name) <= 300", name="name_length"),
        sa.CheckConstraint("length(token_hash) <= 80", name="token_hash_length"),
        sa.UniqueConstraint("code_hash"),
        sa.UniqueConstraint("token_hash"),
        sqlite_strict=True,
    )
    with op.batch_alter_table("person") as person:
        person.add_column(sa.Column("pin_hash", sa.Text(), nullable=True))
        person.add_column(sa.Column("pin_set_at", UtcDateTime(), nullable=True))
        person.create_check_constraint("pin_hash_length", "length(pin_hash) <= 300")
    with op.batch_alter_table("sign_in_session") as opened:
        opened.add_column(sa.Column("tablet_id", sa.Integer(), nullable=True))
        opened.create_foreign_key(
            "fk_sign_in_session_tablet_id_tablet",
            "tablet",
            ["tablet_id"],
            ["id"],
            ondelete="RESTRICT",
        )
        opened.create_index("ix_sign_in_session_tablet_id", ["tablet_id"])


def downgrade() -> None:
    raise NotImplementedError("restore the copy that was made before the upgrade")
