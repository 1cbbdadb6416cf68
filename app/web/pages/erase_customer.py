"""Erasing a customer: what goes, what must stay and why, then the owner's password."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.services import customers
from app.services.claim_access import KEPT as USES_KEPT
from app.services.erasing import Emptied, Extent
from app.services.sign_in import confirm_password
from app.web.again import shown_again
from app.web.database import Read, Records
from app.web.door import pages
from app.web.form_state import FormState
from app.web.forms import Sent
from app.web.pages.customer import ONE, called
from app.web.rendering import Page, see, show
from app.web.visits import Here, Visit
from app.wording import erasing as words
from app.wording.moments import day
from app.wording.translation import _

PURPOSE = "customer.erase"


@dataclass(frozen=True, slots=True)
class Issued:
    """A certificate that keeps naming the customer."""

    number: str
    status: str


@dataclass(frozen=True, slots=True)
class Named:
    """A text that stays though it names the customer."""

    job: str
    where: str
    text: str


@dataclass(frozen=True, kw_only=True)
class EraseCustomerPage(Page):
    template: ClassVar[str] = "pages/erase_customer.html"
    customer: int
    name: str
    asked: str
    """Since when the customer waits for it; empty where nobody noted that."""
    here: tuple[str, ...]
    """Jobs whose machine stands in the shop."""
    goes: tuple[str, ...]
    certificates: tuple[Issued, ...]
    being_signed: bool
    still_named: tuple[Named, ...]
    recipients: tuple[str, ...]
    """For whom links were made that were opened."""
    uses_days: int
    """For so many days it is kept that a link was opened."""


@pages.add("GET", ONE + "/erase", "customers.erase")
def erase_customer_form(request: Request, visit: Here, session: Read, customer: int) -> Response:
    """What would go and what would stay."""
    return show(request, visit, page_for(session, visit, customer, FormState()))


@pages.add("POST", ONE + "/erase", "customers.erase")
def erase_customer(
    request: Request, visit: Here, database: Records, form: Sent, customer: int
) -> Response:
    """Erases for good. The owner's password is asked again, because it cannot be taken back."""

    def again(state: FormState) -> Page:
        with database.read() as session:
            return page_for(session, visit, customer, state)

    with database.read() as session:
        customers.extent(session, visit.person, customer)
    reason = form.text("reason")
    with shown_again(request, visit, {"reason": reason}, again, ("password",)):
        with database.read() as session:
            customers.reason_to_erase(session, visit.person, customer, reason)
        confirm_password(
            database,
            visit.person,
            form.exact("password"),
            visit.now,
            PURPOSE,
            request.app.state.passwords,
        )
        with database.write() as session:
            customers.erase(session, visit.person, customer, reason, visit.now)
    return see("customer", customer=customer)


def page_for(session: Session, visit: Visit, customer: int, state: FormState) -> EraseCustomerPage:
    """The page, from what is on record now."""
    extent = customers.extent(session, visit.person, customer)
    found = customers.read(session, visit.person, customer)
    return EraseCustomerPage(
        title=_("Erase {name}").format(name=called(found)),
        form=state,
        customer=customer,
        name=called(found),
        asked=day(found.erasure_asked_at) if found.erasure_asked_at else "",
        here=extent.here,
        goes=tuple(goes(extent.emptied)),
        certificates=tuple(
            Issued(number, words.certificate(status)) for number, status in extent.certificates
        ),
        being_signed=any(status == "issuing" for _number, status in extent.certificates),
        still_named=tuple(named(extent)),
        recipients=extent.recipients,
        uses_days=USES_KEPT.days,
    )


def goes(emptied: Emptied) -> Iterator[str]:
    """What is emptied, a line each; nothing of what is not there."""
    yield words.contact()
    counts = (
        (emptied.machines, words.machines),
        (emptied.jobs, words.visits),
        (emptied.claims, words.claims),
        (emptied.notes, words.notes),
        (emptied.photos, words.photos),
        (emptied.signatures, words.signatures),
        (emptied.log_values, words.log_values),
        (emptied.links, words.links),
    )
    yield from (told(count) for count, told in counts if count)
    yield words.search()


def named(extent: Extent) -> Iterator[Named]:
    """Texts that stay and name the customer."""
    for one in extent.still_named:
        yield Named(one.job, words.still_named(one.kind), one.text[:300])
