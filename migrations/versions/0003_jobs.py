"""Jobs and what is seen and done on a machine."""

import sqlalchemy as sa
from alembic import op

from app.records.columns import Day, Flag, UtcDateTime

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    op.create_table(
        "job",
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
            "customer_id",
            sa.Integer(),
            sa.ForeignKey("customer.id", ondelete="RESTRICT"),
            nullable=False,
            index=True,
        ),
        sa.Column(
            "machine_id",
            sa.Integer(),
            sa.ForeignKey("machine.id", ondelete="RESTRICT"),
            nullable=False,
            index=True,
        ),
        sa.Column(
            "claim_id",
            sa.Integer(),
            sa.ForeignKey("claim.id", ondelete="RESTRICT"),
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
            "instrument_id",
            sa.Integer(),
            sa.ForeignKey("instrument.id", ondelete="RESTRICT"),
            nullable=True,
            index=True,
        ),
        sa.Column("received_at", UtcDateTime(), nullable=False),
        sa.Column(
            "checked_in_by_id",
            sa.Integer(),
            sa.ForeignKey("person.id", ondelete="RESTRICT"),
            nullable=True,
            index=True,
        ),
        sa.Column("promised_on", Day(), nullable=True),
        sa.Column("happened_on", Day(), nullable=True),
        sa.Column("what_happened", sa.Text(), nullable=False),
        sa.Column("impact_kind", sa.Text(), nullable=False),
        sa.Column("impact_clock", sa.Integer(), nullable=True),
        sa.Column("rideable", Flag(), nullable=True),
        sa.Column("damage", sa.Text(), nullable=False),
        sa.Column("odometer", sa.Integer(), nullable=True),
        sa.Column("odometer_unit", sa.Text(), nullable=False),
        sa.Column("keys_and_accessories", sa.Text(), nullable=False),
        sa.Column("storage_place", sa.Text(), nullable=False),
        sa.Column("authorised_by", sa.Text(), nullable=False),
        sa.Column("authorised_scope", sa.Text(), nullable=False),
        sa.Column("authorised_at", UtcDateTime(), nullable=True),
        sa.Column("privacy_notice_at", UtcDateTime(), nullable=True),
        sa.Column("search_text", sa.Text(), nullable=False),
        sa.Column("created_at", UtcDateTime(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint("length(authorised_by) <= 300", name="authorised_by_length"),
        sa.CheckConstraint("length(authorised_scope) <= 8000", name="authorised_scope_length"),
        sa.CheckConstraint("length(damage) <= 8000000", name="damage_length"),
        sa.CheckConstraint("length(impact_kind) <= 80", name="impact_kind_length"),
        sa.CheckConstraint(
            "length(keys_and_accessories) <= 8000", name="keys_and_accessories_length"
        ),
        sa.CheckConstraint("length(number) <= 80", name="number_length"),
        sa.CheckConstraint("length(odometer_unit) <= 80", name="odometer_unit_length"),
        sa.CheckConstraint("length(search_text) <= 8000", name="search_text_length"),
        sa.CheckConstraint("length(storage_place) <= 300", name="storage_place_length"),
        sa.CheckConstraint("length(what_happened) <= 8000", name="what_happened_length"),
        sa.UniqueConstraint("shop_id", "number"),
        sqlite_strict=True,
    )
    op.create_table(
        "job_entry",
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
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column(
            "person_id",
            sa.Integer(),
            sa.ForeignKey("person.id", ondelete="RESTRICT"),
            nullable=True,
            index=True,
        ),
        sa.Column("at", UtcDateTime(), nullable=False),
        sa.CheckConstraint("length(kind) <= 80", name="kind_length"),
        sa.CheckConstraint("length(words) <= 8000", name="words_length"),
        sqlite_strict=True,
    )
    op.create_table(
        "visual_check_item",
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
        sa.Column("item", sa.Text(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("place", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column(
            "person_id",
            sa.Integer(),
            sa.ForeignKey("person.id", ondelete="RESTRICT"),
            nullable=True,
            index=True,
        ),
        sa.Column("at", UtcDateTime(), nullable=False),
        sa.CheckConstraint("length(item) <= 80", name="item_length"),
        sa.CheckConstraint("length(note) <= 8000", name="note_length"),
        sa.CheckConstraint("length(place) <= 300", name="place_length"),
        sa.CheckConstraint("state IN ('seen', 'not_seen', 'not_checked')", name="state_known"),
        sa.CheckConstraint("length(state) <= 80", name="state_length"),
        sqlite_strict=True,
    )
    op.create_table(
        "hold",
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
            "visual_check_item_id",
            sa.Integer(),
            sa.ForeignKey("visual_check_item.id", ondelete="RESTRICT"),
            nullable=True,
            index=True,
        ),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column(
            "opened_by_id",
            sa.Integer(),
            sa.ForeignKey("person.id", ondelete="RESTRICT"),
            nullable=True,
            index=True,
        ),
        sa.Column("opened_at", UtcDateTime(), nullable=False),
        sa.Column(
            "closed_by_id",
            sa.Integer(),
            sa.ForeignKey("person.id", ondelete="RESTRICT"),
            nullable=True,
            index=True,
        ),
        sa.Column("closed_at", UtcDateTime(), nullable=True),
        sa.Column("closed_because", sa.Text(), nullable=True),
        sa.CheckConstraint("length(closed_because) <= 8000", name="closed_because_length"),
        sa.CheckConstraint("length(note) <= 8000", name="note_length"),
        sa.CheckConstraint("length(reason) <= 80", name="reason_length"),
        sqlite_strict=True,
    )
    op.create_table(
        "correction_note",
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
            "supersedes_id",
            sa.Integer(),
            sa.ForeignKey("correction_note.id", ondelete="RESTRICT"),
            nullable=True,
            unique=True,
        ),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column(
            "person_id",
            sa.Integer(),
            sa.ForeignKey("person.id", ondelete="RESTRICT"),
            nullable=True,
            index=True,
        ),
        sa.Column("at", UtcDateTime(), nullable=False),
        sa.CheckConstraint("length(words) <= 8000", name="words_length"),
        sqlite_strict=True,
    )


def downgrade() -> None:
    raise NotImplementedError("restore the copy that was made before the upgrade")
