"""Surveys exactly as they were sent, and the results that the engine gave."""

import datetime

from sqlalchemy import UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from app.records.tables.base import Code, Document, Line, Paragraph, ShopRecord, link, one_of
from app.records.tables.drafts import PHASES


class Survey(ShopRecord):
    __tablename__ = "survey"
    __table_args__ = (UniqueConstraint("job_id", "ordinal"), one_of("phase", *PHASES))
    append_only = True

    job_id: Mapped[int] = link("job")
    ordinal: Mapped[int]
    """1, 2, 3 ... within the job."""
    phase: Mapped[Code]
    supersedes_id: Mapped[int | None] = link("survey", unique=True, index=False)
    supersedes_because: Mapped[Paragraph] = mapped_column(default="")
    instrument_id: Mapped[int | None] = link("instrument")
    calibration_id: Mapped[int | None] = link("calibration")
    reference_revision_id: Mapped[int | None] = link("reference_revision")
    measured_at: Mapped[datetime.datetime | None]
    measured_by: Mapped[Line] = mapped_column(default="")
    measured_by_id: Mapped[int | None] = link("person")
    submitted_by_id: Mapped[int | None] = link("person")
    submitted_at: Mapped[datetime.datetime]
    sent_as: Mapped[Code]
    """`json`, `csv`, `form` or `draft`."""
    sent: Mapped[Document]
    """The text exactly as it was sent."""
    document: Mapped[Document]
    """The `jigbook.survey/1` text that the engine was given."""
    document_sha256: Mapped[Code]


class SurveyPoint(ShopRecord):
    __tablename__ = "survey_point"
    __table_args__ = (UniqueConstraint("survey_id", "position"),)
    append_only = True

    survey_id: Mapped[int] = link("survey")
    position: Mapped[int]
    """0, 1, 2 ... as in the document."""
    feature: Mapped[Code]
    label: Mapped[Line | None]
    station: Mapped[Line | None]
    turn: Mapped[Code | None]
    x: Mapped[float]
    y: Mapped[float]
    z: Mapped[float]
    u: Mapped[float | None]
    offset: Mapped[float | None]
    cov: Mapped[Line | None]
    """JSON list of six."""


class Result(ShopRecord):
    """What the engine made of a survey. A later evaluation is a further row."""

    __tablename__ = "result"
    append_only = True

    survey_id: Mapped[int] = link("survey")
    reference_revision_id: Mapped[int | None] = link("reference_revision")
    supersedes_id: Mapped[int | None] = link("result", unique=True, index=False)
    engine_version: Mapped[Code]
    threshold: Mapped[float]
    verdict: Mapped[Code]
    rig_verdict: Mapped[Code]
    orientation: Mapped[Code]
    document: Mapped[Document]
    """The `jigbook.result/1` text."""
    document_sha256: Mapped[Code]
    computed_at: Mapped[datetime.datetime]
