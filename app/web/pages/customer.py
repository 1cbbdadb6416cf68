"""A customer: how to reach them, their machines and jobs, and what they may ask of the shop."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.schemas.customer import CustomerIn
from app.schemas.reading import checked
from app.services import customer_jobs, customers, kept, machines
from app.services.customer_jobs import CustomerJob
from app.services.customers import CustomerView
from app.services.erasing import PERSONAL
from app.services.machines import MachineView
from app.services.permissions import Actor, allowed
from app.web.again import shown_again
from app.web.database import Read, Write
from app.web.door import pages
from app.web.form_state import FormState
from app.web.forms import Sent
from app.web.pages.calls import dial
from app.web.pages.words import Fact, machine_name, or_not_stated
from app.web.rendering import Page, see_saved, show
from app.web.routes import path_to
from app.web.visits import Here, Visit
from app.wording import event_facts
from app.wording import jobs as words
from app.wording import kept as kept_words
from app.wording.moments import day, moment
from app.wording.translation import _

ONE = "/customers/{customer}"
MOST_FOUND = 8
EMPTIED = (
    "machines", "jobs", "claims", "notes", "photos", "signatures", "links", "log_values",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class OwnMachine:
    """A machine of the customer."""

    name: str
    beside: str
    check_in: str
    """Address of the check-in with it; empty where the person may not, or may no more."""


@dataclass(frozen=True, slots=True)
class JobLine:
    """One job of the customer."""

    number: str
    machine: str
    status: str
    received: str


@dataclass(frozen=True, slots=True)
class May:
    """What the person who looks may do here."""

    reach: bool
    """See how to reach the customer."""
    change: bool
    tell: bool
    erase: bool


@dataclass(frozen=True, kw_only=True)
class CustomerPage(Page):
    template: ClassVar[str] = "pages/customer.html"
    customer: int
    phone: str
    dial: str
    """The number as an address that a telephone dials; empty without one."""
    contact: tuple[Fact, ...]
    machines: tuple[OwnMachine, ...]
    jobs: tuple[JobLine, ...]
    erased: str
    """When the personal values were erased; empty where they stand."""
    emptied: tuple[Fact, ...]
    asked: str
    """Since when erasing waits; empty where nobody asked for it."""
    given: tuple[str, ...]
    """When what is kept was given to the customer."""
    may: May


@dataclass(frozen=True, kw_only=True)
class CustomerChangePage(Page):
    template: ClassVar[str] = "pages/customer_change.html"
    customer: int
    name: str
    seen: str


@pages.add("GET", ONE, "customers.read")
def customer(request: Request, visit: Here, session: Read, customer: int) -> Response:
    """One customer."""
    found = customers.read(session, visit.person, customer)
    return show(request, visit, page_for(session, visit, found))


@pages.add("GET", ONE + "/change", "customers.write")
def customer_change_form(request: Request, visit: Here, session: Read, customer: int) -> Response:
    """What is on record, to be put right."""
    found = customers.read(session, visit.person, customer)
    return show(request, visit, change_page(found, FormState(values_of(found)), found.digest))


@pages.add("POST", ONE + "/change", "customers.write")
def change_customer(
    request: Request, visit: Here, session: Write, form: Sent, customer: int
) -> Response:
    """Puts what was sent in place of what stood there."""
    found = customers.read(session, visit.person, customer)
    seen = form.text("seen")

    def again(state: FormState) -> Page:
        return change_page(found, state, seen)

    with shown_again(request, visit, form.values(), again, PERSONAL):
        sent = checked(CustomerIn, {name: form.text(name) or None for name in PERSONAL})
        customers.update(session, visit.person, customer, sent, visit.now, seen)
    return see_saved(request, "customer", customer=customer)


@pages.add("POST", ONE + "/erasure-asked", "customers.write")
def ask_customers_erasure(request: Request, visit: Here, session: Write, customer: int) -> Response:
    """Notes that the customer asked to be erased."""
    customers.ask_erasure(session, visit.person, customer, visit.now)
    return see_saved(request, "customer", customer=customer)


@pages.add("POST", ONE + "/erasure-not-asked", "customers.write")
def take_erasure_back(request: Request, visit: Here, session: Write, customer: int) -> Response:
    """The wish is taken back."""
    customers.take_asking_back(session, visit.person, customer, visit.now)
    return see_saved(request, "customer", customer=customer)


@dataclass(frozen=True, slots=True)
class CustomerLine:
    """A customer in a list of others."""

    name: str
    beside: str
    href: str


def found_by(session: Session, actor: Actor, text: str) -> tuple[CustomerLine, ...]:
    """Customers that a search finds, for who may reach them; none without a search."""
    if not text or not allowed(actor, "customers.write"):
        return ()
    found = customers.find(session, actor, text, limit=MOST_FOUND)
    return tuple(
        CustomerLine(called(one), one.phone or "", path_to("customer", customer=one.id))
        for one in found
    )


def waiting_to_be_erased(session: Session, actor: Actor) -> tuple[CustomerLine, ...]:
    """Who asked to be erased, for who may do that."""
    if not allowed(actor, "customers.erase"):
        return ()
    return tuple(
        CustomerLine(
            called(one),
            _("asked on {day}").format(day=day(one.erasure_asked_at or one.created_at)),
            path_to("customer", customer=one.id),
        )
        for one in customers.waiting_to_be_erased(session, actor)
    )


def page_for(session: Session, visit: Visit, found: CustomerView) -> CustomerPage:
    """The customer in words."""
    may = may_of(found, visit.person)
    own = machines.find(session, visit.person, customer_id=found.id)
    visits = customer_jobs.listing(session, visit.person, found.id)
    given = kept.given(session, visit.person, found.id) if may.tell else ()
    phone = (found.phone or "") if may.reach else ""
    return CustomerPage(
        title=called(found),
        customer=found.id,
        phone=phone,
        dial=dial(phone),
        contact=tuple(contact(found)) if may.reach else (),
        machines=tuple(own_machine(one, found, visit.person) for one in own),
        jobs=tuple(line_of(one) for one in visits),
        erased=moment(found.erased_at) if found.erased_at else "",
        emptied=emptied(session, visit, found),
        asked=day(found.erasure_asked_at) if found.erasure_asked_at and not found.erased_at else "",
        given=tuple(kept_words.given(one.way, moment(one.at)) for one in given),
        may=may,
    )


def called(found: CustomerView) -> str:
    """The name, or that it was erased."""
    return found.name or _("Erased customer {number}").format(number=found.id)


def may_of(found: CustomerView, actor: Actor) -> May:
    """What the person may do, of what can still be done."""
    stands = found.erased_at is None
    return May(
        reach=stands and allowed(actor, "customers.write"),
        change=stands and allowed(actor, "customers.write"),
        tell=allowed(actor, "customers.tell"),
        erase=stands and allowed(actor, "customers.erase"),
    )


def contact(found: CustomerView) -> Iterator[Fact]:
    """How to reach the customer, and what is noted of them."""
    yield Fact(_("Address"), or_not_stated(found.address))
    yield Fact(_("Mail"), or_not_stated(found.email))
    if found.note:
        yield Fact(_("Note"), found.note)
    yield Fact(_("On record since"), day(found.created_at))


def own_machine(one: MachineView, found: CustomerView, actor: Actor) -> OwnMachine:
    """A machine, and the way to take it in once more."""
    plate = one.plate or (_("plate erased") if found.erased_at else "")
    taken = {"customer_id": str(found.id), "machine_id": str(one.id)}
    may = found.erased_at is None and allowed(actor, "jobs.check_in")
    return OwnMachine(
        name=machine_name(one),
        beside=" · ".join(filter(None, [plate, one.frame_number])),
        check_in=path_to("check_in_form", taken) if may else "",
    )


def line_of(one: CustomerJob) -> JobLine:
    """A job in words."""
    machine = words.machine(one.make, one.model, one.year)
    return JobLine(one.number, machine, words.status(one.status), day(one.received_at))


def emptied(session: Session, visit: Visit, found: CustomerView) -> tuple[Fact, ...]:
    """What was emptied when the customer was erased, and why; for who may erase."""
    if found.erased_at is None or not allowed(visit.person, "customers.erase"):
        return ()
    said = kept.erased_with(session, visit.person, found.id)
    counts = [(name, said[name]) for name in EMPTIED if said.get(name)]
    return (
        Fact(_("Reason"), str(said.get("reason", ""))),
        *(Fact(capital(event_facts.label(name)), str(count)) for name, count in counts),
    )


def capital(label: str) -> str:
    """The label at the beginning of a line."""
    return label[:1].upper() + label[1:]


def values_of(found: CustomerView) -> dict[str, str]:
    """What is on record, as values of the form."""
    return {name: getattr(found, name) or "" for name in PERSONAL}


def change_page(found: CustomerView, state: FormState, seen: str) -> CustomerChangePage:
    """The form."""
    return CustomerChangePage(
        title=_("Put right what is kept"),
        form=state,
        customer=found.id,
        name=called(found),
        seen=seen,
    )
