"""The register of certificates and the claim links."""

import sqlalchemy as sa
from alembic import op

from app.records.columns import Content, UtcDateTime

revision = "0005"
down_revision = "0004"


def upgrade() -> None:
    op.create_table(
        "certificate",
        sa.Column("id", sa.Integer(), primary_key=True),
        sa.Column(
            "shop_id",
            sa.Integer(),
            sa.ForeignKey("shop.id", ondelete="RESTRICT"),
            nullable=False,
            index=True,
        ),
        sa.Column("number", sa.Text(), nullable=False),
        sa.Column(
            "job_id",
            sa.Integer(),
            sa.ForeignKey("job.id", ondelete="RESTRICT"),
            nullable=False,
            index=True,
        ),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("status", sa.Text(), nullable=False),
        sa.Column(
            "survey_id",
            sa.Integer(),
            sa.ForeignKey("survey.id", ondelete="RESTRICT"),
            nullable=True,
            index=True,
        ),
        sa.Column(
            "result_id",
            sa.Integer(),
            sa.ForeignKey("result.id", ondelete="RESTRICT"),
            nullable=True,
            index=True,
        ),
        sa.Column(
            "before_result_id",
            sa.Integer(),
            sa.ForeignKey("result.id", ondelete="RESTRICT"),
            nullable=True,
            index=True,
        ),
        sa.Column(
            "reference_revision_id",
            sa.Integer(),
            sa.ForeignKey("reference_revision.id", ondelete="RESTRICT"),
            nullable=True,
            index=True,
        ),
        sa.Column(
            "replaces_id",
            sa.Integer(),
            sa.ForeignKey("certificate.id", ondelete="RESTRICT"),
            nullable=True,
            index=True,
        ),
        sa.Column("content", sa.Text(), nullable=True),
        sa.Column("content_sha256", sa.Text(), nullable=True),
        sa.Column("sha256", sa.Text(), nullable=True),
        sa.Column("signer_fingerprint", sa.Text(), nullable=True),
        sa.Column("signer_name", sa.Text(), nullable=True),
        sa.Column(
            "signed_by_id",
            sa.Integer(),
            sa.ForeignKey("person.id", ondelete="RESTRICT"),
            nullable=True,
            index=True,
        ),
        sa.Column("reserved_at", UtcDateTime(), nullable=False),
        sa.Column("issued_at", UtcDateTime(), nullable=True),
        sa.Column("ended_at", UtcDateTime(), nullable=True),
        sa.Column(
            "ended_by_id",
            sa.Integer(),
            sa.ForeignKey("person.id", ondelete="RESTRICT"),
            nullable=True,
            index=True,
        ),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint("length(content) <= 8000000", name="content_length"),
        sa.CheckConstraint("length(content_sha256) <= 80", name="content_sha256_length"),
        sa.CheckConstraint("kind IN ('report', 'completion')", name="kind_known"),
        sa.CheckConstraint("length(kind) <= 80", name="kind_length"),
        sa.CheckConstraint("length(number) <= 80", name="number_length"),
        sa.CheckConstraint("length(reason) <= 8000", name="reason_length"),
        sa.CheckConstraint("length(sha256) <= 80", name="sha256_length"),
        sa.CheckConstraint("length(signer_fingerprint) <= 80", name="signer_fingerprint_length"),
        sa.CheckConstraint("length(signer_name) <= 300", name="signer_name_length"),
        sa.CheckConstraint(
            "status IN ('issuing', 'valid', 'superseded', 'withdrawn', 'void')", name="status_known"
        ),
        sa.CheckConstraint("length(status) <= 80", name="status_length"),
        sa.UniqueConstraint("shop_id", "number"),
        sqlite_strict=True,
    )
    op.create_table(
        "certificate_file",
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
            unique=True,
        ),
        sa.Column("media_type", sa.Text(), nullable=False),
        sa.Column("sha256", sa.Text(), nullable=False, index=True),
        sa.Column("content", Content(), nullable=False),
        sa.CheckConstraint("length(media_type) <= 80", name="media_type_length"),
        sa.CheckConstraint("length(sha256) <= 80", name="sha256_length"),
        sqlite_strict=True,
    )
    op.create_table(
        "claim_link",
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
        sa.Column(
            "certificate_id",
            sa.Integer(),
            sa.ForeignKey("certificate.id", ondelete="RESTRICT"),
            nullable=True,
            index=True,
        ),
        sa.Column("token_hash", sa.Text(), nullable=False, unique=True),
        sa.Column("hint", sa.Text(), nullable=False),
        sa.Column("recipient", sa.Text(), nullable=False),
        sa.Column(
            "created_by_id",
            sa.Integer(),
            sa.ForeignKey("person.id", ondelete="RESTRICT"),
            nullable=True,
            index=True,
        ),
        sa.Column("created_at", UtcDateTime(), nullable=False),
        sa.Column("expires_at", UtcDateTime(), nullable=False),
        sa.Column("revoked_at", UtcDateTime(), nullable=True),
        sa.Column(
            "revoked_by_id",
            sa.Integer(),
            sa.ForeignKey("person.id", ondelete="RESTRICT"),
            nullable=True,
            index=True,
        ),
        sa.CheckConstraint("length(hint) <= 80", name="hint_length"),
        sa.CheckConstraint("length(recipient) <= 300", name="recipient_length"),
        sa.CheckConstraint("length(token_hash) <= 80", name="token_hash_length"),
        sqlite_strict=True,
    )
    op.create_table(
        "claim_access",
        sa.Column("id", sa.Integer(), primary_key=True),
        sa.Column(
            "shop_id",
            sa.Integer(),
            sa.ForeignKey("shop.id", ondelete="RESTRICT"),
            nullable=False,
            index=True,
        ),
        sa.Column(
            "claim_link_id",
            sa.Integer(),
            sa.ForeignKey("claim_link.id", ondelete="RESTRICT"),
            nullable=False,
            index=True,
        ),
        sa.Column("at", UtcDateTime(), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("address", sa.Text(), nullable=False),
        sa.Column("user_agent", sa.Text(), nullable=False),
        sa.CheckConstraint("length(address) <= 300", name="address_length"),
        sa.CheckConstraint("length(user_agent) <= 300", name="user_agent_length"),
        sa.CheckConstraint("length(what) <= 80", name="what_length"),
        sqlite_strict=True,
    )


def downgrade() -> None:
    raise NotImplementedError("restore the copy that was made before the upgrade")
