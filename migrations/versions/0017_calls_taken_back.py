"""A call that was noted by mistake is taken back by a note."""

import sqlalchemy as sa
from alembic import op

revision = "0017"
down_revision = "0016"


def upgrade() -> None:
    with op.batch_alter_table("job_note") as note:
        note.add_column(sa.Column("takes_back_id", sa.Integer(), nullable=True))
        note.create_foreign_key(
            "fk_job_note_takes_back_id_job_note",
            "job_note",
            ["takes_back_id"],
            ["id"],
            ondelete="RESTRICT",
        )
        note.create_unique_constraint("uq_job_note_takes_back_id", ["takes_back_id"])


def downgrade() -> None:
    raise NotImplementedError("restore the copy that was made before the upgrade")
