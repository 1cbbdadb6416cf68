"""The photos of a job: sent, seen, described, taken out, erased."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.schemas.photo import ABOUT, MOST_AT_ONCE
from app.services import jobs, photos, signatures
from app.services.jobs import JobView
from app.services.permissions import Actor, allowed
from app.services.photos import PhotoView
from app.services.signatures import SignatureView
from app.web.by_script import gone_on, told_back
from app.web.database import Read, Records
from app.web.door import pages
from app.web.form_state import FormState, Option
from app.web.forms import Sent
from app.web.pages.arrival import Arrival, arrival_of
from app.web.pages.words import machine_name, nameless
from app.web.rendering import Page, show
from app.web.routes import path_to
from app.web.sent_photos import FIELD, some_from
from app.web.visits import Here
from app.wording import photos as words
from app.wording.moments import day, moment
from app.wording.translation import _, counted

FIELDS = (FIELD, "about", "caption")


@dataclass(frozen=True, slots=True)
class Shot:
    """One photo in the gallery."""

    id: int
    href: str
    thumbnail: str
    alt: str
    width: int
    height: int
    caption: str
    beside: str
    """When it came, and from whom."""


@dataclass(frozen=True, slots=True)
class Group:
    """The photos of one thing."""

    name: str
    shots: tuple[Shot, ...]


@dataclass(frozen=True, slots=True)
class Gone:
    """A photo that no longer stands, with the reason."""

    href: str
    name: str
    why: str


@dataclass(frozen=True, kw_only=True)
class PhotosPage(Page):
    template: ClassVar[str] = "pages/photos.html"
    on_the_floor: ClassVar[bool] = True
    number: str
    machine: str
    groups: tuple[Group, ...]
    gone: tuple[Gone, ...]
    may_add: bool
    may_share: bool
    standing: str
    """How many photos are on record; empty while there is none."""
    things: tuple[Option, ...]
    most_at_once: int
    arrival: Arrival | None
    signed: str
    """On the way after check-in: that the order is signed, by whom and when; else empty."""
    left_out: str
    """Which photos that were chosen at check-in could not be kept; empty when all were."""


@dataclass(frozen=True, slots=True)
class Gallery:
    """What the page shows, read once, so that a refused form can be shown again."""

    job: JobView
    photos: tuple[PhotoView, ...]
    signed: SignatureView | None
    """Under the order."""
    noticed: bool
    """The notice on personal data was signed, or given."""


@pages.add("GET", "/jobs/{number}/photos", "photos.read", name="photos")
def gallery(request: Request, visit: Here, session: Read, number: str) -> Response:
    """All photos of a job, by what they show; below them, the form to add some."""
    found = gallery_of(session, visit.person, number)
    state = FormState({"about": request.query_params.get("about", "")})
    way = arrival_of(request.query_params, found.job, "photos", visit.person)
    return show(request, visit, page_for(found, visit.person, state, way))


@pages.add("POST", "/jobs/{number}/photos", "photos.write")
def add_photos(
    request: Request, visit: Here, database: Records, form: Sent, number: str
) -> Response:
    """Adds what was chosen; the photos are made ready before the write lock is taken."""
    with database.read() as session:
        found = gallery_of(session, visit.person, number)
    about = form.text("about") or None
    way = arrival_of(form.values(), found.job, "photos", visit.person)

    def again(state: FormState) -> Page:
        return page_for(found, visit.person, state, way)

    with told_back(request, visit, form.values(), again, FIELDS, FIELD):
        prepared = some_from(request, form)
        caption = form.text("caption") or None
        with database.write() as session:
            photos.add_all(session, visit.person, number, prepared, about, caption, visit.now)
    query = {**({"about": about} if about else {}), **(way.query if way else {})}
    return gone_on(request, path_to("photos", query, number=number))


def gallery_of(session: Session, actor: Actor, number: str) -> Gallery:
    """The job with its photos. Raises NotFound `no_such_job`."""
    sees = allowed(actor, "signatures.read")
    signed = signatures.standing(session, actor, number).get("authorisation") if sees else None
    job = jobs.read(session, actor, number)
    noticed = job.privacy_notice_at is not None
    return Gallery(job, photos.listing(session, actor, number), signed, noticed)


def page_for(found: Gallery, actor: Actor, state: FormState, way: Arrival | None) -> PhotosPage:
    """The gallery in words."""
    number = found.job.number
    standing = [one for one in found.photos if one.stands]
    return PhotosPage(
        title=_("Photos"),
        form=state,
        number=number,
        machine=machine_name(found.job.machine),
        groups=groups_of(number, standing),
        gone=tuple(gone_of(number, one) for one in found.photos if not one.stands),
        may_add=not found.job.closed and allowed(actor, "photos.write"),
        may_share=bool(standing) and allowed(actor, "photos.share"),
        standing=standing_words(len(standing)),
        things=things(state.value("about")),
        most_at_once=MOST_AT_ONCE,
        arrival=way,
        signed=signed_words(found.signed, noticed=found.noticed) if way else "",
        left_out=left_out(way.left_out if way else ()),
    )


def signed_words(one: SignatureView | None, *, noticed: bool) -> str:
    """That the order is signed, by whom and when, and whether the notice on personal data is;
    empty while the order is not."""
    if one is None:
        return ""
    told = _("Order signed by {name}, {moment}.")
    said = told.format(name=one.name or nameless(), moment=moment(one.at))
    return said if noticed else f"{said} {_('The notice on personal data is not signed yet.')}"


def standing_words(count: int) -> str:
    """How many photos are on record; empty while there is none."""
    if not count:
        return ""
    return counted("{n} photo", "{n} photos", count).format(n=count)


def left_out(places: Sequence[int]) -> str:
    """Which photos could not be kept, by their places in what was chosen."""
    if not places:
        return ""
    told = counted(
        "The machine is checked in, but one of its photos could not be kept: number {places} of "
        "those that were chosen. Choose it once more here, and the page says what is wrong.",
        "The machine is checked in, but some of its photos could not be kept: numbers {places} of "
        "those that were chosen. Choose them once more here, and the page says what is wrong.",
        len(places),
    )
    return told.format(places=", ".join(map(str, places)))


def groups_of(number: str, standing: Sequence[PhotoView]) -> tuple[Group, ...]:
    """The photos by what they show, in the order of the list of things."""
    present = [about for about in (None, *ABOUT) if any(one.about == about for one in standing)]
    return tuple(
        Group(
            capital(words.about(about)),
            tuple(shot_of(number, one) for one in standing if one.about == about),
        )
        for about in present
    )


def shot_of(number: str, one: PhotoView) -> Shot:
    """A photo of the gallery."""
    return Shot(
        id=one.id,
        href=path_to("photo", number=number, photo=one.id),
        thumbnail=path_to("photo_thumbnail", number=number, photo=one.id),
        alt=alt_of(one),
        width=one.width,
        height=one.height,
        caption=one.caption or "",
        beside=" · ".join(
            filter(None, [moment(one.added_at), one.added_by, with_claim(one)]),
        ),
    )


def with_claim(one: PhotoView) -> str:
    """That it goes with the claim; empty for the others."""
    return _("goes with the claim") if one.shared_at else ""


def alt_of(one: PhotoView) -> str:
    """What stands for the photo where it cannot be seen."""
    shown = words.about(one.about)
    said = _("Photo {number}: {shown}").format(number=one.id, shown=shown)
    return f"{said}, {one.caption}" if one.caption else said


def gone_of(number: str, one: PhotoView) -> Gone:
    """A photo that was taken out or erased: that it was there stays on record."""
    if one.erased_at is not None:
        why = _("erased on {moment}").format(moment=moment(one.erased_at))
    else:
        why = _("taken out on {moment} by {name}: {reason}").format(
            moment=moment(one.taken_out_at) if one.taken_out_at else "",
            name=one.taken_out_by or _("not stated"),
            reason=one.taken_out_because or "",
        )
    name = _("Photo {number}: {shown}").format(number=one.id, shown=words.about(one.about))
    return Gone(path_to("photo", number=number, photo=one.id), name, why)


def none_of(kept: Sequence[PhotoView]) -> str:
    """What stands where no photo is shown: that none came yet, or how many were erased."""
    erased = [one.erased_at for one in kept if one.erased_at is not None]
    if not erased:
        return _("None yet.")
    told = counted(
        "{count} photo was erased on {day}.",
        "{count} photos were erased, the last on {day}.",
        len(erased),
    )
    return told.format(count=len(erased), day=day(max(erased)))


def things(chosen: str) -> tuple[Option, ...]:
    """What a photo can show."""
    return tuple(Option(code, capital(words.about(code)), code == chosen) for code in ("", *ABOUT))


def capital(text: str) -> str:
    """The words with a capital at their beginning."""
    return text[:1].upper() + text[1:]
