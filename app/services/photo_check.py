"""Whether the photos are those that the log speaks of, byte for byte."""

import hashlib
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime

from sqlalchemy.orm import Session

from app.records.scope import OfShop, scoped
from app.records.tables import Event, Photo, PhotoFile

ADDED = "photo.added"


@dataclass(slots=True)
class AddedPhotos:
    """What the log says of photos: position and digest by the photo's id."""

    said: dict[int, tuple[int, str]] = field(default_factory=dict)

    def step(self, event: Event) -> None:
        """Take in one event of the log."""
        if event.what != ADDED:
            return
        told = _told(event.public)
        photo, digest = told.get("photo"), told.get("sha256")
        if isinstance(photo, int) and isinstance(digest, str):
            self.said[photo] = (event.position, digest)

    def faults(
        self, session: Session, shop: OfShop | int, erasings: set[tuple[str, datetime]]
    ) -> Iterator[tuple[int, str, str]]:
        """Position, code and name of each photo that is not as it was added.

        erasings: subject and moment of every erasing in the log.
        """
        for photo, (position, digest) in self.said.items():
            kept = _digest_of(session, shop, photo)
            if kept is None and not _erased(session, shop, photo, erasings):
                yield position, "photo_missing", str(photo)
            if kept is not None and kept != digest:
                yield position, "photo_altered", str(photo)


def _digest_of(session: Session, shop: OfShop | int, photo: int) -> str | None:
    """Of the bytes themselves, one photo at a time in memory; None when there are none."""
    whole = scoped(session, shop, PhotoFile).where(
        PhotoFile.photo_id == photo, PhotoFile.form == "whole"
    )
    content = session.scalar(whole.with_only_columns(PhotoFile.content))
    return None if content is None else hashlib.sha256(content).hexdigest()


def _erased(
    session: Session, shop: OfShop | int, photo: int, erasings: set[tuple[str, datetime]]
) -> bool:
    """Whether an event says that it was erased at the moment that stands on it."""
    row = scoped(session, shop, Photo).where(Photo.id == photo)
    at = session.scalar(row.with_only_columns(Photo.erased_at))
    return at is not None and (f"photo:{photo}", at) in erasings


def _told(public: str) -> Mapping[str, object]:
    try:
        read = json.loads(public)
    except ValueError:
        return {}
    return read if isinstance(read, dict) else {}
