"""The photos that a certificate shows: those that somebody chose to go with the claim."""

from sqlalchemy.orm import Session

from app.documents.content import CertificateContent, PrintedPhoto
from app.errors import Conflict
from app.records.scope import OfShop, scoped
from app.records.tables import PhotoFile
from app.services.certificate_case import Case
from app.services.photo_sharing import SharedPhoto
from app.services.photos import PhotoView
from app.wording import moments
from app.wording import photos as words
from app.wording.translation import _, counted

MOST_PRINTED = 12
"""Photos on one certificate; the first ones, when more were chosen."""


def printed_photos(case: Case) -> tuple[PrintedPhoto, ...]:
    """The chosen photos with their captions, in the order in which they came."""
    known = {one.id: one for one in case.photos}
    return tuple(
        PrintedPhoto(
            name=one.name,
            caption=caption(one),
            beside=beside(known[one.id]),
            sha256=one.sha256,
            photo=one.id,
        )
        for one in case.photos_chosen[:MOST_PRINTED]
    )


def caption(one: SharedPhoto) -> str:
    """What the photo shows, with the words that somebody wrote under it."""
    shows = words.about(one.about)
    if one.about is None and one.caption:
        return one.caption
    return f"{shows}: {one.caption}" if one.caption else shows


def beside(one: PhotoView) -> str:
    """When it was added, and by whom."""
    added = moments.moment_with_zone(one.added_at)
    if one.added_by is None:
        return _("added {moment}").format(moment=added)
    return _("added {moment} by {name}").format(moment=added, name=one.added_by)


def photos_words(case: Case) -> str:
    """How many of the job's photos are shown; empty where there is none at all."""
    standing = sum(one.stands for one in case.photos)
    if not standing:
        return ""
    shown = min(len(case.photos_chosen), MOST_PRINTED)
    if not shown:
        text = counted(
            "The one photo that the shop keeps of this job was not chosen.",
            "None of the {count} photos that the shop keeps of this job was chosen.",
            standing,
        )
        return text.format(count=standing)
    text = _("{shown} of the {count} photos that the shop keeps of this job.")
    if shown == standing:
        text = counted(
            "The one photo that the shop keeps of this job.",
            "All {count} photos that the shop keeps of this job.",
            standing,
        )
    illustrate = _("No finding rests on photos.")
    return f"{text.format(shown=shown, count=standing)} {illustrate}"


def pictures_of(
    session: Session, shop: OfShop | int, content: CertificateContent
) -> dict[str, bytes]:
    """The photos of a certificate as the shop keeps them, by the names in its content.

    Raises Conflict `photo_not_standing` where one was erased since.
    """
    wanted = [one.photo for one in content.photos]
    rows = scoped(session, shop, PhotoFile).where(
        PhotoFile.photo_id.in_(wanted), PhotoFile.form == "whole"
    )
    kept = {row.photo_id: row for row in session.scalars(rows)}
    for one in content.photos:
        if one.photo not in kept or kept[one.photo].sha256 != one.sha256:
            raise Conflict("photo_not_standing", None, photo=one.photo)
    return {one.name: kept[one.photo].content for one in content.photos}
