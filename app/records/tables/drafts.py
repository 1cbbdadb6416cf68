"""A measurement while it is being taken. It becomes a survey when it is submitted."""

import datetime

from sqlalchemy import UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from app.records.tables.base import Code, Document, Line, Paragraph, ShopRecord, link, one_of

PHASES = ("before", "during", "after")


class Draft(ShopRecord):
    __tablename__ = "draft"
    __table_args__ = (one_of("phase", *PHASES),)
    fixed = frozenset({"job_id", "opened_at", "closed_at", "closed_as", "survey_id"})

    job_id: Mapped[int] = link("job")
    phase: Mapped[Code]
    instrument_id: Mapped[int | None] = link("instrument")
    heading: Mapped[Document] = mapped_column(default="{}")
    """JSON: what a survey says besides its points (mounting, temperature, up, rig ...)."""
    opened_by_id: Mapped[int | None] = link("person")
    opened_at: Mapped[datetime.datetime]
    closed_at: Mapped[datetime.datetime | None]
    closed_as: Mapped[Code | None]
    """`submitted` or `discarded`."""
    survey_id: Mapped[int | None] = link("survey")
    supersedes_id: Mapped[int | None] = link("survey")
    """The survey whose place it is to take."""
    supersedes_because: Mapped[Paragraph] = mapped_column(default="")
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}  # noqa: RUF012


class DraftPoint(ShopRecord):
    """One reading. It stands unless another one supersedes it or it was discarded."""

    __tablename__ = "draft_point"
    fixed = frozenset(
        {
            "draft_id", "feature", "label", "station", "turn", "x", "y", "z", "u", "offset",
            "cov", "as_entered", "supersedes_id", "taken_at", "discarded_at", "discarded_because",
        }
    )  # fmt: skip

    draft_id: Mapped[int] = link("draft")
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
    as_entered: Mapped[Line] = mapped_column(default="")
    """JSON: the reading as it was typed, `{"x": "412,5", ...}`."""
    supersedes_id: Mapped[int | None] = link("draft_point", unique=True, index=False)
    taken_by_id: Mapped[int | None] = link("person")
    taken_at: Mapped[datetime.datetime]
    discarded_at: Mapped[datetime.datetime | None]
    discarded_because: Mapped[Code | None]
    """`undone`, `set_up_moved` ..."""


class DraftAct(ShopRecord):
    """Something done on the floor, in order; a request that comes again finds its first act."""

    __tablename__ = "draft_act"
    __table_args__ = (UniqueConstraint("draft_id", "request_key"),)
    append_only = True

    draft_id: Mapped[int] = link("draft")
    kind: Mapped[Code]
    """`taken`, `undone`, `confirmed`, `recorded`, `targets_named`, `paused`, `resumed`,
    `restarted`."""
    step: Mapped[Line | None]
    request_key: Mapped[Line | None]
    request_sha256: Mapped[Code] = mapped_column(default="")
    """Of what was asked for, so that another request under the same key is noticed."""
    facts: Mapped[Document] = mapped_column(default="{}")
    """JSON: ids of points, names of targets ..."""
    by_id: Mapped[int | None] = link("person")
    at: Mapped[datetime.datetime]


class DraftState(ShopRecord):
    """What the floor page tells of a draft: worked out when something changes, then only read."""

    __tablename__ = "draft_state"

    draft_id: Mapped[int] = link("draft", unique=True, index=False)
    told: Mapped[Document] = mapped_column(default="[]")
    """JSON: what was noticed about the points, by code and facts."""
    told_version: Mapped[int] = mapped_column(default=0)
    """Version of the draft that it speaks of."""
    mark: Mapped[Code] = mapped_column(default="")
    """Anew with every change, by chance: what was worked out under it holds under it alone."""
    live_step: Mapped[Line | None]
    """Where points go that an instrument sends without saying what they are."""
