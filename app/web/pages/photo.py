"""One photo of a job: seen large, described, taken out, erased."""

from dataclasses import dataclass, replace
from typing import ClassVar

from fastapi import Request
from starlette.responses import Response

from app.services import jobs, photo_sharing, photos, photos_signed
from app.services.jobs import JobView
from app.services.permissions import Actor, allowed
from app.services.photos import PhotoBytes, PhotoView
from app.services.photos_signed import Signed
from app.web.again import shown_again
from app.web.database import Read, Write
from app.web.door import pages
from app.web.form_state import FormState, Option
from app.web.forms import Sent
from app.web.pages.ask import AskPage
from app.web.pages.photos import alt_of, capital, gone_of, things
from app.web.pages.words import Fact
from app.web.rendering import Page, see, show
from app.web.routes import path_to
from app.web.visits import Here
from app.wording import photos as words
from app.wording.moments import moment
from app.wording.translation import _

ONE = "/jobs/{number}/photos/{photo}"


@dataclass(frozen=True, kw_only=True)
class PhotoPage(Page):
    template: ClassVar[str] = "pages/photo.html"
    number: str
    photo: int
    alt: str
    width: int
    height: int
    present: bool
    """Whether its bytes are still there."""
    gone: str
    """Why it no longer stands; empty while it does."""
    facts: tuple[Fact, ...]
    things: tuple[Option, ...]
    may_describe: bool
    may_erase: bool
    may_share: bool
    shared: str
    """Whether it goes with the claim, said in full; empty for one that no longer stands."""
    is_shared: bool
    missing: str = ""
    """That the signed certificate does not show it, and why; else empty."""


@pages.add("GET", ONE, "photos.read", name="photo")
def one_photo(request: Request, visit: Here, session: Read, number: str, photo: int) -> Response:
    """A photo, large, with what is known of it."""
    job = jobs.read(session, visit.person, number)
    found = photos.read(session, visit.person, number, photo)
    state = FormState({"about": found.about or "", "caption": found.caption or ""})
    page = page_for(job, found, visit.person, state)
    signed = photos_signed.of_job(session, visit.person, job.id)
    return show(request, visit, replace(page, missing=missing_of(photo, signed)))


@pages.add("GET", ONE + "/whole", "photos.read")
def photo_whole(visit: Here, session: Read, number: str, photo: int) -> Response:
    """The bytes of the photo."""
    return image(photos.file(session, visit.person, number, photo))


@pages.add("GET", ONE + "/thumbnail", "photos.read")
def photo_thumbnail(visit: Here, session: Read, number: str, photo: int) -> Response:
    """The bytes of its thumbnail."""
    return image(photos.file(session, visit.person, number, photo, thumbnail=True))


@pages.add("POST", ONE, "photos.write")
def describe_photo(
    request: Request, visit: Here, session: Write, form: Sent, number: str, photo: int
) -> Response:
    """Puts what it shows, and the caption, in place of the old ones."""
    job = jobs.read(session, visit.person, number)
    found = photos.read(session, visit.person, number, photo)
    about, caption = form.text("about") or None, form.text("caption") or None
    with shown_again(
        request, visit, form.values(), lambda s: page_for(job, found, visit.person, s)
    ):
        photos.describe(session, visit.person, number, photo, about, caption, visit.now)
    return see("photos", number=number)


@pages.add("POST", ONE + "/share", "photos.share")
def share_photo(visit: Here, session: Write, number: str, photo: int) -> Response:
    """Lets the photo go with the claim."""
    photo_sharing.share(session, visit.person, number, photo, visit.now)
    return see("photo", number=number, photo=photo)


@pages.add("POST", ONE + "/keep-back", "photos.share")
def keep_photo_back(visit: Here, session: Write, number: str, photo: int) -> Response:
    """Lets it stay in the shop from now on."""
    photo_sharing.keep_back(session, visit.person, number, photo, visit.now)
    return see("photo", number=number, photo=photo)


@pages.add("GET", ONE + "/take-out", "photos.write")
def take_out_photo_form(
    request: Request, visit: Here, session: Read, number: str, photo: int
) -> Response:
    """Why the photo does not belong among the others."""
    found = photos.read(session, visit.person, number, photo)
    return show(request, visit, take_out_page(number, found, FormState()))


@pages.add("POST", ONE + "/take-out", "photos.write")
def take_out_photo(
    request: Request, visit: Here, session: Write, form: Sent, number: str, photo: int
) -> Response:
    """Takes it out, with the reason."""
    found = photos.read(session, visit.person, number, photo)
    with shown_again(request, visit, form.values(), lambda s: take_out_page(number, found, s)):
        photos.take_out(session, visit.person, number, photo, form.text("reason"), visit.now)
    return see("photos", number=number)


@pages.add("GET", ONE + "/erase", "photos.erase")
def erase_photo_form(
    request: Request, visit: Here, session: Read, number: str, photo: int
) -> Response:
    """Why the photo must not be kept at all."""
    found = photos.read(session, visit.person, number, photo)
    return show(request, visit, erase_page(number, found, FormState()))


@pages.add("POST", ONE + "/erase", "photos.erase")
def erase_photo(
    request: Request, visit: Here, session: Write, form: Sent, number: str, photo: int
) -> Response:
    """Erases it for good, with the reason."""
    found = photos.read(session, visit.person, number, photo)
    with shown_again(request, visit, form.values(), lambda s: erase_page(number, found, s)):
        photos.erase(session, visit.person, number, photo, form.text("reason"), visit.now)
    return see("photos", number=number)


def image(found: PhotoBytes) -> Response:
    """The JPEG, to be shown on our own pages; like every page it is kept by no cache."""
    return Response(found.content, media_type="image/jpeg")


def page_for(job: JobView, found: PhotoView, actor: Actor, state: FormState) -> PhotoPage:
    """One photo in words."""
    open_and_mine = not job.closed and allowed(actor, "photos.write")
    return PhotoPage(
        title=capital(words.about(found.about)),
        form=state,
        number=job.number,
        photo=found.id,
        alt=alt_of(found),
        width=found.width,
        height=found.height,
        present=found.erased_at is None,
        gone="" if found.stands else gone_of(job.number, found).why,
        facts=facts_of(found),
        things=things(state.value("about")),
        may_describe=open_and_mine and found.stands,
        may_erase=allowed(actor, "photos.erase") and found.erased_at is None,
        may_share=allowed(actor, "photos.share") and found.stands,
        shared=shared_of(found) if found.stands else "",
        is_shared=found.shared_at is not None,
    )


def missing_of(photo: int, signed: Signed | None) -> str:
    """That the signed certificate does not show it, and why; else empty."""
    if signed is None or photo not in signed.beside:
        return ""
    said = words.not_in(signed.beside[photo], signed.number)
    return f"{capital(said)}."


def shared_of(found: PhotoView) -> str:
    """Whether it leaves the shop."""
    if found.shared_at is None:
        return _("It stays in the shop.")
    return _("It goes with the claim, since {moment}.").format(moment=moment(found.shared_at))


def facts_of(found: PhotoView) -> tuple[Fact, ...]:
    """What is known of the photo; the digest lets anybody see later that it is the same."""
    came = " · ".join(filter(None, [moment(found.added_at), found.added_by]))
    size = _("{width} × {height} pixels, {kilobytes} kB").format(
        width=found.width, height=found.height, kilobytes=round(found.size / 1000)
    )
    return (
        Fact(_("Added"), came),
        Fact(_("Size"), size),
        Fact(_("SHA-256 of the photo"), found.sha256),
    )


def take_out_page(number: str, found: PhotoView, state: FormState) -> AskPage:
    """What taking out means."""
    return AskPage(
        title=_("Take photo {number} out").format(number=found.id),
        form=state,
        lead=(
            alt_of(found),
            _("It is no longer shown; that it was here, and why it went, stays on record."),
        ),
        label=_("Reason"),
        button=_("Take it out"),
        action=path_to("take_out_photo", number=number, photo=found.id),
        back=path_to("photo", number=number, photo=found.id),
        back_label=_("Photo {number}").format(number=found.id),
    )


def erase_page(number: str, found: PhotoView, state: FormState) -> AskPage:
    """What erasing means."""
    return AskPage(
        title=_("Erase photo {number}").format(number=found.id),
        form=state,
        lead=(
            alt_of(found),
            _("Photo and caption are removed for good. Nothing can bring them back but a backup."),
        ),
        label=_("Reason"),
        button=_("Erase it for good"),
        action=path_to("erase_photo", number=number, photo=found.id),
        back=path_to("photo", number=number, photo=found.id),
        back_label=_("Photo {number}").format(number=found.id),
    )
