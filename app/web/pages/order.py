"""The order and the notice on personal data: read by the customer and signed, on the screen or on
the printed job card."""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import ClassVar

from fastapi import Request
from markupsafe import Markup
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.errors import BadInput, Conflict, Problem
from app.schemas.reading import checked
from app.schemas.signature import PURPOSES, SignatureIn
from app.services import jobs, shop, signatures
from app.services.jobs import JobView
from app.services.permissions import allowed
from app.services.signatures import SignatureView
from app.web import drawn
from app.web.again import shown_again
from app.web.database import Read, Write
from app.web.door import pages
from app.web.form_state import FormState, Option
from app.web.forms import Form, Sent
from app.web.pages.arrival import Arrival, arrival_of
from app.web.pages.words import Fact, machine_name, or_not_stated
from app.web.rendering import Page, see, show
from app.web.visits import Here, Visit
from app.wording import jobs as words
from app.wording import orders
from app.wording.moments import day, moment
from app.wording.translation import _

FIELDS = ("name", "strokes", "purpose")
READ = "read"
LONGEST = 4000
"""Of the text that is kept with a signature."""


@dataclass(frozen=True, slots=True)
class Texts:
    """What is signed."""

    authorisation: str
    notice: tuple[str, ...]
    left: tuple[Fact, ...]
    """What is left here and in which state: the order is given for that."""

    def of(self, purpose: str) -> str:
        """The text of one purpose, as it is kept with the signature."""
        return self.authorisation if purpose == "authorisation" else "\n".join(self.notice)

    @property
    def left_in_lines(self) -> str:
        """What is left here, a line each."""
        return "\n".join(f"{fact.label}: {fact.value}" for fact in self.left)

    @property
    def mark(self) -> str:
        """Another one as soon as any of it reads otherwise."""
        return hashlib.sha256(
            "\n".join([*map(self.of, PURPOSES), self.left_in_lines]).encode()
        ).hexdigest()[:16]


@dataclass(frozen=True, slots=True)
class Signed:
    """What was signed already."""

    purpose: str
    how: str
    drawing: Markup


@dataclass(frozen=True, kw_only=True)
class OrderPage(Page):
    template: ClassVar[str] = "pages/order.html"
    on_the_floor: ClassVar[bool] = True
    number: str
    texts: Texts
    signed: tuple[Signed, ...]
    purposes: tuple[Option, ...]
    closed: bool
    may_change: bool
    arrival: Arrival | None


@pages.add("GET", "/jobs/{number}/order", "signatures.write")
def order_form(request: Request, visit: Here, session: Read, number: str) -> Response:
    """What the customer leaves here and orders, to be read and signed."""
    job = jobs.read(session, visit.person, number)
    state = FormState({"name": job.authorised_by or job.customer.name or ""})
    way = arrival_of(request.query_params, job, "order_form")
    return show(request, visit, page_for(session, visit, job, state, PURPOSES, way))


@pages.add("POST", "/jobs/{number}/order", "signatures.write")
def sign_order(request: Request, visit: Here, session: Write, form: Sent, number: str) -> Response:
    """Keeps the signature for everything that was ticked."""
    job = jobs.read(session, visit.person, number)
    purposes = form.all("purpose")
    way = arrival_of(form.values(), job, "order_form")
    texts = texts_of(session, visit, job)
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
    return see("photos", way.query, number=number) if way else see("job", number=number)


def signature_of(form: Form, purpose: str, texts: Texts) -> SignatureIn:
    """One signature as it was sent. Raises BadInput."""
    sent: dict[str, object] = {
        "purpose": purpose,
        "name": form.text("name"),
        "wording": texts.of(purpose)[:LONGEST],
    }
    if purpose == "authorisation":
        sent["left"] = texts.left_in_lines[:LONGEST]
    on_card = form.text("how") == "card"
    sent |= {"on_card": True} if on_card else {"strokes": form.text("strokes") or None}
    return checked(SignatureIn, sent)


def texts_of(session: Session, visit: Visit, job: JobView) -> Texts:
    """The texts that the customer of this job signs."""
    keeper = shop.read(session, visit.person)
    machine = ", ".join(filter(None, [machine_name(job.machine), job.machine.frame_number]))
    return Texts(
        authorisation=orders.authorisation(keeper.name, machine, job.authorised_scope or ""),
        notice=orders.notice(keeper.name, keeper.privacy_notice),
        left=left_here(job),
    )


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
    labels = {
        "authorisation": _("I have read the order and give it."),
        "privacy": _("I have read the notice on personal data."),
    }
    return OrderPage(
        title=_("Order and signature"),
        form=state,
        number=job.number,
        texts=texts_of(session, visit, job),
        signed=signed_so_far(standing),
        purposes=tuple(Option(code, labels[code], code in ticked) for code in PURPOSES),
        closed=job.closed,
        may_change=not job.closed and allowed(visit.person, "jobs.check_in"),
        arrival=way,
    )


def left_here(job: JobView) -> tuple[Fact, ...]:
    """What the customer leaves and in which state, to be read before signing."""
    return (
        Fact(_("Job"), job.number),
        Fact(_("Machine"), machine_name(job.machine)),
        Fact(_("Plate"), or_not_stated(job.machine.plate)),
        Fact(_("Frame number"), or_not_stated(job.machine.frame_number)),
        Fact(_("Odometer, km"), or_not_stated(job.odometer_km)),
        Fact(_("Condition"), words.rideable(job.rideable)),
        Fact(_("Visible damage"), or_not_stated("; ".join(job.visible_damage))),
        Fact(_("Left with the machine"), or_not_stated("; ".join(job.belongings))),
        Fact(_("Promised for"), day(job.promised_on) if job.promised_on else _("not stated")),
    )


def signed_so_far(standing: Mapping[str, SignatureView]) -> tuple[Signed, ...]:
    """The newest signature of each purpose."""
    names = {"authorisation": _("Order"), "privacy": _("Notice on personal data")}
    return tuple(
        Signed(names[code], how_signed(one), drawn.signature(one.strokes, one.name or ""))
        for code, one in standing.items()
    )


def how_signed(one: SignatureView) -> str:
    """Who signed, when and how."""
    ways = {
        "on_screen": _("signed by {name} on the screen, {moment}"),
        "on_card": _("signed by {name} on the printed card, {moment}"),
    }
    return ways[one.way].format(name=one.name or _("erased"), moment=moment(one.at))
