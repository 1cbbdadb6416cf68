"""An instrument's own record: the check bar, gauge studies, the handedness of its axes."""

import datetime

from sqlalchemy import UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from app.records.tables.base import Code, Document, Line, Paragraph, ShopRecord, link, one_of


class CheckBar(ShopRecord):
    """One calibration of a bar of known length; a later one is a row of its own."""

    __tablename__ = "check_bar"
    __table_args__ = (UniqueConstraint("shop_id", "name", "calibrated_on"),)
    append_only = True

    name: Mapped[Line]
    serial_number: Mapped[Line] = mapped_column(default="")
    length_mm: Mapped[float]
    length_u_mm: Mapped[float]
    expansion_per_k: Mapped[float]
    expansion_u_per_k: Mapped[float]
    calibrated_on: Mapped[datetime.date]
    due_on: Mapped[datetime.date | None]
    laboratory: Mapped[Line] = mapped_column(default="")
    document_number: Mapped[Line] = mapped_column(default="")
    note: Mapped[Paragraph] = mapped_column(default="")
    recorded_by_id: Mapped[int | None] = link("person")
    recorded_at: Mapped[datetime.datetime]


class CheckBarReading(ShopRecord):
    """The bar measured with an instrument, and what was found at that moment."""

    __tablename__ = "check_bar_reading"
    append_only = True

    instrument_id: Mapped[int] = link("instrument")
    check_bar_id: Mapped[int] = link("check_bar")
    calibration_id: Mapped[int | None] = link("calibration")
    """The instrument's calibration of that day."""
    measured_at: Mapped[datetime.datetime]
    measured_by: Mapped[Line]
    temperature_c: Mapped[float]
    temperature_u_k: Mapped[float]
    readings: Mapped[Document]
    """JSON: lengths in mm, as read."""
    deviation_mm: Mapped[float]
    """Mean of the readings at 20 °C minus the bar's length."""
    deviation_u_mm: Mapped[float | None]
    signals: Mapped[Line] = mapped_column(default="")
    """Codes of what speaks against it, with spaces between; empty: in control."""
    note: Mapped[Paragraph] = mapped_column(default="")
    recorded_by_id: Mapped[int | None] = link("person")
    recorded_at: Mapped[datetime.datetime]


class CheckBarExplanation(ShopRecord):
    """Why a reading was out of control, by a person who may say so."""

    __tablename__ = "check_bar_explanation"
    append_only = True

    reading_id: Mapped[int] = link("check_bar_reading", unique=True, index=False)
    reason: Mapped[Paragraph]
    begin_anew: Mapped[bool] = mapped_column(default=False)
    """Readings from here on make a chart of their own."""
    person_id: Mapped[int | None] = link("person")
    at: Mapped[datetime.datetime]


class GaugeStudy(ShopRecord):
    """A gauge study as it was sent, and what came out."""

    __tablename__ = "gauge_study"
    append_only = True

    instrument_id: Mapped[int] = link("instrument")
    measured_at: Mapped[datetime.datetime | None]
    document: Mapped[Document]
    """The `jigbook.gauge_study/1` text."""
    document_sha256: Mapped[Code]
    result: Mapped[Document]
    """JSON of the result, as it was computed."""
    recorded_by_id: Mapped[int | None] = link("person")
    recorded_at: Mapped[datetime.datetime]


class HandednessCheck(ShopRecord):
    """The steering turned to the known left, measured once: are the axes right-handed?"""

    __tablename__ = "handedness_check"
    __table_args__ = (one_of("verdict", "right_handed", "left_handed"),)
    append_only = True

    instrument_id: Mapped[int] = link("instrument")
    measured_at: Mapped[datetime.datetime]
    document: Mapped[Document]
    """The `jigbook.survey/1` text."""
    document_sha256: Mapped[Code]
    verdict: Mapped[Code]
    left_turn_deg: Mapped[float]
    targets: Mapped[int]
    stations: Mapped[int]
    recorded_by_id: Mapped[int | None] = link("person")
    recorded_at: Mapped[datetime.datetime]
