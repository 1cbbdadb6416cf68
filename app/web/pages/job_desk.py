"""What the desk keeps of a job, as lines of its page: order and signature, calls, card."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from sqlalchemy.orm import Session

from app.schemas.damage import ZONES
from app.schemas.photo import about_zone
from app.services import machine_changes, notes, signatures
from app.services.jobs import JobView
from app.services.permissions import Actor, allowed
from app.web.form_state import Option
from app.web.pages.machine_change import change_facts, outdated
from app.web.pages.order import how_signed
from app.web.pages.road import NextStep
from app.web.pages.words import Fact
from app.web.routes import path_to
from app.wording import calls as call_words
from app.wording import damage as damage_words
from app.wording.translation import _, counted


@dataclass(frozen=True, slots=True)
class DeskLine:
    """One thing that the desk keeps, and where."""

    label: str
    said: str
    href: str
    """Empty where the person has nothing to do there."""
    open: bool = False
    """It is still to be done."""


@dataclass(frozen=True, slots=True)
class DamageLine:
    """Damage as the desk saw it, with the place for its photos."""

    said: str
    photos: str
    """Address; empty for what lies in no zone."""


@dataclass(frozen=True, slots=True)
class Damage:
    """What was damaged when the machine came in."""

    zones: tuple[Option, ...]
    hit: tuple[str, ...]
    lines: tuple[DamageLine, ...]


def damage_of(job: JobView) -> Damage:
    """The damage by zone, then what was told otherwise."""
    by_zone = tuple(
        DamageLine(one.line, path_to("photos", {"about": about_zone(one.zone)}, number=job.number))
        for one in job.damage
    )
    others = tuple(DamageLine(line, "") for line in job.visible_damage[len(by_zone) :])
    return Damage(
        zones=tuple(Option(code, damage_words.zone(code)) for code in ZONES),
        hit=tuple(one.zone for one in job.damage),
        lines=by_zone + others,
    )


@dataclass(frozen=True, slots=True)
class Desk:
    """The lines, and what is next for a person who may do nothing on the road."""

    lines: tuple[DeskLine, ...] = ()
    next: NextStep | None = None
    changes: tuple[Fact, ...] = ()
    """What was put right of the machine."""
    outdated: tuple[str, ...] = ()
    """Certificates that say what stood there before."""


def desk_of(session: Session, actor: Actor, job: JobView, on: date) -> Desk:
    """The desk's part of a job's page."""
    lines = tuple(_lines(session, actor, job, on))
    order = next((line for line in lines if line.open and line.href.endswith("/order")), None)
    found = machine_changes.listing(session, actor, job.number)
    first = _sign_first(order) if order else None
    return Desk(lines, first, change_facts(found), outdated(job, found))


def _sign_first(order: DeskLine) -> NextStep:
    why = _("The customer reads what is left here and what is ordered, and signs for it.")
    return NextStep(_("Have the order signed"), why, _("Sign"), order.href)


def _lines(session: Session, actor: Actor, job: JobView, on: date) -> Iterator[DeskLine]:
    number = job.number
    yield _order(session, actor, job) if allowed(actor, "signatures.write") else _order_seen(job)
    if allowed(actor, "jobs.note"):
        yield _notes(session, actor, number, on)
    if allowed(actor, "jobs.check_in") and not job.closed and job.customer.erased_at is None:
        change = path_to("check_in_change_form", number=number)
        yield DeskLine(_("Check-in"), _("to be changed, where something was noted wrong"), change)
        machine = path_to("machine_change_form", number=number)
        yield DeskLine(_("Machine"), _("to be put right, with a reason"), machine)
    yield DeskLine(_("Job card"), _("one sheet, to be printed"), path_to("job_card", number=number))


def _order(session: Session, actor: Actor, job: JobView) -> DeskLine:
    found = signatures.standing(session, actor, job.number).get("authorisation")
    href = path_to("order_form", number=job.number)
    if found is not None:
        return DeskLine(_("Order"), how_signed(found), href)
    if job.authorised_at:
        name = job.authorised_by or _("erased")
        given = _("given by {name}, not signed").format(name=name)
        return DeskLine(_("Order"), given, href)
    return DeskLine(_("Order"), _("not signed yet"), href, open=not job.closed)


def _order_seen(job: JobView) -> DeskLine:
    """For those who have nobody sign: whether the machine may be inspected."""
    if job.authorised_at:
        name = job.authorised_by or _("erased")
        return DeskLine(_("Order"), _("given by {name}").format(name=name), "")
    return DeskLine(_("Order"), _("not signed yet; the desk has it signed"), "", not job.closed)


def _notes(session: Session, actor: Actor, number: str, on: date) -> DeskLine:
    due = notes.calls_of(session, actor, number, on)
    count = len(notes.listing(session, actor, number))
    parts = [_("call the {whom}").format(whom=call_words.whom(one.whom)) for one in due] + (
        [counted("{count} entry", "{count} entries", count).format(count=count)] if count else []
    )
    href = path_to("notes_form", number=number)
    return DeskLine(_("Notes and calls"), ", ".join(parts) or _("none yet"), href, bool(due))
