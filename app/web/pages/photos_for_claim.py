"""Which photos of a job go with the claim: all of them on one page, ticked and saved at once."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.services import jobs, photo_sharing, photos, photos_signed
from app.services.certificate_photos import MOST_PRINTED
from app.services.photos import PhotoView
from app.services.photos_signed import Signed
from app.web.database import Read, Write
from app.web.door import pages
from app.web.forms import Form, Sent
from app.web.pages.photos import alt_of
from app.web.rendering import Page, see_saved, show
from app.web.routes import path_to
from app.web.visits import Here, Visit
from app.wording import photos as words
from app.wording.translation import _

WAYS_BACK = {"sign_off": "sign_off_form", "links": "claim_links"}
"""From where the photos are chosen, and where that is gone on with."""


@dataclass(frozen=True, slots=True)
class Tick:
    """A photo that may be ticked."""

    id: int
    href: str
    thumbnail: str
    alt: str
    width: int
    height: int
    shows: str
    caption: str
    chosen: bool
    beside: str
    """That the signed certificate does not show it, and why; else empty."""


@dataclass(frozen=True, kw_only=True)
class PhotosForClaimPage(Page):
    template: ClassVar[str] = "pages/photos_for_claim.html"
    number: str
    back: str
    """Code of where it is gone on: `links` or `sign_off`."""
    back_href: str
    back_label: str
    ticks: tuple[Tick, ...]
    most: int
    """Photos that a certificate has room for."""
    signed: str
    """The certificate that is signed already; empty where none is in force."""


@pages.add("GET", "/jobs/{number}/claim-photos", "photos.share")
def photos_for_claim(request: Request, visit: Here, session: Read, number: str) -> Response:
    """The photos that stand, each with its tick."""
    return show(request, visit, page_for(session, visit, number, request.query_params.get("back")))


@pages.add("POST", "/jobs/{number}/claim-photos", "photos.share")
def choose_photos(
    request: Request, visit: Here, session: Write, form: Sent, number: str
) -> Response:
    """Those that are ticked go with the claim, the others of the page stay in the shop."""
    asked, chosen = ids_in(form, "asked"), ids_in(form, "photo")
    photo_sharing.choose(session, visit.person, number, asked, chosen, visit.now)
    return see_saved(request, WAYS_BACK[way_back(form.text("back"))], number=number)


def way_back(text: str | None) -> str:
    """Where it is gone on; the links where nothing else that is known was said."""
    return text if text in WAYS_BACK else "links"


def ids_in(form: Form, name: str) -> frozenset[int]:
    """The photos that a field names; what names none is left out."""
    typed = (one for one in form.all(name) if len(one) <= 18)
    return frozenset(int(one) for one in typed if one.isascii() and one.isdecimal())


def page_for(session: Session, visit: Visit, number: str, back: str | None) -> PhotosForClaimPage:
    """The page in words."""
    job = jobs.read(session, visit.person, number)
    signed = photos_signed.of_job(session, visit.person, job.id)
    standing = [one for one in photos.listing(session, visit.person, number) if one.stands]
    way = way_back(back)
    return PhotosForClaimPage(
        title=_("Photos that go with the claim"),
        number=number,
        back=way,
        back_href=path_to(WAYS_BACK[way], number=number),
        back_label=_("Sign-off") if way == "sign_off" else _("Links for the adjuster"),
        ticks=tuple(tick_of(number, one, signed) for one in standing),
        most=MOST_PRINTED,
        signed=signed.number if signed else "",
    )


def tick_of(number: str, one: PhotoView, signed: Signed | None) -> Tick:
    """A photo with its tick."""
    why = signed.beside.get(one.id, "") if signed else ""
    return Tick(
        id=one.id,
        href=path_to("photo", number=number, photo=one.id),
        thumbnail=path_to("photo_thumbnail", number=number, photo=one.id),
        alt=alt_of(one),
        width=one.width,
        height=one.height,
        shows=words.about(one.about),
        caption=one.caption or "",
        chosen=one.shared_at is not None,
        beside=words.not_in(why, signed.number) if signed else "",
    )
