"""An instrument's own record: the check bar, gauge studies, the handedness of its axes."""

import sqlalchemy as sa
from alembic import op

from app.records.columns import Day, Flag, Real, UtcDateTime

revision = "0007"
down_revision = "0006"


def upgrade() -> None:
    op.create_table(
        "check_bar",
        sa.Column("id", sa.Integer(), primary_key=True),
        sa.Column(
            "shop_id",
            sa.Integer(),
            sa.ForeignKey("shop.id", ondelete="RESTRICT"),
            nullable=False,
            index=True,
        ),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("serial_number", sa.Text(), nullable=False),
        sa.Column("length_mm", Real(), nullable=False),
        sa.Column("length_u_mm", Real(), nullable=False),
        sa.Column("expansion_per_k", Real(), nullable=False),
        sa.Column("expansion_u_per_k", Real(), nullable=False),
        sa.Column("calibrated_on", Day(), nullable=False),
        sa.Column("due_on", Day(), nullable=True),
        sa.Column("laboratory", sa.Text(), nullable=False),
        sa.Column("document_number", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column(
            "recorded_by_id",
            sa.Integer(),
            sa.ForeignKey("person.id", ondelete="RESTRICT"),
            nullable=True,
            index=True,
        ),
        sa.Column("recorded_at", UtcDateTime(), nullable=False),
        sa.CheckConstraint("length(document_number) <= 300", name="document_number_length"),
        sa.CheckConstraint("length(laboratory) <= 300", name="laboratory_length"),
        sa.CheckConstraint("length(name) <= 300", name="name_length"),
        sa.CheckConstraint("length(note) <= 8000", name="note_length"),
        sa.CheckConstraint("length(serial_number) <= 300", name="serial_number_length"),
        sa.UniqueConstraint("shop_id", "name", "calibrated_on"),
        sqlite_strict=True,
    )
    op.create_table(
        "check_bar_reading",
        sa.Column("id", sa.Integer(), primary_key=True),
        sa.Column(
            "shop_id",
            sa.Integer(),
            sa.ForeignKey("shop.id", ondelete="RESTRICT"),
            nullable=False,
            index=True,
        ),
        sa.Column(
            "instrument_id",
            sa.Integer(),
            sa.ForeignKey("instrument.id", ondelete="RESTRICT"),
            nullable=False,
            index=True,
        ),
        sa.Column(
            "check_bar_id",
            sa.Integer(),
            sa.ForeignKey("check_bar.id", ondelete="RESTRICT"),
            nullable=False,
            index=True,
        ),
        sa.Column(
            "calibration_id",
            sa.Integer(),
            sa.ForeignKey("calibration.id", ondelete="RESTRICT"),
            nullable=True,
            index=True,
        ),
        sa.Column("measured_at", UtcDateTime(), nullable=False),
        sa.Column("measured_by", sa.Text(), nullable=False),
        sa.Column("temperature_c", Real(), nullable=False),
        sa.Column("temperature_u_k", Real(), nullable=False),
        sa.Column("readings", sa.Text(), nullable=False),
        sa.Column("deviation_mm", Real(), nullable=False),
        sa.Column("deviation_u_mm", Real(), nullable=True),
        sa.Column("signals", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column(
            "recorded_by_id",
            sa.Integer(),
            sa.ForeignKey("person.id", ondelete="RESTRICT"),
            nullable=True,
            index=True,
        ),
        sa.Column("recorded_at", UtcDateTime(), nullable=False),
        sa.CheckConstraint("length(measured_by) <= 300", name="measured_by_length"),
        sa.CheckConstraint("length(note) <= 8000", name="note_length"),
        sa.CheckConstraint("length(readings) <= 8000000", name="readings_length"),
        sa.CheckConstraint("length(signals) <= 300", name="signals_length"),
        sqlite_strict=True,
    )
    op.create_table(
        "check_bar_explanation",
        sa.Column("id", sa.Integer(), primary_key=True),
        sa.Column(
            "shop_id",
            sa.Integer(),
            sa.ForeignKey("shop.id", ondelete="RESTRICT"),
            nullable=False,
            index=True,
        ),
        sa.Column(
            "reading_id",
            sa.Integer(),
            sa.ForeignKey("check_bar_reading.id", ondelete="RESTRICT"),
            nullable=False,
            unique=True,
        ),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("begin_anew", Flag(), nullable=False),
        sa.Column(
            "person_id",
            sa.Integer(),
            sa.ForeignKey("person.id", ondelete="RESTRICT"),
            nullable=True,
            index=True,
        ),
        sa.Column("at", UtcDateTime(), nullable=False),
        sa.CheckConstraint("length(reason) <= 8000", name="reason_length"),
        sqlite_strict=True,
    )
    op.create_table(
        "gauge_study",
        sa.Column("id", sa.Integer(), primary_key=True),
        sa.Column(
            "shop_id",
            sa.Integer(),
            sa.ForeignKey("shop.id", ondelete="RESTRICT"),
            nullable=False,
            index=True,
        ),
        sa.Column(
            "instrument_id",
            sa.Integer(),
            sa.ForeignKey("instrument.id", ondelete="RESTRICT"),
            nullable=False,
            index=True,
        ),
        sa.Column("measured_at", UtcDateTime(), nullable=True),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("document_sha256", sa.Text(), nullable=False),
        sa.Column("result", sa.Text(), nullable=False),
        sa.Column(
            "recorded_by_id",
            sa.Integer(),
            sa.ForeignKey("person.id", ondelete="RESTRICT"),
            nullable=True,
            index=True,
        ),
        sa.Column("recorded_at", UtcDateTime(), nullable=False),
        sa.CheckConstraint("length(document) <= 8000000", name="document_length"),
        sa.CheckConstraint("length(document_sha256) <= 80", name="document_sha256_length"),
        sa.CheckConstraint("length(result) <= 8000000", name="result_length"),
        sqlite_strict=True,
    )
    op.create_table(
        "handedness_check",
        sa.Column("id", sa.Integer(), primary_key=True),
        sa.Column(
            "shop_id",
            sa.Integer(),
            sa.ForeignKey("shop.id", ondelete="RESTRICT"),
            nullable=False,
            index=True,
        ),
        sa.Column(
            "instrument_id",
            sa.Integer(),
            sa.ForeignKey("instrument.id", ondelete="RESTRICT"),
            nullable=False,
            index=True,
        ),
        sa.Column("measured_at", UtcDateTime(), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("document_sha256", sa.Text(), nullable=False),
        sa.Column("verdict", sa.Text(), nullable=False),
        sa.Column("left_turn_deg", Real(), nullable=False),
        sa.Column("targets", sa.Integer(), nullable=False),
        sa.Column("stations", sa.Integer(), nullable=False),
        sa.Column(
            "recorded_by_id",
            sa.Integer(),
            sa.ForeignKey("person.id", ondelete="RESTRICT"),
            nullable=True,
            index=True,
        ),
        sa.Column("recorded_at", UtcDateTime(), nullable=False),
        sa.CheckConstraint("length(document) <= 8000000", name="document_length"),
        sa.CheckConstraint("length(document_sha256) <= 80", name="document_sha256_length"),
        sa.CheckConstraint("verdict IN ('right_handed', 'left_handed')", name="verdict_known"),
        sa.CheckConstraint("length(verdict) <= 80", name="verdict_length"),
        sqlite_strict=True,
    )


def downgrade() -> None:
    raise NotImplementedError("restore the copy that was made before the upgrade")
