"""The photos that go with a claim, for who holds its link: each of them large."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from starlette.responses import Response

from app.services import claim_photos
from app.services.claim_photos import ClaimPhoto
from app.services.photo_sharing import SharedPhoto
from app.services.photos_signed import Signed
from app.web.database import Records
from app.web.door import pages
from app.web.pages.photo import image
from app.web.pages.photos import capital
from app.web.pages.words import Fact
from app.web.rendering import Page, show
from app.web.routes import OPEN, path_to
from app.web.visits import Here
from app.wording import photos as words
from app.wording.moments import day
from app.wording.translation import _

ONE = "/claim/{token}/photos/{photo}"


@dataclass(frozen=True, slots=True)
class Shot:
    """A photo as it stands on the claim's page."""

    href: str
    thumbnail: str
    alt: str
    shows: str
    caption: str
    width: int
    height: int
    missing: str = ""
    """That the certificate does not show it, and why; else empty."""


@dataclass(frozen=True, kw_only=True)
class ClaimPhotoPage(Page):
    template: ClassVar[str] = "pages/claim_photo.html"
    shop: str
    back: str
    back_label: str
    whole: str
    alt: str
    width: int
    height: int
    place: str
    """Which of how many it is."""
    caption: str
    facts: tuple[Fact, ...]
    before: str
    """The way to the one before it, and the one after it; empty at the ends."""
    after: str
    until: str


@pages.add("GET", ONE, OPEN)
def claim_photo(
    request: Request, visit: Here, database: Records, token: str, photo: int
) -> Response:
    """A photo of the claim, large; written down for the shop."""
    found = claim_photos.open_photo(database, token, photo, visit.now, address=visit.address)
    return show(request, visit, page_for(found, token))


@pages.add("GET", ONE + "/whole", OPEN)
def claim_photo_whole(visit: Here, database: Records, token: str, photo: int) -> Response:
    """The bytes of the photo."""
    return image(claim_photos.photo_bytes(database, token, photo, visit.now, address=visit.address))


@pages.add("GET", ONE + "/thumbnail", OPEN)
def claim_photo_thumbnail(visit: Here, database: Records, token: str, photo: int) -> Response:
    """The bytes of its thumbnail."""
    return image(
        claim_photos.photo_bytes(
            database, token, photo, visit.now, address=visit.address, thumbnail=True
        )
    )


def page_for(found: ClaimPhoto, token: str) -> ClaimPhotoPage:
    """The page of one photo."""
    one, count = found.photo, len(found.among)
    back = (
        path_to("claim_of_insurer", token=token, number=found.job_number)
        if found.in_list
        else path_to("claim", token=token)
    )
    return ClaimPhotoPage(
        title=capital(words.about(one.about)),
        shop=found.shop,
        back=f"{back}#shots",
        back_label=_("Certificates of job {number}").format(number=found.job_number),
        whole=path_to("claim_photo_whole", token=token, photo=one.id),
        alt=alt_of(one),
        width=one.width,
        height=one.height,
        place=_("Photo {place} of {count}").format(place=one.place, count=count),
        caption=one.caption,
        facts=facts_of(found),
        before=beside(found, token, one.place - 1),
        after=beside(found, token, one.place + 1),
        until=day(found.expires_at),
    )


def facts_of(found: ClaimPhoto) -> tuple[Fact, ...]:
    """Where else the photo is found, and where it is not."""
    one = found.photo
    missing = words.not_in(found.signed.beside.get(one.id, ""), found.signed.number)
    return (
        *([Fact(_("In the certificate"), missing)] if missing else []),
        Fact(_("In the zip"), one.name),
        Fact(_("SHA-256 of the photo"), one.sha256),
    )


def beside(found: ClaimPhoto, token: str, place: int) -> str:
    """The way to the photo at this place; empty where there is none."""
    if not 1 <= place <= len(found.among):
        return ""
    return path_to("claim_photo", token=token, photo=found.among[place - 1].id)


def shot_of(one: SharedPhoto, token: str, signed: Signed | None) -> Shot:
    """A photo among the others; signed: the certificate that is shown with it."""
    return Shot(
        href=path_to("claim_photo", token=token, photo=one.id),
        thumbnail=path_to("claim_photo_thumbnail", token=token, photo=one.id),
        alt=alt_of(one),
        shows=words.about(one.about),
        caption=one.caption,
        width=one.width,
        height=one.height,
        missing=words.not_in(signed.beside.get(one.id, ""), signed.number) if signed else "",
    )


def alt_of(one: SharedPhoto) -> str:
    """What stands for the photo where it cannot be seen."""
    said = _("Photo {number}: {shown}").format(number=one.place, shown=words.about(one.about))
    return f"{said}, {one.caption}" if one.caption else said
