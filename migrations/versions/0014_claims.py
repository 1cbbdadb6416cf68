"""Links for all claims of an insurer, what was fetched by a link, photos that go with a claim."""

import sqlalchemy as sa
from alembic import op

from app.records.columns import UtcDateTime

revision = "0014"
down_revision = "0013"

OF_ONE = "(job_id IS NULL) <> (insurer_id IS NULL)"


def upgrade() -> None:
    with op.batch_alter_table("claim_link") as link:
        link.alter_column("job_id", existing_type=sa.Integer(), nullable=True)
        link.add_column(sa.Column("insurer_id", sa.Integer(), nullable=True))
        link.create_foreign_key(
            "fk_claim_link_insurer_id_insurer",
            "insurer",
            ["insurer_id"],
            ["id"],
            ondelete="RESTRICT",
        )
        link.create_index("ix_claim_link_insurer_id", ["insurer_id"])
        link.create_check_constraint("of_one", OF_ONE)
    with op.batch_alter_table("claim_access") as access:
        access.add_column(sa.Column("subject", sa.Text(), nullable=False, server_default=""))
        access.create_check_constraint("subject_length", "length(subject) <= 80")
    with op.batch_alter_table("claim_access") as access:
        access.alter_column("subject", server_default=None)
    with op.batch_alter_table("photo", recreate="always") as photo:
        photo.add_column(sa.Column("shared_at", UtcDateTime(), nullable=True))


def downgrade() -> None:
    raise NotImplementedError("restore the copy that was made before the upgrade")
