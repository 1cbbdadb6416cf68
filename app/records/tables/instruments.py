"""Instruments and their calibrations."""

import datetime

from sqlalchemy import CheckConstraint, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from app.records.tables.base import Code, Line, Paragraph, ShopRecord, link


class Instrument(ShopRecord):
    """Which instrument it is. What it can do stands in its calibrations."""

    __tablename__ = "instrument"
    __table_args__ = (UniqueConstraint("shop_id", "name"),)

    name: Mapped[Line]
    kind: Mapped[Code] = mapped_column(default="")
    serial_number: Mapped[Line] = mapped_column(default="")
    note: Mapped[Paragraph] = mapped_column(default="")
    created_at: Mapped[datetime.datetime]
    retired_at: Mapped[datetime.datetime | None]
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}  # noqa: RUF012


class Calibration(ShopRecord):
    """What a calibration found, as it is copied into each survey; null: not stated."""

    __tablename__ = "calibration"
    __table_args__ = (CheckConstraint("due_on >= calibrated_on", name="due_after_calibrated"),)
    append_only = True

    instrument_id: Mapped[int] = link("instrument")
    calibrated_on: Mapped[datetime.date]
    due_on: Mapped[datetime.date]
    standard_uncertainty_mm: Mapped[float | None]
    offset_u_mm: Mapped[float | None]
    scale_u_ppm: Mapped[float | None]
    probe_radius_mm: Mapped[float | None]
    scale_temperature_c: Mapped[float | None]
    scale_expansion_per_k: Mapped[float | None]
    repeatability_mm: Mapped[float | None]
    repeatability_degrees_of_freedom: Mapped[float | None]
    laboratory: Mapped[Line] = mapped_column(default="")
    document_number: Mapped[Line] = mapped_column(default="")
    passed: Mapped[bool] = mapped_column(default=True)
    note: Mapped[Paragraph] = mapped_column(default="")
    recorded_by_id: Mapped[int | None] = link("person")
    recorded_at: Mapped[datetime.datetime]
