"""The order and the notice on personal data: read by the customer and signed, on the screen or on
the printed job card."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import ClassVar

from fastapi import Request
from markupsafe import Markup
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.errors import BadInput, Conflict, Problem
from app.schemas.reading import checked
from app.schemas.signature import PURPOSES, SignatureIn
from app.services import jobs, signatures
from app.services.jobs import JobView
from app.services.permissions import allowed
from app.services.signatures import SignatureView
from app.services.signed_for import Change, Texts, changes, texts_of
from app.web import drawn
from app.web.again import shown_again
from app.web.database import Read, Write
from app.web.door import pages
from app.web.form_state import FormState, Option
from app.web.forms import Form, Sent
from app.web.pages.arrival import Arrival, arrival_of
from app.web.pages.words import Fact, nameless
from app.web.rendering import Page, see, see_saved, show
from app.web.visits import Here, Visit
from app.wording import orders
from app.wording.moments import moment
from app.wording.translation import _

FIELDS = ("name", "strokes", "purpose")
READ = "read"


@dataclass(frozen=True, slots=True)
class Signed:
    """What was signed already."""

    purpose: str
    how: str
    drawing: Markup
    changed: tuple[str, ...]
    """What reads otherwise since then; nothing where all stands as it was signed."""
    text: tuple[str, ...]
    left: tuple[Fact, ...]
    """What was signed, where something reads otherwise by now."""


@dataclass(frozen=True, kw_only=True)
class OrderPage(Page):
    template: ClassVar[str] = "pages/order.html"
    on_the_floor: ClassVar[bool] = True
    number: str
    texts: Texts
    left: tuple[Fact, ...]
    signed: tuple[Signed, ...]
    to_sign_anew: bool
    """Something reads otherwise than what was signed."""
    purposes: tuple[Option, ...]
    closed: bool
    may_change: bool
    arrival: Arrival | None


@pages.add("GET", "/jobs/{number}/order", "signatures.write")
def order_form(request: Request, visit: Here, session: Read, number: str) -> Response:
    """What the customer leaves here and orders, to be read and signed."""
    job = jobs.read(session, visit.person, number)
    state = FormState({"name": job.authorised_by or job.customer.name or ""})
    way = arrival_of(request.query_params, job, "order_form", visit.person)
    return show(request, visit, page_for(session, visit, job, state, (), way))


@pages.add("POST", "/jobs/{number}/order", "signatures.write")
def sign_order(request: Request, visit: Here, session: Write, form: Sent, number: str) -> Response:
    """Keeps the signature for everything that was ticked."""
    job = jobs.read(session, visit.person, number)
    purposes = form.all("purpose")
    way = arrival_of(form.values(), job, "order_form", visit.person)
    texts = texts_of(session, visit.person, job)
    other = form.text(READ) not in ("", texts.mark)

    def again(state: FormState) -> Page:
        # Nobody's name may stand under what they have not read.
        values = {**state.values, "strokes": ""} if other else state.values
        return page_for(session, visit, job, replace(state, values=values), purposes, way)

    with shown_again(request, visit, form.values(), again, FIELDS):
        if not purposes:
            raise BadInput([Problem("nothing_to_sign", "purpose")])
        if other:
            raise Conflict("reads_otherwise", None)
        for sent in [signature_of(form, purpose, texts) for purpose in purposes]:
            signatures.sign(session, visit.person, number, sent, visit.now)
    if way:
        return see("photos", way.query, number=number)
    return see_saved(request, "job", number=number)


def signature_of(form: Form, purpose: str, texts: Texts) -> SignatureIn:
    """One signature as it was sent. Raises BadInput."""
    sent: dict[str, object] = {
        "purpose": purpose,
        "name": form.text("name"),
        "wording": texts.of(purpose),
    }
    if purpose == "authorisation":
        sent["left"] = texts.left_in_lines
    on_card = form.text("how") == "card"
    sent |= {"on_card": True} if on_card else {"strokes": form.text("strokes") or None}
    return checked(SignatureIn, sent)


def page_for(
    session: Session,
    visit: Visit,
    job: JobView,
    state: FormState,
    ticked: tuple[str, ...],
    way: Arrival | None,
) -> OrderPage:
    """The order in words."""
    standing = signatures.standing(session, visit.person, job.number)
    texts = texts_of(session, visit.person, job)
    signed = signed_so_far(standing, texts)
    labels = {
        "authorisation": _("I have read the order and give it."),
        "privacy": _("I have read the notice on personal data."),
    }
    return OrderPage(
        title=_("Order and signature"),
        form=state,
        number=job.number,
        texts=texts,
        left=facts_of(texts.left),
        signed=signed,
        to_sign_anew=any(one.changed for one in signed),
        purposes=tuple(Option(code, labels[code], code in ticked) for code in PURPOSES),
        closed=job.closed,
        may_change=not job.closed and allowed(visit.person, "jobs.check_in"),
        arrival=way,
    )


def facts_of(lines: Iterable[tuple[str, str]]) -> tuple[Fact, ...]:
    """Labels and what they say."""
    return tuple(Fact(label, value) for label, value in lines)


def signed_so_far(standing: Mapping[str, SignatureView], now: Texts) -> tuple[Signed, ...]:
    """The newest signature of each purpose, with what was signed where that reads otherwise now."""
    return tuple(signed_of(one, changes(one, now)) for one in standing.values())


def signed_of(one: SignatureView, since: tuple[Change, ...]) -> Signed:
    """A signature, and the text that it stands under."""
    names = {"authorisation": _("Order"), "privacy": _("Notice on personal data")}
    pairs = (line.partition(": ") for line in (one.left or "").splitlines() if since)
    return Signed(
        purpose=names[one.purpose],
        how=how_signed(one),
        drawing=drawn.signature(one.strokes, one.name or ""),
        changed=tuple(orders.changed(it.label, it.before, it.after) for it in since),
        text=tuple((one.wording or "").splitlines()) if since else (),
        left=facts_of((label, value) for label, _colon, value in pairs),
    )


def how_signed(one: SignatureView) -> str:
    """Who signed, when and how."""
    ways = {
        "on_screen": _("signed by {name} on the screen, {moment}"),
        "on_card": _("signed by {name} on the printed card, {moment}"),
    }
    return ways[one.way].format(name=one.name or nameless(), moment=moment(one.at))
