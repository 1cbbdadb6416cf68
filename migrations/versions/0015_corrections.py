"""What a correction was done to, how, by whom and when."""

import sqlalchemy as sa
from alembic import op

from app.records.columns import Day

revision = "0015"
down_revision = "0014"

CODES = ("part", "method")
LINES = ("instruction", "done_by")


def upgrade() -> None:
    with op.batch_alter_table("correction_note") as note:
        for name in (*CODES, *LINES):
            note.add_column(sa.Column(name, sa.Text(), nullable=False, server_default=""))
        note.add_column(sa.Column("done_on", Day(), nullable=True))
        for name in CODES:
            note.create_check_constraint(f"{name}_length", f"length({name}) <= 80")
        for name in LINES:
            note.create_check_constraint(f"{name}_length", f"length({name}) <= 300")
    with op.batch_alter_table("correction_note") as note:
        for name in (*CODES, *LINES):
            note.alter_column(name, server_default=None)


def downgrade() -> None:
    raise NotImplementedError("restore the copy that was made before the upgrade")
