"""Check-in: the desk's one form for customer, machine, claim and what happened."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from typing import ClassVar

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.errors import JigbookError
from app.records.session import Database
from app.schemas.check_in import IMPACT_KINDS
from app.schemas.damage import LOOKS, SIDES, ZONES
from app.schemas.photo import MOST_AT_ONCE
from app.services import check_in as checking_in
from app.services import customers, insurers, machines, photos, places, shop
from app.services.customers import CustomerView
from app.services.machines import MachineView
from app.services.recognising import Typed, is_enough
from app.web.again import shown_again
from app.web.database import Read, Records
from app.web.door import pages
from app.web.form_state import FieldError, FormState, Option
from app.web.forms import Form, Sent
from app.web.pages.arrival import query_of
from app.web.pages.check_in_form import (
    clock_options,
    coming_days,
    past_days,
    sent_check_in,
)
from app.web.pages.job_desk import others_of
from app.web.pages.recognised import Known, known_of, more_of, typed_of
from app.web.pages.words import machine_name
from app.web.rendering import Link, Page, see, show
from app.web.sent_photos import FIELD, prepared_one_by_one
from app.web.visits import Here, Visit
from app.wording import damage as damage_words
from app.wording import frame_numbers, orders
from app.wording import jobs as words
from app.wording.translation import _

GROUPS = ("customer", "machine", "rideable", "visible_damage", "belongings", "promised_on")
"""What an error may speak of as a whole, or in a field that a choice stands for."""
FRAME_NUMBER = "machine.frame_number"
MOST_MEGABYTES = 20
"""Of the photos in the form together; a little less than what a request may hold."""


@dataclass(frozen=True, slots=True)
class Choices:
    """The lists to choose from."""

    insurers: tuple[Option, ...]
    places: tuple[Option, ...]
    impacts: tuple[Option, ...]
    clock: tuple[Option, ...]
    rideable: tuple[Option, ...]
    zones: tuple[Option, ...]
    sides: tuple[Option, ...]
    looks: tuple[Option, ...]
    kept: tuple[Option, ...]
    orders: tuple[Option, ...]
    past: tuple[Option, ...]
    coming: tuple[Option, ...]


@dataclass(frozen=True, kw_only=True)
class CheckInPage(Page):
    template: ClassVar[str] = "pages/check_in.html"
    known: tuple[Known, ...]
    more: str = ""
    """How many others fit; empty where none do."""
    looked: bool
    too_little: bool
    """Too little was typed to look anybody up by it."""
    customer: CustomerView | None
    machine: str
    others: tuple[Link, ...]
    """Jobs of the known machine."""
    frame_said: tuple[str, ...]
    carried: tuple[Option, ...]
    """What was typed for a customer or machine before a known one was taken instead."""
    choices: Choices
    notice: tuple[str, ...]
    photos_gone: bool
    """Photos were chosen, and the browser has to be told of them again."""
    gone_told: str
    most_photos: int
    most_megabytes: int


@pages.add("GET", "/check-in", "jobs.check_in")
def check_in_form(request: Request, visit: Here, session: Read) -> Response:
    """The empty form; with a known customer or machine filled in when one was chosen."""
    chosen = {
        name: request.query_params.get(name, "")[:20] for name in ("customer_id", "machine_id")
    }
    values = {"rideable": "not_tried", "incident.impact_kind": "unknown", "order": "measure"}
    return show(request, visit, page_for(session, visit, FormState({**values, **chosen})))


@pages.add("POST", "/check-in/look-up", "jobs.check_in")
def look_up(request: Request, visit: Here, session: Read, form: Sent) -> Response:
    """The same form with all that was typed, and with who and what is known of it; or with the
    known customer that was taken from that list. Nothing is written."""
    state = FormState(with_taken(form.values()))
    page = page_for(session, visit, state, form.all("kept"))
    if not form.text("take"):
        typed = typed_of(form.values())
        known = known_of(session, visit, typed)
        more = more_of(session, visit, typed)
        page = replace(page, known=known, more=more, looked=True, too_little=not is_enough(typed))
    return show(request, visit, page)


@pages.add("POST", "/check-in", "jobs.check_in")
def check_in(request: Request, visit: Here, database: Records, form: Sent) -> Response:
    """Takes the machine in, or shows the form again with everything that is wrong.

    Photos that came with it are looked at afterwards: none of them can undo the check-in.
    """

    def again(state: FormState) -> Page:
        gone = bool(form.files_of(FIELD))
        told = FieldError(FIELD, photos_gone(), FIELD)
        state = replace(state, errors=(*state.errors, told)) if gone else state
        with database.read() as session:
            page = page_for(session, visit, state, form.all("kept"))
            known = owners_of(session, visit, state)
        return replace(page, photos_gone=gone, known=known)

    with shown_again(request, visit, form.values(), again, GROUPS), database.write() as session:
        done = checking_in.check_in(session, visit.person, sent_check_in(form), visit.now)
    left_out = keep_photos(request, visit, database, form, done.job_number)
    # Who gave the order without signing has nothing to sign now; the notice can wait.
    first = "photos" if left_out or form.text("authorised_by") else "order_form"
    return see(first, query_of(left_out), number=done.job_number)


def owners_of(session: Session, visit: Visit, state: FormState) -> tuple[Known, ...]:
    """Whose the machine is by the records, where its frame number is refused for that."""
    if not state.messages(FRAME_NUMBER):
        return ()
    return known_of(session, visit, Typed(frame_number=state.value(FRAME_NUMBER)))


def photos_gone() -> str:
    """What is said where photos were chosen and the page is shown again."""
    return _(
        "Choose the photos once more: a browser does not keep them when a page is shown again."
    )


def keep_photos(
    request: Request, visit: Visit, database: Database, form: Form, number: str
) -> tuple[int, ...]:
    """Keeps the photos that can be kept; gives the places of the others in what was chosen."""
    prepared, left_out = prepared_one_by_one(request, form)
    if not prepared:
        return left_out
    try:
        with database.write() as session:
            photos.add_all(session, visit.person, number, prepared, None, None, visit.now)
    except JigbookError:
        return tuple(range(1, len(form.files_of(FIELD)) + 1))
    return left_out


def with_taken(values: dict[str, str]) -> dict[str, str]:
    """The values with the customer and machine that were taken, as `customer-machine`.

    A machine alone changes hands to whoever the form names; a bare dash is for somebody else.
    """
    if "take" not in values:
        return values
    customer, _dash, machine = values["take"][:40].partition("-")
    if machine and not customer:
        customer = values.get("customer_id", "")
    return {**values, "customer_id": customer, "machine_id": machine}


def page_for(
    session: Session, visit: Visit, state: FormState, kept: Iterable[str] = ()
) -> CheckInPage:
    """The page with all its lists."""
    customer, machine = chosen_ones(session, visit, state)
    typed = state.value(FRAME_NUMBER)
    keeper = shop.read(session, visit.person)
    return CheckInPage(
        title=_("Check a machine in"),
        form=state,
        known=(),
        looked=False,
        too_little=False,
        customer=customer,
        machine=machine_name(machine) if machine else "",
        others=others_of(session, visit.person, machine.id) if machine else (),
        frame_said=said_of_known(machine) if machine else frame_numbers.explained(typed),
        carried=carried(state, customer is not None, machine is not None),
        choices=choices(session, visit, frozenset(kept)),
        notice=orders.notice(keeper.name, keeper.privacy_notice),
        photos_gone=bool(state.value(FIELD)),
        gone_told=photos_gone(),
        most_photos=MOST_AT_ONCE,
        most_megabytes=MOST_MEGABYTES,
    )


def said_of_known(machine: MachineView) -> tuple[str, ...]:
    """What the check says of a number on record, and where that is changed."""
    said = frame_numbers.explained(machine.frame_number)
    if not machine.frame_number_warnings:
        return said
    return (*said, _("Is it wrong? The page that follows check-in leads to where it is changed."))


def carried(state: FormState, customer: bool, machine: bool) -> tuple[Option, ...]:
    """Fields that the page does not show while a known one stands in their place."""
    groups = [name for name, known in (("customer.", customer), ("machine.", machine)) if known]
    return tuple(
        Option(value, name)
        for name, value in state.values.items()
        if value and name.startswith(tuple(groups))
    )


def chosen_ones(
    session: Session, visit: Visit, state: FormState
) -> tuple[CustomerView | None, MachineView | None]:
    """The known customer and machine that the form names by their ids."""
    customer, machine = state.value("customer_id"), state.value("machine_id")
    return (
        customers.read(session, visit.person, int(customer)) if is_id(customer) else None,
        machines.read(session, visit.person, int(machine)) if is_id(machine) else None,
    )


def is_id(text: str) -> bool:
    """Whether the text can be the id of a record."""
    return text.isascii() and text.isdecimal()


def choices(
    session: Session,
    visit: Visit,
    kept: frozenset[str],
    happened: date | None = None,
    promised: date | None = None,
) -> Choices:
    """All lists of the form; the days on record are among the days to choose from."""
    today = visit.today
    return Choices(
        insurers=insurer_options(session, visit),
        places=place_options(session, visit),
        impacts=tuple(Option(code, words.impact(code)) for code in IMPACT_KINDS),
        clock=clock_options(),
        rideable=tuple(Option(code, words.rideable(code)) for code in words.RIDEABLE),
        zones=tuple(Option(code, damage_words.zone(code)) for code in ZONES),
        sides=(
            Option("", _("which side")),
            *(Option(code, damage_words.side(code)) for code in SIDES),
        ),
        looks=(
            Option("", _("how it looks")),
            *(Option(code, damage_words.look(code)) for code in LOOKS),
        ),
        kept=tuple(Option(one, one, one in kept) for one in orders.belongings()),
        orders=tuple(Option(code, orders.scope(code)) for code in orders.SCOPES),
        past=past_days(today, happened),
        coming=coming_days(today, promised),
    )


def insurer_options(session: Session, visit: Visit) -> tuple[Option, ...]:
    """The insurers that the shop knows."""
    known = insurers.find(session, visit.person, limit=500)
    return (
        Option("", _("none, or a new one")),
        *(Option(str(one.id), one.name) for one in known),
    )


def place_options(session: Session, visit: Visit) -> tuple[Option, ...]:
    """Where machines were put lately."""
    lately = checking_in.storage_places(session, visit.person)
    taken = places.taken(session, visit.person)
    return (
        Option("", _("not said, or another place")),
        *(Option(one, place_words(one, taken.get(one.casefold(), ()))) for one in lately),
    )


def place_words(place: str, taken: tuple[str, ...]) -> str:
    """A place, and which jobs' machines stand there by the records."""
    told = _("{place} (taken: {jobs})")
    return told.format(place=place, jobs=", ".join(taken)) if taken else place
