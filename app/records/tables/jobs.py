"""Jobs: the check-in, and what was noted afterwards. A job's status is derived, not stored."""

import datetime

from sqlalchemy import UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from app.records.tables.base import Code, Document, Line, Paragraph, ShopRecord, link, one_of


class Job(ShopRecord):
    __tablename__ = "job"
    __table_args__ = (UniqueConstraint("shop_id", "number"),)
    fixed = frozenset({"number", "received_at", "created_at"})

    number: Mapped[Code]
    customer_id: Mapped[int] = link("customer")
    machine_id: Mapped[int] = link("machine")
    claim_id: Mapped[int | None] = link("claim")
    reference_revision_id: Mapped[int | None] = link("reference_revision")
    """The revision that the next survey is judged by."""
    instrument_id: Mapped[int | None] = link("instrument")
    """The instrument that the next survey is taken with."""
    received_at: Mapped[datetime.datetime]
    checked_in_by_id: Mapped[int | None] = link("person")
    promised_on: Mapped[datetime.date | None]

    happened_on: Mapped[datetime.date | None]
    what_happened: Mapped[Paragraph] = mapped_column(default="")
    impact_kind: Mapped[Code] = mapped_column(default="")
    impact_clock: Mapped[int | None]
    """Direction of the impact as hours of the clock, 12 from ahead."""
    rideable: Mapped[bool | None]
    damage: Mapped[Document] = mapped_column(default="[]")
    """JSON list of what is visibly damaged: lines of text, and objects for zones."""
    odometer: Mapped[int | None]
    odometer_unit: Mapped[Code] = mapped_column(default="km")
    keys_and_accessories: Mapped[Paragraph] = mapped_column(default="")
    storage_place: Mapped[Line] = mapped_column(default="")
    authorised_by: Mapped[Line] = mapped_column(default="")
    """Who allowed the inspection, and when."""
    authorised_scope: Mapped[Paragraph] = mapped_column(default="")
    """What was ordered: measuring only, or correction too."""
    authorised_at: Mapped[datetime.datetime | None]
    privacy_notice_at: Mapped[datetime.datetime | None]

    search_text: Mapped[Paragraph] = mapped_column(default="")
    created_at: Mapped[datetime.datetime]
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}  # noqa: RUF012


class JobEntry(ShopRecord):
    """What was noted on a job after check-in; entries are added, never changed.

    Kinds that the status rests on: `cancelled`, `reopened`, `handed_over`, `sent_back`. What only
    tells, notes and calls, stands in `JobNote`. As there, the words may speak of a person, so they
    can be emptied.
    """

    __tablename__ = "job_entry"
    fixed = frozenset({"job_id", "kind", "told", "still_here", "person_id", "at"})

    job_id: Mapped[int] = link("job")
    kind: Mapped[Code]
    words: Mapped[Paragraph] = mapped_column(default="")
    given_back: Mapped[Paragraph] = mapped_column(default="")
    """Of handing over: what was given back with the machine, a line each."""
    kept_here: Mapped[Paragraph] = mapped_column(default="")
    """Of handing over: what was not, a line each; why stands in the words."""
    told: Mapped[bool | None]
    """Of handing over: that whoever fetched it was told what is open; None: nobody was asked."""
    still_here: Mapped[bool | None]
    """Of cancelling: the machine stands here until it is handed over; None: nobody was asked."""
    person_id: Mapped[int | None] = link("person")
    at: Mapped[datetime.datetime]


class JobNote(ShopRecord):
    """What somebody noted on a job, whom they want called, and who was called.

    Its words may speak of a person, so they can be emptied; all else never changes.
    """

    __tablename__ = "job_note"
    __table_args__ = (
        one_of("kind", "note", "call_wanted", "called"),
        one_of("whom", "", "customer", "adjuster"),
        one_of("outcome", "", "reached", "message_left", "not_reached"),
    )
    fixed = frozenset({
        "job_id", "kind", "whom", "outcome", "takes_back_id", "promised_on", "promised_before",
        "person_id", "at",
    })  # fmt: skip

    job_id: Mapped[int] = link("job")
    kind: Mapped[Code]
    whom: Mapped[Code] = mapped_column(default="")
    outcome: Mapped[Code] = mapped_column(default="")
    takes_back_id: Mapped[int | None] = link("job_note", unique=True, index=False)
    """The call, made or asked for, that this note takes back: it was noted by mistake."""
    promised_on: Mapped[datetime.date | None]
    """The day that was promised in a call, also where it stays the one that stood."""
    promised_before: Mapped[datetime.date | None]
    """The day that stood before it."""
    words: Mapped[Paragraph] = mapped_column(default="")
    person_id: Mapped[int | None] = link("person")
    at: Mapped[datetime.datetime]
