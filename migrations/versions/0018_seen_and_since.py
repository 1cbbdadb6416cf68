"""What was done since something was seen; whose place a measurement in progress is to take."""

import sqlalchemy as sa
from alembic import op

revision = "0018"
down_revision = "0017"

SINCE = {"since_seen": 80, "since_words": 8000}


def upgrade() -> None:
    with op.batch_alter_table("visual_check_item") as item:
        for name, limit in SINCE.items():
            item.add_column(sa.Column(name, sa.Text(), nullable=False, server_default=""))
            item.create_check_constraint(f"{name}_length", f"length({name}) <= {limit}")
    with op.batch_alter_table("visual_check_item") as item:
        for name in SINCE:
            item.alter_column(name, server_default=None)
    with op.batch_alter_table("draft") as draft:
        draft.add_column(sa.Column("supersedes_id", sa.Integer(), nullable=True))
        draft.create_foreign_key(
            "fk_draft_supersedes_id_survey", "survey", ["supersedes_id"], ["id"],
            ondelete="RESTRICT",
        )  # fmt: skip
        draft.create_index("ix_draft_supersedes_id", ["supersedes_id"])
        draft.add_column(
            sa.Column("supersedes_because", sa.Text(), nullable=False, server_default="")
        )
        draft.create_check_constraint(
            "supersedes_because_length", "length(supersedes_because) <= 8000"
        )
    with op.batch_alter_table("draft") as draft:
        draft.alter_column("supersedes_because", server_default=None)


def downgrade() -> None:
    raise NotImplementedError("restore the copy that was made before the upgrade")
