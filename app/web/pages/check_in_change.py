"""The check-in put right afterwards: the same fields as they stand on record, to be changed."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import ClassVar

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.errors import BadInput, Problem
from app.services import check_in_changes, jobs, signatures
from app.services.jobs import JobView
from app.web.again import shown_again
from app.web.database import Read, Write
from app.web.door import pages
from app.web.form_state import FormState, Option
from app.web.forms import Form, Sent, Value
from app.web.pages.arrival import on_the_way
from app.web.pages.check_in import Choices, choices
from app.web.pages.check_in_form import sent_check_in
from app.web.pages.words import Fact, machine_name
from app.web.rendering import Page, see, see_saved, show
from app.web.visits import Here, Visit
from app.wording import orders
from app.wording.translation import _

GROUPS = ("customer", "visible_damage", "belongings", "authorised_scope")
CONTACT = ("name", "phone", "address", "email")
CLAIM = ("claim_number", "policy_number", "adjuster", "adjuster_phone", "adjuster_email")
VERSION = "version"
ORDER, SCOPE, OTHERWISE = "order", "authorised_scope", "otherwise"


@dataclass(frozen=True, kw_only=True)
class CheckInChangePage(Page):
    template: ClassVar[str] = "pages/check_in_change.html"
    number: str
    machine: str
    version: str
    choices: Choices
    orders: tuple[Option, ...]
    signed: bool
    """The customer has signed for what stood there."""
    meanwhile: tuple[Fact, ...]
    """What is on record by now and differs from what was typed, after somebody else's change."""
    stale: bool
    way: dict[str, str]
    """The way that follows a check-in, to lead back to it; empty elsewhere."""


@pages.add("GET", "/jobs/{number}/check-in", "jobs.check_in")
def check_in_change_form(request: Request, visit: Here, session: Read, number: str) -> Response:
    """The check-in as it stands."""
    job = check_in_changes.read(session, visit.person, number)
    page = page_for(session, visit, job, FormState(values_of(job)))
    return show(request, visit, replace(page, way=on_the_way(request.query_params)))


@pages.add("POST", "/jobs/{number}/check-in", "jobs.check_in")
def change_check_in(
    request: Request, visit: Here, session: Write, form: Sent, number: str
) -> Response:
    """Puts what was sent in place of what stood there, unless somebody else was quicker."""
    job = jobs.read(session, visit.person, number)
    stale = form.text(VERSION) != job.check_in_version
    way = on_the_way(form.values())

    def again(state: FormState) -> Page:
        page = page_for(session, visit, job, state)
        found = differing(job, state.values, page.choices) if stale else ()
        return replace(page, meanwhile=found, stale=stale, way=way)

    with shown_again(request, visit, form.values(), again, GROUPS):
        sent = sent_change(form)
        check_in_changes.change(session, visit.person, number, sent, visit.now)
    if way:
        return see("order_form", way, number=number)
    return see_saved(request, "job", number=number)


def sent_change(form: Form) -> dict[str, Value]:
    """The form as the schema has it."""
    sent = sent_check_in(form)
    sent[VERSION] = form.text(VERSION)
    if form.text(ORDER) in orders.SCOPES:
        sent[SCOPE] = orders.scope(form.text(ORDER))
    elif form.text(ORDER) == OTHERWISE and not form.text(SCOPE):
        raise BadInput([Problem("text_empty", SCOPE)], "text_empty")
    return sent


def order_options() -> tuple[Option, ...]:
    """What may be ordered."""
    usual = tuple(Option(code, orders.scope(code)) for code in orders.SCOPES)
    return (*usual, Option(OTHERWISE, _("otherwise, in these words:")))


def page_for(session: Session, visit: Visit, job: JobView, state: FormState) -> CheckInChangePage:
    """The page with all its lists."""
    return CheckInChangePage(
        title=_("Change the check-in"),
        form=state,
        number=job.number,
        machine=machine_name(job.machine),
        version=job.check_in_version,
        choices=choices(session, visit, frozenset(), job.incident.happened_on, job.promised_on),
        orders=order_options(),
        signed="authorisation" in signatures.standing(session, visit.person, job.number),
        meanwhile=(),
        stale=False,
        way={},
    )


def values_of(job: JobView) -> dict[str, str]:
    """What is on record, as values of the form."""
    incident = job.incident
    values = {f"customer.{name}": getattr(job.customer, name) for name in CONTACT}
    values |= {f"claim.{name}": getattr(job.claim, name) for name in CLAIM}
    values |= {
        "claim.insurer_id": job.claim.insurer_id,
        "machine.plate": job.machine.plate,
        "machine.colour": job.machine.colour,
        "odometer_km": job.odometer_km,
        "rideable": job.rideable,
        "happened": incident.happened_on,
        "incident.impact_kind": incident.impact_kind,
        "incident.clock_direction": incident.clock_direction,
        "incident.account": incident.account,
        "belongings": "\n".join(job.belongings),
        "storage_place": job.storage_place,
        "promised": job.promised_on,
        **order_values(job.authorised_scope or ""),
        **damage_values(job),
    }
    return {name: "" if value is None else str(value) for name, value in values.items()}


def order_values(ordered: str) -> dict[str, str]:
    """What is ordered, as the choice that says it or in words."""
    code = orders.scope_code(ordered)
    return {ORDER: code or (OTHERWISE if ordered else ""), SCOPE: "" if code else ordered}


def damage_values(job: JobView) -> dict[str, str | None]:
    """Damage by zone; what the form has no place for, such as a zone told twice, as lines."""
    values: dict[str, str | None] = {}
    lines = list(job.visible_damage[len(job.damage) :])
    for one in job.damage:
        name = f"damage.{one.zone}"
        if f"{name}.seen" in values:
            lines.append(one.line)
            continue
        values |= {
            f"{name}.seen": "1",
            f"{name}.side": one.side,
            f"{name}.look": one.look,
            f"{name}.note": one.note,
        }
    return {**values, "visible_damage": "\n".join(lines)}


def differing(job: JobView, typed: Mapping[str, str], lists: Choices) -> tuple[Fact, ...]:
    """What is on record by now where the form says something else."""
    mine, standing = told(typed, lists), told(values_of(job), lists)
    return tuple(
        Fact(label, said or _("nothing")) for label, said in standing.items() if said != mine[label]
    )


def told(values: Mapping[str, str], lists: Choices) -> dict[str, str]:
    """What the form says, by the labels of its fields, chosen things in words."""
    found = {label: in_one_line(values.get(name, "")) for name, label in typed_fields()}
    for name, typed, label, options in (
        ("happened", "incident.happened_on", _("On which day"), lists.past),
        ("promised", "promised_on", _("Promised for"), lists.coming),
    ):
        found[label] = day_told(values.get(typed, "") or values.get(name, ""), options)
    for name, label, options in (
        ("claim.insurer_id", _("Insurer"), lists.insurers),
        ("incident.impact_kind", _("Kind of impact"), lists.impacts),
        ("incident.clock_direction", _("Where it came from"), ()),
        ("rideable", _("Can it be ridden?"), lists.rideable),
        (ORDER, _("What is ordered"), order_options()),
    ):
        value = values.get(name, "")
        found[label] = next((one.label for one in options if one.value == value), value)
    found[_("Visible damage")] = "; ".join(
        " ".join(filter(None, [zone.label, *parts_of(values, f"damage.{zone.value}", lists)]))
        for zone in lists.zones
        if parts_of(values, f"damage.{zone.value}", lists)
        or values.get(f"damage.{zone.value}.seen")
    )
    return found


def day_told(value: str, options: tuple[Option, ...]) -> str:
    """A day as the form tells it, chosen or typed."""
    return next((one.label for one in options if one.value == value), value) if value else ""


def in_one_line(text: str) -> str:
    """The lines of a field, one after the other."""
    return "; ".join(line.strip() for line in text.split("\n") if line.strip())


def parts_of(values: Mapping[str, str], name: str, lists: Choices) -> list[str]:
    """Side and look of a zone in words."""
    pairs = ((f"{name}.side", lists.sides), (f"{name}.look", lists.looks))
    return [
        one.label
        for part, options in pairs
        for one in options
        if one.value and one.value == values.get(part)
    ]


def typed_fields() -> tuple[tuple[str, str], ...]:
    """What the page calls the fields that are typed."""
    return (
        ("customer.name", _("Name")),
        ("customer.phone", _("Telephone")),
        ("customer.address", _("Address")),
        ("customer.email", _("Mail")),
        ("machine.plate", _("Plate")),
        ("machine.colour", _("Colour")),
        ("odometer_km", _("Odometer, km")),
        ("claim.claim_number", _("Claim number")),
        ("claim.policy_number", _("Policy number")),
        ("claim.adjuster", _("Adjuster")),
        ("claim.adjuster_phone", _("Adjuster's telephone")),
        ("claim.adjuster_email", _("Adjuster's mail")),
        ("incident.account", _("As the customer tells it")),
        ("visible_damage", _("Other damage, in words")),
        ("belongings", _("Left with the machine")),
        ("storage_place", _("Where it stands")),
        (SCOPE, _("In words")),
    )
