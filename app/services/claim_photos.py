"""The photos behind a claim link: those that the shop chose for the claim, as long as they stand.

They are shown with the claim's page, so only once there is a certificate. A photo that is opened
large is written down like a page; the small ones belong to the page that shows them.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import NotFound
from app.records.scope import scoped
from app.records.session import Database
from app.records.tables import Claim, ClaimLink, Job, Photo, PhotoFile
from app.services.claim_access import (
    Asked,
    Finds,
    admitted,
    against_opening,
    found,
    has_opened,
    link_of,
)
from app.services.claim_opening import certificates_of, shop_of
from app.services.lookup import LARGEST_ID
from app.services.photo_sharing import SharedPhoto, shared_of
from app.services.photos import PhotoBytes
from app.services.photos_signed import Signed, of_certificate

OPENED = "photo"
"""What the log calls a photo that was opened large."""


@dataclass(frozen=True, slots=True)
class ClaimPhoto:
    """One photo of a claim, large, among the others."""

    photo: SharedPhoto
    among: tuple[SharedPhoto, ...]
    """All that go with the claim, in their order, this one included."""
    job_number: str
    shop: str
    expires_at: datetime
    signed: Signed
    """The newest certificate, and which of the photos it does not show."""
    in_list: bool
    """The link is one to all claims of an insurer."""


def open_photo(
    database: Database, token: str, photo_id: int, now: datetime, *, address: str
) -> ClaimPhoto:
    """Open one photo large, logged; raises as `claim_opening.open_link`, and NotFound
    `no_such_photo`, the same for photos that were not chosen, were taken out or erased."""
    link_id = admitted(
        database, token, now, Asked(OPENED, named(photo_id)), address, finding(photo_id)
    )
    with database.read() as session:
        link = link_of(session, token, link_id)
        job, among = reached(session, link, photo_id)
        return ClaimPhoto(
            photo=one_of(among, photo_id),
            among=among,
            job_number=job.number,
            shop=shop_of(session, link).name,
            expires_at=link.expires_at,
            signed=of_certificate(certificates_of(session, link, job)[0], among),
            in_list=link.insurer_id is not None,
        )


def photo_bytes(
    database: Database,
    token: str,
    photo_id: int,
    now: datetime,
    *,
    address: str,
    thumbnail: bool = False,
) -> PhotoBytes:
    """The bytes of a photo; raises as `open_photo`.

    They are logged by themselves only where the page that shows them was not opened before.
    """
    form = "thumbnail" if thumbnail else "whole"
    link_id = admitted_along(database, token, photo_id, now, address, thumbnail=thumbnail)
    with database.read() as session:
        link = link_of(session, token, link_id)
        reached(session, link, photo_id)
        files = scoped(session, link.shop_id, PhotoFile).where(
            PhotoFile.photo_id == photo_id, PhotoFile.form == form
        )
        found = session.scalars(files).one()
        return PhotoBytes(found.content, found.sha256)


def admitted_along(
    database: Database, token: str, photo_id: int, now: datetime, address: str, *, thumbnail: bool
) -> int:
    """The id of the link; a page's pictures, which browsers fetch by the dozen, are not logged.

    Where the same network opened the very page that shows the picture within the last hour, that
    stands in the log already; in all other cases this is `admitted`.
    """
    with database.read() as session:
        link = found(session, token)
        if link is not None and against_opening(session, link, now, finding(photo_id)) is None:
            job, _among = reached(session, link, photo_id)
            # By a link to one job its page is opened without a number, by an insurer's with it.
            what = "viewed" if thumbnail else OPENED
            pages = ("", job.number) if thumbnail else (named(photo_id),)
            if has_opened(session, link, now, what, pages, address):
                return link.id
    asked = Asked(OPENED, named(photo_id))
    return admitted(database, token, now, asked, address, finding(photo_id))


def named(photo_id: int) -> str:
    """What the log calls a photo: like its file in the zip."""
    return f"photo-{photo_id:04}"


def finding(photo_id: int) -> Finds:
    """What tells whether a link shows this photo."""
    return lambda session, link: reached(session, link, photo_id)


def reached(
    session: Session, link: ClaimLink, photo_id: int
) -> tuple[Job, tuple[SharedPhoto, ...]]:
    """The job of a photo that the link shows, and all its photos that go with the claim.

    Raises NotFound `no_such_photo`.
    """
    job = job_behind(session, link, photo_id)
    if job is None or not certificates_of(session, link, job):
        raise NotFound("no_such_photo", None, met=photo_id)
    among = shared_of(session, link.shop_id, job.id)
    one_of(among, photo_id)
    return job, among


def job_behind(session: Session, link: ClaimLink, photo_id: int) -> Job | None:
    """The job that the photo belongs to, where the link leads to it."""
    if not 0 < photo_id <= LARGEST_ID:
        return None
    jobs = (
        scoped(session, link.shop_id, Job)
        .join(Photo, Photo.job_id == Job.id)
        .where(Photo.id == photo_id)
    )
    if link.insurer_id is None:
        mine = jobs.where(Job.id == link.job_id)
    else:
        of_insurer = jobs.join(Claim, Claim.id == Job.claim_id)
        mine = of_insurer.where(Claim.insurer_id == link.insurer_id)
    return session.scalars(mine).one_or_none()


def one_of(among: Sequence[SharedPhoto], photo_id: int) -> SharedPhoto:
    """The photo with this id. Raises NotFound `no_such_photo`."""
    for one in among:
        if one.id == photo_id:
            return one
    raise NotFound("no_such_photo", None, met=photo_id)
