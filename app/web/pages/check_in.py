"""Check-in: the desk's one form for customer, machine, claim and what happened."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.schemas.check_in import IMPACT_KINDS
from app.services import check_in as checking_in
from app.services import customers, insurers, machines
from app.services.customers import CustomerView
from app.services.machines import MachineView
from app.web.again import shown_again
from app.web.database import Read, Write
from app.web.door import pages
from app.web.form_state import FormState, Option
from app.web.forms import Form, Sent, Value, nested
from app.web.pages.words import machine_name
from app.web.rendering import Page, see, show
from app.web.visits import Here, Visit
from app.wording import jobs as words
from app.wording.translation import _

LISTS = ("visible_damage", "belongings")
ODOMETER = "odometer_km"
GROUPS = ("customer", "machine", "rideable")
"""What an error may speak of as a whole."""
MOST_FOUND = 8


@dataclass(frozen=True, slots=True)
class Known:
    """A customer with one of their machines, or without, to be taken over."""

    customer_id: int
    machine_id: int | None
    label: str


@dataclass(frozen=True, kw_only=True)
class CheckInPage(Page):
    template: ClassVar[str] = "pages/check_in.html"
    known: tuple[Known, ...]
    sought: str
    customer: CustomerView | None
    machine: str
    insurers: tuple[Option, ...]
    impacts: tuple[Option, ...]
    clock: tuple[Option, ...]
    rideable: tuple[Option, ...]


@pages.add("GET", "/check-in", "jobs.check_in")
def check_in_form(request: Request, visit: Here, session: Read) -> Response:
    """The empty form; with a known customer or machine filled in when one was chosen."""
    chosen = {
        name: request.query_params.get(name, "")[:20] for name in ("customer_id", "machine_id")
    }
    sought = request.query_params.get("find", "")[:200].strip()
    values = {"rideable": "not_tried", "incident.impact_kind": "unknown", **chosen}
    return show(request, visit, page_for(session, visit, FormState(values), sought))


@pages.add("POST", "/check-in", "jobs.check_in")
def check_in(request: Request, visit: Here, session: Write, form: Sent) -> Response:
    """Takes the machine in, or shows the form again with everything that is wrong."""

    def again(state: FormState) -> Page:
        return page_for(session, visit, state, "")

    with shown_again(request, visit, form.values(), again, GROUPS):
        done = checking_in.check_in(session, visit.person, sent_check_in(form), visit.now)
    return see("job", number=done.job_number)


def sent_check_in(form: Form) -> dict[str, Value]:
    """The form as the schema has it: lists one a line, an insurer only when one was named."""
    sent = nested((name, value) for name, value in form.fields if name not in LISTS)
    if form.text(ODOMETER):
        sent[ODOMETER] = without_spaces(form.text(ODOMETER))
    for name in LISTS:
        lines: list[Value] = [line.strip() for line in form.text(name).split("\n") if line.strip()]
        sent[name] = lines
    claim = sent.get("claim")
    if isinstance(claim, dict) and not form.text("claim.insurer.name"):
        claim.pop("insurer", None)
    for known, group in (("customer_id", "customer"), ("machine_id", "machine")):
        if form.text(known):
            sent.pop(group, None)
    return {name: value for name, value in sent.items() if name != "form_token"}


def without_spaces(digits: str) -> str:
    """A reading as one writes it, `12 345`, without the spaces of any width between its digits."""
    return "".join(digits.split())


def page_for(session: Session, visit: Visit, state: FormState, sought: str) -> CheckInPage:
    """The page with all its lists."""
    customer, machine = chosen_ones(session, visit, state)
    return CheckInPage(
        title=_("Check a machine in"),
        form=state,
        known=found(session, visit, sought) if sought else (),
        sought=sought,
        customer=customer,
        machine=machine_name(machine) if machine else "",
        insurers=insurer_options(session, visit),
        impacts=tuple(Option(code, words.impact(code)) for code in IMPACT_KINDS),
        clock=clock_options(),
        rideable=tuple(Option(code, words.rideable(code)) for code in words.RIDEABLE),
    )


def chosen_ones(
    session: Session, visit: Visit, state: FormState
) -> tuple[CustomerView | None, MachineView | None]:
    """The known customer and machine that the form names by their ids."""
    customer, machine = state.value("customer_id"), state.value("machine_id")
    return (
        customers.read(session, visit.person, int(customer)) if customer.isdecimal() else None,
        machines.read(session, visit.person, int(machine)) if machine.isdecimal() else None,
    )


def found(session: Session, visit: Visit, sought: str) -> tuple[Known, ...]:
    """Customers and machines that the shop knows already."""
    people = customers.find(session, visit.person, sought, limit=MOST_FOUND)
    theirs = machines.find(session, visit.person, sought, limit=MOST_FOUND)
    return (
        *(Known(one.customer_id, one.id, machine_label(one)) for one in theirs),
        *(
            Known(one.id, None, _("{name}, with another machine").format(name=one.name))
            for one in people
            if one.name
        ),
    )


def machine_label(machine: MachineView) -> str:
    """A machine with what tells it from others."""
    marks = [mark for mark in (machine.plate, machine.frame_number) if mark]
    return ", ".join([machine_name(machine), *marks])


def insurer_options(session: Session, visit: Visit) -> tuple[Option, ...]:
    """The insurers that the shop knows."""
    known = insurers.find(session, visit.person, limit=500)
    return (
        Option("", _("none, or a new one")),
        *(Option(str(one.id), one.name) for one in known),
    )


def clock_options() -> tuple[Option, ...]:
    """Directions of an impact, seen from above."""
    places = {
        12: _("from ahead"),
        3: _("from the right"),
        6: _("from behind"),
        9: _("from the left"),
    }
    hours = [12, *range(1, 12)]
    return (
        Option("", _("not known")),
        *(
            Option(str(hour), f"{hour} ({places[hour]})" if hour in places else str(hour))
            for hour in hours
        ),
    )
