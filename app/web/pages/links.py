"""Links with which an adjuster opens the claim view of a job, without signing in."""

from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar
from urllib.parse import quote, urlencode

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.errors import BadInput, Problem
from app.services import claims, jobs, photos, shop
from app.services.claims import LinkView, NewLink
from app.services.insurer_links import ISSUED
from app.services.jobs import JobView
from app.services.permissions import allowed
from app.web.again import shown_again
from app.web.database import Read, Write
from app.web.door import pages
from app.web.form_state import FormState
from app.web.forms import Form, Sent
from app.web.pages.words import machine_name
from app.web.reach import address_of_claim
from app.web.rendering import Page, see, show
from app.web.routes import ROUTES, path_to
from app.web.visits import Here, Visit
from app.wording import claim_message as messages
from app.wording import jobs as words
from app.wording.moments import day, moment
from app.wording.translation import _, counted

FIELDS = ("note", "valid_days")


@dataclass(frozen=True, slots=True)
class Link:
    """A link that was made."""

    id: int
    note: str
    made: str
    until: str
    state: str
    openings: str
    open: bool


@dataclass(frozen=True, kw_only=True)
class LinksPage(Page):
    template: ClassVar[str] = "pages/links.html"
    number: str
    links: tuple[Link, ...]
    new: str
    """The address of the link just made; shown this once."""
    new_until: str
    reachable: bool
    """Others can reach the address: the shop has a public one."""
    mail: str
    """Begins a mail with the link just made; empty while there is none that others reach."""
    photos: str
    """How many photos go with the claim; empty where there is none."""
    usual: str
    """For how many days a link opens where none are told."""
    may_see_uses: bool
    seen: tuple[str, ...]
    """What whoever has the link would see now, where no insurer is on record; else nothing."""
    still_named: str
    """After erasing the customer: which certificates name them all the same; else empty."""
    claim_change: str
    """Where the insurer is put on record; empty for who may not."""


@pages.add("GET", "/jobs/{number}/links", "claim_links.write")
def claim_links(request: Request, visit: Here, session: Read, number: str) -> Response:
    """The links of a job."""
    return show(request, visit, page_for(request, session, visit, number, FormState()))


@pages.add("POST", "/jobs/{number}/links", "claim_links.write")
def make_link(request: Request, visit: Here, session: Write, form: Sent, number: str) -> Response:
    """Makes a link and shows its address: only the digest of its secret is kept."""

    def again(state: FormState) -> Page:
        return page_for(request, session, visit, number, state)

    with shown_again(request, visit, form.values(), again, FIELDS):
        made = claims.create_link(
            session,
            visit.person,
            number,
            visit.now,
            note=form.text("note"),
            valid_days=days_of(form),
        )
    return show(request, visit, page_for(request, session, visit, number, FormState(), made))


@pages.add("POST", "/jobs/{number}/links/{link}/revoke", "claim_links.write")
def revoke_link(visit: Here, session: Write, number: str, link: int) -> Response:
    """Makes a link useless at once."""
    claims.revoke(session, visit.person, link, visit.now)
    return see("claim_links", number=number)


def days_of(form: Form) -> int | None:
    """For how many days; None when the field was left empty. Raises BadInput for other text."""
    text = form.text("valid_days")
    if not text:
        return None
    if not (text.isascii() and text.isdecimal() and len(text) <= 4):
        facts = {"met": text[:40], "needed": "whole_number"}
        raise BadInput([Problem("wrong_type", "valid_days", facts)], "wrong_type")
    return int(text)


def page_for(
    request: Request,
    session: Session,
    visit: Visit,
    number: str,
    state: FormState,
    made: NewLink | None = None,
) -> LinksPage:
    """The page, with the address of a link just made."""
    found = claims.links(session, visit.person, visit.now, number)
    job = jobs.read(session, visit.person, number)
    insurer = job.claim.insurer_name
    reachable = request.app.state.settings.public_url is not None
    new = address_of_claim(request, made.token) if made else ""
    until = day(made.expires_at) if made else ""
    shared = photos_of(session, visit, number)
    may_change = not job.closed and allowed(visit.person, ROUTES["check_in_change_form"].action)
    return LinksPage(
        title=_("Links for the adjuster"),
        form=filled_in(state, recipient_of(job)),
        number=number,
        links=tuple(link_of(one, job.customer.erased_at) for one in found),
        new=new,
        new_until=until,
        reachable=reachable,
        mail=mail_with(job, new, until) if new and reachable else "",
        photos=shared,
        usual=usual_days(session, visit),
        may_see_uses=allowed(visit.person, "claim_links.read"),
        seen=() if insurer else seen_by_link(job, shared),
        still_named=still_named(job),
        claim_change=f"{path_to('check_in_change_form', number=number)}#claim.insurer_id"
        if may_change
        else "",
    )


def seen_by_link(job: JobView, shared: str) -> tuple[str, ...]:
    """What whoever has a link to this job sees, a line each."""
    issued = [one for one in job.certificates if one.status in ISSUED]
    named = [
        _("Certificate {number} ({status}): it names customer, machine and frame number.").format(
            number=one.number, status=words.certificate_status(one.status)
        )
        for one in issued
    ]
    none = _("No certificate yet. Once one is issued, it names customer, machine, frame number.")
    return (*(named or [none]), *filter(None, [shared]))


def still_named(job: JobView) -> str:
    """After the customer was erased: which certificates of the job name them all the same."""
    erased = job.customer.erased_at
    issued = [one for one in job.certificates if one.status in ISSUED and one.issued_at]
    before = [one.number for one in issued if erased and one.issued_at and one.issued_at <= erased]
    if not erased or not before:
        return ""
    told = counted(
        "The customer was erased on {day}. Certificate {numbers} is signed and still names the "
        "customer and the plate: whoever gets a link reads them.",
        "The customer was erased on {day}. Certificates {numbers} are signed and still name the "
        "customer and the plate: whoever gets a link reads them.",
        len(before),
    )
    return told.format(day=day(erased), numbers=", ".join(before))


def recipient_of(job: JobView) -> str:
    """For whom a link to the job mostly is: the adjuster and the insurer, as far as known."""
    return ", ".join(filter(None, [job.claim.adjuster, job.claim.insurer_name]))


def mail_with(job: JobView, address: str, until: str) -> str:
    """A mail to the adjuster with the link just made, as their own program begins it."""
    claim = job.claim
    subject = messages.about_job(job.number, claim.claim_number or "")
    body = messages.with_link(machine_name(job.machine), address, until)
    query = urlencode({"subject": subject, "body": body}, quote_via=quote)
    return f"mailto:{quote(claim.adjuster_email or '', safe='@')}?{query}"


def filled_in(state: FormState, recipient: str) -> FormState:
    """The form as it was sent; before that with the one for whom a link mostly is."""
    return state if state.values or not recipient else FormState({"note": recipient}, state.errors)


def usual_days(session: Session, visit: Visit) -> str:
    """For how many days a link opens where none are told."""
    days = shop.read(session, visit.person).claim_link_days
    return counted("Empty: {count} day", "Empty: {count} days", days).format(count=days)


def photos_of(session: Session, visit: Visit, number: str) -> str:
    """How many of the job's photos go with the claim; empty where there is none."""
    standing = [one for one in photos.listing(session, visit.person, number) if one.stands]
    shared = sum(one.shared_at is not None for one in standing)
    if not standing:
        return ""
    return _("Photos that go with the claim: {shared} of {count}.").format(
        shared=shared, count=len(standing)
    )


def link_of(one: LinkView, erased_at: datetime | None = None) -> Link:
    """A link in words; erased_at: when the customer of its job was erased."""
    ended_with = erased_at is not None and one.revoked_at == erased_at
    times = counted("opened {count} time", "opened {count} times", one.openings)
    openings = times.format(count=one.openings)
    if one.last_opened_at:
        openings = _("{times}, last on {moment}").format(
            times=openings, moment=moment(one.last_opened_at)
        )
    if one.fetched:
        fetched = counted(
            "{count} file or photo fetched", "{count} files or photos fetched", one.fetched
        )
        openings = f"{openings}, {fetched.format(count=one.fetched)}"
    if one.refused:
        after = counted(
            "tried {count} time after its end", "tried {count} times after its end", one.refused
        )
        openings = f"{openings}, {after.format(count=one.refused)}"
    return Link(
        id=one.id,
        note=one.note or (_("name erased") if erased_at else ""),
        made=made_of(one),
        until=day(one.expires_at),
        state=_("ended: the customer was erased") if ended_with else words.link_state(one.state),
        openings=openings,
        open=one.state == "open",
    )


def made_of(one: LinkView) -> str:
    """When a link was made, and by whom."""
    when = moment(one.created_at)
    if not one.created_by:
        return _("{moment} by a program").format(moment=when)
    return _("{moment} by {name}").format(moment=when, name=one.created_by)
