"""What is kept about a customer: one page to be printed and handed over, and the same as a file."""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.services import customers, kept, shop
from app.services.claim_access import KEPT as USES_KEPT
from app.services.customers import CustomerView
from app.services.erasing import StillNamed
from app.services.idempotency import KEPT_FOR as ANSWERS_KEPT
from app.services.kept import WAYS, Kept, KeptJob, KeptValue
from app.services.kept_document import document
from app.services.machines import MachineView
from app.services.shop import ShopView
from app.web.again import shown_again
from app.web.database import Read, Write
from app.web.door import pages
from app.web.form_state import FormState, Option
from app.web.forms import Sent
from app.web.pages.customer import ONE, called
from app.web.pages.download import attachment
from app.web.pages.kept_job import facts_of_job
from app.web.pages.words import Fact, machine_name, or_not_stated
from app.web.rendering import Page, see_saved, show
from app.web.visits import Here, Visit
from app.wording import event_facts, events, orders
from app.wording import kept as words
from app.wording.erasing import still_named
from app.wording.moments import day, moment
from app.wording.translation import _


@dataclass(frozen=True, slots=True)
class Part:
    """A part of a group, with its own heading where there are several."""

    title: str
    facts: tuple[Fact, ...]


@dataclass(frozen=True, slots=True)
class Group:
    title: str
    why: str
    """What the shop keeps it for."""
    parts: tuple[Part, ...]


@dataclass(frozen=True, kw_only=True)
class KeptPage(Page):
    template: ClassVar[str] = "pages/kept.html"
    customer: int
    name: str
    shop: tuple[str, ...]
    """Name, then lines of address, then how to reach it."""
    made: str
    groups: tuple[Group, ...]
    how_long: tuple[str, ...]
    notice: tuple[str, ...]
    """The notice on personal data that stands now."""
    ways: tuple[Option, ...]
    given: tuple[str, ...]


@pages.add("GET", ONE + "/kept", "customers.tell")
def what_is_kept(request: Request, visit: Here, session: Read, customer: int) -> Response:
    """All that is kept about this customer."""
    return show(request, visit, page_for(session, visit, customer, FormState()))


@pages.add("GET", ONE + "/kept.json", "customers.tell")
def kept_as_file(visit: Here, session: Read, customer: int) -> Response:
    """The same as data."""
    found = kept.read(session, visit.person, customer, visit.now)
    keeper = shop.read(session, visit.person)
    told = json.dumps(document(found, keeper.name, visit.now), ensure_ascii=False, indent=1)
    return attachment(told.encode(), "application/json", f"kept-{customer}.json")


@pages.add("POST", ONE + "/kept", "customers.tell")
def give_what_is_kept(
    request: Request, visit: Here, session: Write, form: Sent, customer: int
) -> Response:
    """Notes that it was given to the customer."""

    def again(state: FormState) -> Page:
        return page_for(session, visit, customer, state)

    with shown_again(request, visit, form.values(), again, ("way",)):
        kept.give(session, visit.person, customer, form.text("way"), visit.now)
    return see_saved(request, "what_is_kept", customer=customer)


def page_for(session: Session, visit: Visit, customer: int, state: FormState) -> KeptPage:
    """All of it in words."""
    found = kept.read(session, visit.person, customer, visit.now)
    keeper = shop.read(session, visit.person)
    given = kept.given(session, visit.person, customer)
    name = called(customers.read(session, visit.person, customer))
    return KeptPage(
        title=_("What is kept about {name}").format(name=name),
        form=state,
        customer=customer,
        name=name,
        shop=lines_of(keeper),
        made=moment(visit.now),
        groups=tuple(groups(found)),
        how_long=words.how_long(USES_KEPT.days, ANSWERS_KEPT.days),
        notice=orders.notice(keeper.name, keeper.privacy_notice),
        ways=tuple(Option(way, _(event_facts.GIVEN[way])) for way in WAYS),
        given=tuple(words.given(one.way, moment(one.at)) for one in given),
    )


def lines_of(keeper: ShopView) -> tuple[str, ...]:
    """Who keeps it, and how they are asked."""
    lines = [keeper.name, *keeper.address.splitlines(), keeper.phone, keeper.email]
    return tuple(filter(None, lines))


def groups(found: Kept) -> Iterator[Group]:
    """What is kept, by what it is kept for."""
    yield Group(*words.group("reach"), (Part("", tuple(reach(found.customer))),))
    if found.machines:
        yield Group(*words.group("machines"), tuple(machine(one) for one in found.machines))
    if found.jobs:
        yield Group(*words.group("jobs"), tuple(visited(one) for one in found.jobs))
    if found.named:
        yield Group(*words.group("named"), (Part("", tuple(map(named, found.named))),))
    if found.log:
        yield Group(*words.group("log"), (Part("", tuple(logged(found.log))),))


def reach(found: CustomerView) -> Iterator[Fact]:
    """Name and how to reach the customer."""
    if found.erased_at is not None:
        yield Fact(_("Name, address, telephone, mail"), erased_on(moment(found.erased_at)))
        return
    yield Fact(_("Name"), found.name or "")
    yield Fact(_("Address"), or_not_stated(found.address))
    yield Fact(_("Telephone"), or_not_stated(found.phone))
    yield Fact(_("Mail"), or_not_stated(found.email))
    yield Fact(_("Note"), found.note or _("none"))
    yield Fact(_("On record since"), day(found.created_at))
    if found.erasure_asked_at is not None:
        yield Fact(_("Asked to be erased"), day(found.erasure_asked_at))


def erased_on(when: str) -> str:
    """That it was erased, and when."""
    return _("erased, {moment}").format(moment=when)


def machine(one: MachineView) -> Part:
    """A machine."""
    told = (
        (_("Plate"), one.plate),
        (_("Frame number"), one.frame_number),
        (_("Colour"), one.colour),
        (_("Note"), one.note),
    )
    return Part(machine_name(one), tuple(Fact(label, value) for label, value in told if value))


def visited(one: KeptJob) -> Part:
    """A job."""
    title = _("Job {number}, received {day}").format(
        number=one.job.number, day=day(one.job.received_at)
    )
    return Part(title, tuple(facts_of_job(one)))


def named(one: StillNamed) -> Fact:
    """A text that names the customer, or may."""
    return Fact(f"{one.job}, {still_named(one.kind)}", one.text)


def logged(found: tuple[KeptValue, ...]) -> Iterator[Fact]:
    """The values beside the events, event by event."""
    moments: dict[tuple[str, str], list[str]] = {}
    for one in found:
        label, value = event_facts.label(one.name), event_facts.value(one.name, one.value, {})
        told = _("{label}: {value}").format(label=label, value=value)
        moments.setdefault((moment(one.at), events.what(one.what)), []).append(told)
    for (when, what), told_then in moments.items():
        yield Fact(when, f"{what}. " + "; ".join(told_then))
