"""Photos of a job, their bytes, and what customers signed."""

import sqlalchemy as sa
from alembic import op

from app.records.columns import Content, UtcDateTime

revision = "0008"
down_revision = "0007"


def _link(name: str, target: str, *, nullable: bool = False, index: bool = True) -> sa.Column[int]:
    key = sa.ForeignKey(f"{target}.id", ondelete="RESTRICT")
    return sa.Column(name, sa.Integer(), key, nullable=nullable, index=index)


def upgrade() -> None:
    op.create_table(
        "photo",
        sa.Column("id", sa.Integer(), primary_key=True),
        _link("shop_id", "shop"),
        _link("job_id", "job"),
        sa.Column("about", sa.Text(), nullable=False),
        sa.Column("caption", sa.Text(), nullable=False),
        sa.Column("width", sa.Integer(), nullable=False),
        sa.Column("height", sa.Integer(), nullable=False),
        sa.Column("size", sa.Integer(), nullable=False),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("sent_sha256", sa.Text(), nullable=False),
        _link("added_by_id", "person", nullable=True),
        sa.Column("added_at", UtcDateTime(), nullable=False),
        sa.Column("taken_out_at", UtcDateTime(), nullable=True),
        _link("taken_out_by_id", "person", nullable=True),
        sa.Column("taken_out_because", sa.Text(), nullable=True),
        sa.Column("erased_at", UtcDateTime(), nullable=True),
        sa.CheckConstraint("length(about) <= 80", name="about_length"),
        sa.CheckConstraint("length(caption) <= 300", name="caption_length"),
        sa.CheckConstraint("length(sha256) <= 80", name="sha256_length"),
        sa.CheckConstraint("length(sent_sha256) <= 80", name="sent_sha256_length"),
        sa.CheckConstraint("length(taken_out_because) <= 8000", name="taken_out_because_length"),
        sqlite_strict=True,
    )
    op.create_table(
        "photo_file",
        sa.Column("id", sa.Integer(), primary_key=True),
        _link("shop_id", "shop"),
        _link("photo_id", "photo", index=False),
        sa.Column("form", sa.Text(), nullable=False),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("content", Content(), nullable=False),
        sa.CheckConstraint("form IN ('whole', 'thumbnail')", name="form_known"),
        sa.CheckConstraint("length(form) <= 80", name="form_length"),
        sa.CheckConstraint("length(sha256) <= 80", name="sha256_length"),
        sa.UniqueConstraint("photo_id", "form"),
        sqlite_strict=True,
    )
    op.create_table(
        "signature",
        sa.Column("id", sa.Integer(), primary_key=True),
        _link("shop_id", "shop"),
        _link("job_id", "job"),
        sa.Column("purpose", sa.Text(), nullable=False),
        sa.Column("way", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("wording", sa.Text(), nullable=False),
        sa.Column("strokes", sa.Text(), nullable=False),
        sa.Column("strokes_sha256", sa.Text(), nullable=True),
        _link("taken_by_id", "person", nullable=True),
        sa.Column("at", UtcDateTime(), nullable=False),
        sa.Column("erased_at", UtcDateTime(), nullable=True),
        sa.CheckConstraint("purpose IN ('authorisation', 'privacy')", name="purpose_known"),
        sa.CheckConstraint("way IN ('on_screen', 'on_card')", name="way_known"),
        sa.CheckConstraint("way = 'on_screen' OR strokes = ''", name="strokes_on_screen"),
        sa.CheckConstraint("length(name) <= 300", name="name_length"),
        sa.CheckConstraint("length(purpose) <= 80", name="purpose_length"),
        sa.CheckConstraint("length(strokes) <= 8000000", name="strokes_length"),
        sa.CheckConstraint("length(strokes_sha256) <= 80", name="strokes_sha256_length"),
        sa.CheckConstraint("length(way) <= 80", name="way_length"),
        sa.CheckConstraint("length(wording) <= 8000", name="wording_length"),
        sqlite_strict=True,
    )


def downgrade() -> None:
    raise NotImplementedError("restore the copy that was made before the upgrade")
