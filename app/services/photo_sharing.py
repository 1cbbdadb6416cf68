"""Which photos of a job go with its claim to outsiders: none, until somebody chooses them."""

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import Conflict, NotFound
from app.records.scope import OfShop, scoped
from app.records.tables import Photo, PhotoFile
from app.services import audit, photos
from app.services.lookup import by_id, job_row
from app.services.permissions import Actor, require
from app.services.photos import PhotoView


@dataclass(frozen=True, slots=True)
class SharedPhoto:
    """A photo as outsiders know it."""

    id: int
    place: int
    about: str | None
    caption: str
    sha256: str
    width: int
    height: int
    shared_at: datetime
    """When it was chosen."""

    @property
    def name(self) -> str:
        """The name of its file: the same each time, whatever else is chosen later."""
        return f"photo-{self.id:04}.jpg"


def share(session: Session, actor: Actor, number: str, photo_id: int, now: datetime) -> PhotoView:
    """Let a photo go with the claim, also that of a closed job: claims are settled later.

    Raises NotFound, Conflict `photo_not_standing`; choosing it twice changes nothing.
    """
    return _put(session, actor, number, photo_id, now, now)


def keep_back(
    session: Session, actor: Actor, number: str, photo_id: int, now: datetime
) -> PhotoView:
    """Let it stay in the shop from now on. Raises NotFound, Conflict `photo_not_standing`."""
    return _put(session, actor, number, photo_id, None, now)


def choose(
    session: Session,
    actor: Actor,
    number: str,
    asked: Collection[int],
    chosen: Collection[int],
    now: datetime,
) -> None:
    """Of the photos that were `asked` about let the `chosen` ones go with the claim and the others
    stay in the shop. What was added, taken out or erased meanwhile is left as it is.

    Raises NotFound `no_such_job`.
    """
    require(actor, "photos.share")
    for one in photos.listing(session, actor, number):
        if one.stands and one.id in asked:
            _put(session, actor, number, one.id, now if one.id in chosen else None, now)


def _put(
    session: Session,
    actor: Actor,
    number: str,
    photo_id: int,
    since: datetime | None,
    now: datetime,
) -> PhotoView:
    require(actor, "photos.share")
    job = job_row(session, actor, number)
    row = by_id(session, actor, Photo, photo_id, "no_such_photo")
    if row.job_id != job.id:
        raise NotFound("no_such_photo", None, met=photo_id)
    if row.taken_out_at is not None or row.erased_at is not None:
        raise Conflict("photo_not_standing", None, photo=photo_id)
    if (row.shared_at is None) != (since is None):
        row.shared_at = since
        session.flush()
        what = "photo.kept_back" if since is None else "photo.shared"
        audit.record(session, actor, what, f"job:{number}", now, {"photo": row.id})
    return photos.read(session, actor, number, photo_id)


_GO_ALONG = (
    Photo.shared_at.is_not(None),
    Photo.taken_out_at.is_(None),
    Photo.erased_at.is_(None),
)
"""Chosen, and still standing."""


def shared_counts(session: Session, shop: OfShop | int, job_ids: Iterable[int]) -> dict[int, int]:
    """How many photos go with the claim of each of these jobs; those without are left out."""
    rows = scoped(session, shop, Photo).where(Photo.job_id.in_(list(job_ids)), *_GO_ALONG)
    return dict(Counter(session.scalars(rows.with_only_columns(Photo.job_id))))


def shared_of(session: Session, shop: OfShop | int, job_id: int) -> tuple[SharedPhoto, ...]:
    """The photos of a job that were chosen and still stand, in the order they came."""
    rows = scoped(session, shop, Photo).where(Photo.job_id == job_id, *_GO_ALONG)
    found = [
        (row, row.shared_at) for row in session.scalars(rows.order_by(Photo.id)) if row.shared_at
    ]
    return tuple(
        SharedPhoto(
            id=row.id,
            place=place,
            about=row.about or None,
            caption=row.caption,
            sha256=row.sha256,
            width=row.width,
            height=row.height,
            shared_at=shared_at,
        )
        for place, (row, shared_at) in enumerate(found, 1)
    )


def bytes_of(
    session: Session, shop: OfShop | int, chosen: Sequence[SharedPhoto]
) -> Iterator[tuple[SharedPhoto, bytes]]:
    """Each photo with its bytes, one after the other, so that not all are held at once."""
    for one in chosen:
        files = scoped(session, shop, PhotoFile).where(
            PhotoFile.photo_id == one.id, PhotoFile.form == "whole"
        )
        yield one, session.scalars(files.with_only_columns(PhotoFile.content)).one()
