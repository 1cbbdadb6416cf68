"""Photos of a job: added, described, taken out of the gallery, erased for good.

A photo that was taken out is kept with the reason, so that no evidence goes silently; only the
owner, or erasing the customer, removes the bytes.
"""

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import Conflict, NotFound
from app.records.scope import scoped
from app.records.tables import Job, Photo, PhotoFile
from app.schemas.photo import PhotoIn
from app.schemas.reading import checked
from app.services import audit
from app.services.lookup import by_id, count, job_row, names, open_job
from app.services.permissions import Actor, require
from app.services.prepared_photo import MOST_OF_A_JOB, PreparedPhoto
from app.services.words import words


@dataclass(frozen=True, slots=True)
class PhotoView:
    id: int
    about: str | None
    """`zone.front_wheel`, `item.frame_cracks`; None: the machine as a whole."""
    caption: str | None
    width: int
    height: int
    size: int
    """Bytes of the whole photo."""
    sha256: str
    added_at: datetime
    added_by: str | None
    taken_out_at: datetime | None
    taken_out_by: str | None
    taken_out_because: str | None
    erased_at: datetime | None
    shared_at: datetime | None = None
    """Since when it goes with the claim to outsiders; None: it stays in the shop."""

    @property
    def stands(self) -> bool:
        """Whether it is shown: neither taken out nor erased."""
        return self.taken_out_at is None and self.erased_at is None


@dataclass(frozen=True, slots=True)
class PhotoBytes:
    content: bytes
    sha256: str


def add(
    session: Session,
    actor: Actor,
    number: str,
    prepared: PreparedPhoto,
    about: str | None,
    caption: str | None,
    now: datetime,
) -> PhotoView:
    """Adds a photo that a `Darkroom` has prepared outside of this session.

    The same file sent again for the same job and the same thing adds nothing: the first one is
    given back. Raises NotFound `no_such_job`, Conflict `job_closed`, `too_many_photos`, BadInput
    for `about` and `caption`.
    """
    require(actor, "photos.write")
    said = checked(PhotoIn, {"about": about, "caption": caption})
    job = open_job(session, actor, number)
    already = _same(session, actor, job, prepared, said.about or "")
    if already is not None:
        return _views(session, actor, [already])[0]
    standing = count(session, actor, Photo, Photo.job_id == job.id, *_STANDING)
    if standing >= MOST_OF_A_JOB:
        raise Conflict("too_many_photos", None, met=standing, limit=MOST_OF_A_JOB)
    row = _row(actor, job, prepared, said, now)
    session.add(row)
    session.flush()
    for form, content in (("whole", prepared.whole), ("thumbnail", prepared.thumbnail)):
        session.add(_file(row, form, content))
    session.flush()
    _record(session, actor, "photo.added", job, row, now, {"size": row.size, "sha256": row.sha256})
    return _views(session, actor, [row])[0]


def add_all(
    session: Session,
    actor: Actor,
    number: str,
    prepared: Sequence[PreparedPhoto],
    about: str | None,
    caption: str | None,
    now: datetime,
) -> tuple[PhotoView, ...]:
    """Adds several, all of them or none; the caption stands under each. Raises as `add`."""
    return tuple(add(session, actor, number, one, about, caption, now) for one in prepared)


def listing(session: Session, actor: Actor, number: str) -> tuple[PhotoView, ...]:
    """The photos of a job, also those that were taken out or erased, in the order they came."""
    require(actor, "photos.read")
    job = job_row(session, actor, number)
    rows = scoped(session, actor, Photo).where(Photo.job_id == job.id).order_by(Photo.id)
    return _views(session, actor, session.scalars(rows).all())


def read(session: Session, actor: Actor, number: str, photo_id: int) -> PhotoView:
    """One photo of a job. Raises NotFound `no_such_photo`."""
    require(actor, "photos.read")
    return _views(session, actor, [_photo(session, actor, number, photo_id)])[0]


def file(
    session: Session, actor: Actor, number: str, photo_id: int, *, thumbnail: bool = False
) -> PhotoBytes:
    """The bytes of a photo. Raises NotFound `no_such_photo`, also for one that was erased."""
    require(actor, "photos.read")
    row = _photo(session, actor, number, photo_id)
    form = "thumbnail" if thumbnail else "whole"
    wanted = scoped(session, actor, PhotoFile).where(
        PhotoFile.photo_id == row.id, PhotoFile.form == form
    )
    found = session.scalars(wanted).one_or_none()
    if found is None:
        raise NotFound("no_such_photo", None, met=photo_id)
    return PhotoBytes(found.content, found.sha256)


def describe(
    session: Session,
    actor: Actor,
    number: str,
    photo_id: int,
    about: str | None,
    caption: str | None,
    now: datetime,
) -> PhotoView:
    """Puts a caption, and what it shows, in place of the old ones; the log keeps both.

    Raises NotFound, Conflict `job_closed`, `photo_not_standing`, BadInput.
    """
    require(actor, "photos.write")
    said = checked(PhotoIn, {"about": about, "caption": caption})
    job = open_job(session, actor, number)
    row = _standing(session, actor, number, photo_id)
    if (row.about, row.caption) == (said.about or "", said.caption or ""):
        return _views(session, actor, [row])[0]
    row.about, row.caption = said.about or "", said.caption or ""
    session.flush()
    _record(session, actor, "photo.described", job, row, now)
    return _views(session, actor, [row])[0]


def take_out(
    session: Session, actor: Actor, number: str, photo_id: int, reason: str, now: datetime
) -> PhotoView:
    """Takes a photo out of the gallery; who did so, when and why stays beside it.

    Raises NotFound, Conflict `job_closed`, `photo_not_standing`, BadInput for an empty reason.
    """
    require(actor, "photos.write")
    why = words(reason, "reason")
    job = open_job(session, actor, number)
    row = _standing(session, actor, number, photo_id)
    row.taken_out_at, row.taken_out_by_id, row.taken_out_because = now, actor.person_id, why
    session.flush()
    _record(session, actor, "photo.taken_out", job, row, now, {"reason": why})
    return _views(session, actor, [row])[0]


def erase(
    session: Session, actor: Actor, number: str, photo_id: int, reason: str, now: datetime
) -> PhotoView:
    """Removes the bytes and the caption of a photo for good, also from a closed job.

    Raises NotFound, Conflict `photo_erased`, BadInput for an empty reason.
    """
    require(actor, "photos.erase")
    why = words(reason, "reason")
    job = job_row(session, actor, number)
    row = _photo(session, actor, number, photo_id)
    if row.erased_at is not None:
        raise Conflict("photo_erased", None, photo=photo_id)
    _erase(session, actor, [row], now)
    audit.record(session, actor, "photo.erased", _mark(job), now, {"photo": row.id, "reason": why})
    audit.erase(session, actor, f"photo:{row.id}", now)
    return _views(session, actor, [row])[0]


def captions_of(session: Session, actor: Actor, jobs: Iterable[int]) -> list[str]:
    """What was written under the photos of these jobs."""
    rows = session.scalars(scoped(session, actor, Photo).where(Photo.job_id.in_(list(jobs))))
    return [row.caption for row in rows if row.caption]


def erase_of_jobs(session: Session, actor: Actor, jobs: Iterable[int], now: datetime) -> None:
    """Removes all photos of these jobs, and what the log says of them: their customer asked."""
    of_them = scoped(session, actor, Photo).where(
        Photo.job_id.in_(list(jobs)), Photo.erased_at.is_(None)
    )
    rows = session.scalars(of_them).all()
    _erase(session, actor, rows, now)
    for row in rows:
        audit.erase(session, actor, f"photo:{row.id}", now)


_STANDING = (Photo.taken_out_at.is_(None), Photo.erased_at.is_(None))


def _row(actor: Actor, job: Job, prepared: PreparedPhoto, said: PhotoIn, now: datetime) -> Photo:
    return Photo(
        shop_id=actor.shop_id,
        job_id=job.id,
        about=said.about or "",
        caption=said.caption or "",
        width=prepared.width,
        height=prepared.height,
        size=len(prepared.whole),
        sha256=hashlib.sha256(prepared.whole).hexdigest(),
        sent_sha256=prepared.sent_sha256,
        added_by_id=actor.person_id,
        added_at=now,
    )


def _file(row: Photo, form: str, content: bytes) -> PhotoFile:
    digest = hashlib.sha256(content).hexdigest()
    return PhotoFile(
        shop_id=row.shop_id, photo_id=row.id, form=form, sha256=digest, content=content
    )


def _same(
    session: Session, actor: Actor, job: Job, prepared: PreparedPhoto, about: str
) -> Photo | None:
    """The standing photo of the same file about the same thing, if there is one."""
    alike = scoped(session, actor, Photo).where(
        Photo.job_id == job.id,
        Photo.sent_sha256 == prepared.sent_sha256,
        Photo.about == about,
        *_STANDING,
    )
    return session.scalars(alike).first()


def _photo(session: Session, actor: Actor, number: str, photo_id: int) -> Photo:
    job = job_row(session, actor, number)
    row = by_id(session, actor, Photo, photo_id, "no_such_photo")
    if row.job_id != job.id:
        raise NotFound("no_such_photo", None, met=photo_id)
    return row


def _standing(session: Session, actor: Actor, number: str, photo_id: int) -> Photo:
    row = _photo(session, actor, number, photo_id)
    if row.taken_out_at is not None or row.erased_at is not None:
        raise Conflict("photo_not_standing", None, photo=photo_id)
    return row


def _erase(session: Session, actor: Actor, rows: Sequence[Photo], now: datetime) -> None:
    files = scoped(session, actor, PhotoFile).where(
        PhotoFile.photo_id.in_([row.id for row in rows])
    )
    for one in session.scalars(files):
        session.delete(one)
    for row in rows:
        row.caption, row.erased_at = "", now
    session.flush()


def _mark(job: Job) -> str:
    return f"job:{job.number}"


def _record(
    session: Session,
    actor: Actor,
    what: str,
    job: Job,
    row: Photo,
    now: datetime,
    further: dict[str, audit.Value] | None = None,
) -> None:
    public: dict[str, audit.Value] = {"photo": row.id, "about": row.about, **(further or {})}
    personal = {"caption": row.caption} if row.caption else {}
    audit.record(session, actor, what, _mark(job), now, public, personal, f"photo:{row.id}")


def _views(session: Session, actor: Actor, rows: Sequence[Photo]) -> tuple[PhotoView, ...]:
    people = [person for row in rows for person in (row.added_by_id, row.taken_out_by_id)]
    called = names(session, actor, people)
    return tuple(
        PhotoView(
            id=row.id,
            about=row.about or None,
            caption=row.caption or None,
            width=row.width,
            height=row.height,
            size=row.size,
            sha256=row.sha256,
            added_at=row.added_at,
            added_by=called.get(row.added_by_id),
            taken_out_at=row.taken_out_at,
            taken_out_by=called.get(row.taken_out_by_id),
            taken_out_because=row.taken_out_because,
            erased_at=row.erased_at,
            shared_at=row.shared_at,
        )
        for row in rows
    )
