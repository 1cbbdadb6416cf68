"""What is seen and done besides measuring: the visual check, holds, corrections."""

import datetime

from sqlalchemy.orm import Mapped, mapped_column

from app.records.tables.base import Code, Line, Paragraph, ShopRecord, link, one_of


class VisualCheckItem(ShopRecord):
    """One item looked at; the newest row of a job's item is the one that stands."""

    __tablename__ = "visual_check_item"
    __table_args__ = (one_of("state", "seen", "not_seen", "not_checked"),)
    append_only = True

    job_id: Mapped[int] = link("job")
    item: Mapped[Code]
    state: Mapped[Code]
    place: Mapped[Line] = mapped_column(default="")
    note: Mapped[Paragraph] = mapped_column(default="")
    since_seen: Mapped[Code] = mapped_column(default="")
    """Why what was seen is answered otherwise: one of `schemas.visual_check.SINCE_SEEN`; else
    empty."""
    since_words: Mapped[Paragraph] = mapped_column(default="")
    """What was done or found since, and by whom."""
    person_id: Mapped[int | None] = link("person")
    at: Mapped[datetime.datetime]


class Hold(ShopRecord):
    """Something that no verdict hides and that refuses a completion certificate while open."""

    __tablename__ = "hold"
    fixed = frozenset(
        {"job_id", "reason", "opened_at", "closed_at", "closed_by_id", "closed_because"}
    )

    job_id: Mapped[int] = link("job")
    visual_check_item_id: Mapped[int | None] = link("visual_check_item")
    reason: Mapped[Code]
    note: Mapped[Paragraph] = mapped_column(default="")
    opened_by_id: Mapped[int | None] = link("person")
    opened_at: Mapped[datetime.datetime]
    closed_by_id: Mapped[int | None] = link("person")
    closed_at: Mapped[datetime.datetime | None]
    closed_because: Mapped[Paragraph | None]


class CorrectionNote(ShopRecord):
    """What was done to the machine. One that supersedes another puts its words right."""

    __tablename__ = "correction_note"
    append_only = True

    job_id: Mapped[int] = link("job")
    supersedes_id: Mapped[int | None] = link("correction_note", unique=True, index=False)
    words: Mapped[Paragraph]
    part: Mapped[Code] = mapped_column(default="")
    """One of `schemas.correction.PARTS`; empty where none was named."""
    method: Mapped[Code] = mapped_column(default="")
    """One of `schemas.correction.METHODS`; empty where none was named."""
    instruction: Mapped[Line] = mapped_column(default="")
    """The maker's instruction that was followed."""
    done_by: Mapped[Line] = mapped_column(default="")
    """Who did the work, where that is not the person who noted it."""
    done_on: Mapped[datetime.date | None]
    person_id: Mapped[int | None] = link("person")
    at: Mapped[datetime.datetime]
