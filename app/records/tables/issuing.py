"""What is left to do for certificates that are signed for but not finished."""

import datetime

from sqlalchemy.orm import Mapped, mapped_column

from app.records.tables.base import Code, Paragraph, ShopRecord, link, one_of

WAITS_FOR = ("key", "person")


class IssuingTask(ShopRecord):
    """Stands as long as its certificate is `issuing`; one program at a time holds it.

    The key's password is in no column: it is on no disk.
    """

    __tablename__ = "issuing_task"
    __table_args__ = (one_of("waits_for", *WAITS_FOR),)
    deletable = True

    certificate_id: Mapped[int] = link("certificate", unique=True, index=False)
    replacing_reason: Mapped[Paragraph | None]
    """Why it takes the place of another certificate."""
    tries: Mapped[int] = mapped_column(default=0)
    begun_at: Mapped[datetime.datetime | None]
    """When the file was begun that is being made now; None while it waits."""
    held_by: Mapped[Code | None]
    """The program that has it in its queue, by a random mark of its own."""
    held_until: Mapped[datetime.datetime | None]
    """Renewed while that program lives; afterwards any other may take the task over."""
    next_try_at: Mapped[datetime.datetime | None]
    waits_for: Mapped[Code | None]
    """`key`: the password of the signing key; `person`: to be tried again, or given up."""
    problem: Mapped[Code | None]
    """Code of what the last try failed by."""
