"""Photos of a job, and what a customer signed. Both are personal data and can be erased."""

import datetime

from sqlalchemy import CheckConstraint, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from app.records.tables.base import Code, Document, Line, Paragraph, ShopRecord, link, one_of

FORMS = ("whole", "thumbnail")
PURPOSES = ("authorisation", "privacy")
WAYS = ("on_screen", "on_card")


class Photo(ShopRecord):
    """What is known of one photo; its bytes lie in `PhotoFile`, so that lists stay quick."""

    __tablename__ = "photo"
    fixed = frozenset(
        {
            "job_id", "width", "height", "size", "sha256", "sent_sha256", "added_by_id",
            "added_at", "taken_out_at", "taken_out_by_id", "taken_out_because", "erased_at",
        }
    )  # fmt: skip

    job_id: Mapped[int] = link("job")
    about: Mapped[Code] = mapped_column(default="")
    """`zone.front_wheel`, `item.frame_cracks`; empty: the machine as a whole."""
    caption: Mapped[Line] = mapped_column(default="")
    width: Mapped[int]
    height: Mapped[int]
    size: Mapped[int]
    """Bytes of the photo as it is kept."""
    sha256: Mapped[Code]
    """Of the photo as it is kept."""
    sent_sha256: Mapped[Code]
    """Of the file as it came: the same file sent twice is one photo."""
    added_by_id: Mapped[int | None] = link("person")
    added_at: Mapped[datetime.datetime]
    taken_out_at: Mapped[datetime.datetime | None]
    """When it was taken out of the gallery; its bytes stay until they are erased."""
    taken_out_by_id: Mapped[int | None] = link("person")
    taken_out_because: Mapped[Paragraph | None]
    erased_at: Mapped[datetime.datetime | None]
    shared_at: Mapped[datetime.datetime | None]
    """Since when it goes with the claim to outsiders; none: it stays in the shop."""


class PhotoFile(ShopRecord):
    """The bytes of a photo, whole or as a thumbnail: a JPEG of our own making."""

    __tablename__ = "photo_file"
    __table_args__ = (UniqueConstraint("photo_id", "form"), one_of("form", *FORMS))
    deletable = True
    fixed = frozenset({"photo_id", "form", "sha256", "content"})

    photo_id: Mapped[int] = link("photo", index=False)
    form: Mapped[Code]
    sha256: Mapped[Code]
    content: Mapped[bytes]


class Signature(ShopRecord):
    """A customer's signature; the newest of a job and purpose is the one that stands."""

    __tablename__ = "signature"
    __table_args__ = (
        one_of("purpose", *PURPOSES),
        one_of("way", *WAYS),
        CheckConstraint("way = 'on_screen' OR strokes = ''", name="strokes_on_screen"),
    )
    fixed = frozenset(
        {"job_id", "purpose", "way", "wording", "strokes_sha256", "taken_by_id", "at", "erased_at"}
    )

    job_id: Mapped[int] = link("job")
    purpose: Mapped[Code]
    way: Mapped[Code]
    name: Mapped[Line]
    """Of who signed; empty once erased."""
    wording: Mapped[Paragraph] = mapped_column(default="")
    """The text that was signed, as it was shown."""
    strokes: Mapped[Document] = mapped_column(default="")
    """JSON: strokes, each a list of [x, y] in thousandths of the field's width."""
    strokes_sha256: Mapped[Code | None]
    taken_by_id: Mapped[int | None] = link("person")
    at: Mapped[datetime.datetime]
    erased_at: Mapped[datetime.datetime | None]
