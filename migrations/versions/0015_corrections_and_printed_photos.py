"""What a correction was done to, how and by whom; which photos go on certificates."""

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
    with op.batch_alter_table("photo") as photo:
        photo.add_column(sa.Column("printed", sa.Text(), nullable=False, server_default=""))
        photo.create_check_constraint("printed_length", "length(printed) <= 80")
        photo.create_check_constraint("printed_known", "printed IN ('', 'yes', 'no')")
    with op.batch_alter_table("correction_note") as note:
        for name in (*CODES, *LINES):
            note.alter_column(name, server_default=None)
    with op.batch_alter_table("photo") as photo:
        photo.alter_column("printed", server_default=None)


def downgrade() -> None:
    raise NotImplementedError("restore the copy that was made before the upgrade")
