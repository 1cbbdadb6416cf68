"""Words are searched from their beginning; a call tells the day that was promised in it; handing
over tells what was given back, and a cancelled job whether the machine still stands here."""

import sqlalchemy as sa
from alembic import op

from app.records.columns import Day, Flag
from app.records.search_text import closed_up, spaced, words_in

revision = "0019"
down_revision = "0018"

SEARCHED = ("customer", "machine", "claim", "insurer", "reference", "job")
LIST_LENGTH = 8000


def upgrade() -> None:
    for name in SEARCHED:
        search_anew(name)
    with op.batch_alter_table("job_note", recreate="always") as note:
        for name in ("promised_on", "promised_before"):
            note.add_column(sa.Column(name, Day(), nullable=True))
    with op.batch_alter_table("job_entry") as entry:
        for name in ("given_back", "kept_here"):
            entry.add_column(sa.Column(name, sa.Text(), nullable=False, server_default=""))
            entry.create_check_constraint(f"{name}_length", f"length({name}) <= {LIST_LENGTH}")
        for name in ("told", "still_here"):
            entry.add_column(sa.Column(name, Flag(), nullable=True))
    with op.batch_alter_table("job_entry") as entry:
        for name in ("given_back", "kept_here"):
            entry.alter_column(name, server_default=None)


def search_anew(name: str) -> None:
    """What was made comparable before, as words with a space before and behind each of them."""
    table = sa.table(name, sa.column("id", sa.Integer), sa.column("search_text", sa.Text))
    rows = op.get_bind().execute(sa.select(table.c.id, table.c.search_text)).all()
    for identity, text in rows:
        words = [word for part in text.split() for word in (*words_in(part), closed_up(part))]
        new = spaced(" ".join(dict.fromkeys(filter(None, words))))
        op.get_bind().execute(
            sa.update(table).where(table.c.id == identity).values(search_text=new)
        )


def downgrade() -> None:
    raise NotImplementedError("restore the copy that was made before the upgrade")
