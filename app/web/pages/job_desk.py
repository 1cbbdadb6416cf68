"""What the desk keeps of a job, as lines of its page: order and signature, calls, card."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import partial

from sqlalchemy.orm import Session

from app.schemas.damage import ZONES
from app.schemas.photo import about_zone
from app.services import (
    closings,
    machine_changes,
    notes,
    other_jobs,
    photo_sharing,
    places,
    reference_fit,
    signatures,
    signed_for,
)
from app.services.customers import CustomerView
from app.services.jobs import JobView
from app.services.permissions import Actor, allowed
from app.services.put_right import MachineChange
from app.web.form_state import Option
from app.web.pages.calls import dial
from app.web.pages.leaving import closing_facts, closings_head
from app.web.pages.machine_change import change_facts, outdated
from app.web.pages.order import how_signed
from app.web.pages.road import NextStep
from app.web.pages.words import Fact, nameless
from app.web.rendering import Link
from app.web.routes import path_to
from app.wording import calls as call_words
from app.wording import damage as damage_words
from app.wording import jobs as job_words
from app.wording.moments import day, moment, today, weekday
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
    changed: str = ""
    """What reads otherwise since the customer signed."""


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
    other_reference: tuple[str, ...] = ()
    """That the reference is not of this machine, and why it was chosen."""
    closings: tuple[Fact, ...] = ()
    """How the job was closed and opened again, newest first."""
    closings_head: str = ""
    neighbours: tuple[str, ...] = ()
    """That another machine stands at the same place, by the records."""
    others: tuple[Link, ...] = ()
    """Further jobs of the same machine."""


def desk_of(session: Session, actor: Actor, job: JobView, on: date) -> Desk:
    """The desk's part of a job's page."""
    found = machine_changes.listing(session, actor, job.number)
    lines = (*_lines(session, actor, job, on), _card(job, found, on))
    order = lines[0] if lines[0].open and lines[0].href else None
    first = _sign_first(order) if order else None
    other = tuple(other_reference(session, actor, job))
    closed = closings.of_job(session, actor, job.number)
    return Desk(
        lines,
        first,
        change_facts(found),
        outdated(job, found),
        other,
        closing_facts(closed, job.customer.erased_at),
        closings_head(closed),
        neighbours_of(session, actor, job),
        others_of(session, actor, job.machine.id, job.number),
    )


def neighbours_of(session: Session, actor: Actor, job: JobView) -> tuple[str, ...]:
    """That another machine stands at the same place, by the records."""
    found = places.neighbours(session, actor, job)
    told = _("At {place} stands by the records also: {jobs}.")
    return (told.format(place=job.storage_place, jobs=", ".join(found)),) if found else ()


def others_of(session: Session, actor: Actor, machine: int, but: str = "") -> tuple[Link, ...]:
    """The jobs of a machine, newest first, without the one that is looked at."""
    told = _("{number}, received {day}, {status}")
    return tuple(
        Link(
            told.format(
                number=one.number, day=day(one.received_at), status=job_words.status(one.status)
            ),
            path_to("job", number=one.number),
        )
        for one in other_jobs.of_machine(session, actor, machine, but)
    )


@dataclass(frozen=True, slots=True)
class AtAGlance:
    """What somebody at the telephone is asked about a machine."""

    customer: str
    customer_id: int
    phone: str
    dial: str
    """The number as an address that a telephone dials; empty without one."""
    promised: str
    stands: str
    """Where the machine stands; empty once it has left."""
    wish: str
    """That the customer asked to be erased, or was; empty for the others."""


def at_a_glance(job: JobView, actor: Actor) -> AtAGlance:
    """The first line of a job's page; telephone numbers are for those who call."""
    phone = (job.customer.phone or "") if allowed(actor, "jobs.check_in") else ""
    return AtAGlance(
        customer=job.customer.name or _("customer erased"),
        customer_id=job.customer.id,
        phone=phone,
        dial=dial(phone),
        promised=_("promised for {day}").format(day=weekday(job.promised_on))
        if job.promised_on and not job.closed
        else "",
        stands=_("stands at {place}").format(place=job.storage_place)
        if job.here and job.storage_place
        else "",
        wish=wish_of(job.customer),
    )


def wish_of(customer: CustomerView) -> str:
    """That the customer asked to be erased and waits for it, or when that was done."""
    if customer.erased_at:
        return _("The customer was erased on {day}.").format(day=day(customer.erased_at))
    if customer.erasure_asked_at:
        told = _("The customer asked on {day} to be erased.")
        return told.format(day=day(customer.erasure_asked_at))
    return ""


def other_reference(session: Session, actor: Actor, job: JobView) -> Iterator[str]:
    """That the reference is not of this machine, and why it was chosen all the same."""
    why = reference_fit.why_another(session, actor, job)
    if why is not None and not job.closed:
        told = _("The reference is not of this machine: {reason}")
        yield told.format(reason=why or _("no reason given"))


def _sign_first(order: DeskLine) -> NextStep:
    if order.changed:
        why = _("Changed since it was signed: {what}. The customer reads it and signs anew.")
        told = why.format(what=order.changed)
        return NextStep(_("Have the order signed anew"), told, _("Sign"), order.href)
    why = _("The customer reads what is left here and what is ordered, and signs for it.")
    return NextStep(_("Have the order signed"), why, _("Sign"), order.href)


def _lines(session: Session, actor: Actor, job: JobView, on: date) -> Iterator[DeskLine]:
    number = job.number
    yield from map(partial(_signable, job), _signed(session, actor, job))
    if allowed(actor, "jobs.note"):
        yield _notes(session, actor, number, on)
    if allowed(actor, "jobs.check_in") and not job.closed and job.customer.erased_at is None:
        change = path_to("check_in_change_form", number=number)
        yield DeskLine(_("Check-in"), _("to be changed, where something was noted wrong"), change)
        machine = path_to("machine_change_form", number=number)
        yield DeskLine(_("Machine"), _("to be put right, with a reason"), machine)
    if allowed(actor, "photos.share"):
        yield _claim_photos(session, actor, job)


def _signed(session: Session, actor: Actor, job: JobView) -> Iterator[DeskLine]:
    yield _order(session, actor, job)
    if allowed(actor, "signatures.write"):
        yield _notice(session, actor, job)


def _signable(job: JobView, line: DeskLine) -> DeskLine:
    """What a customer signs is open no more once they were erased: nobody could sign it."""
    return line if job.customer.erased_at is None else replace(line, open=False, changed="")


def _order(session: Session, actor: Actor, job: JobView) -> DeskLine:
    """What is ordered and who gave the order; open where it has to be signed, or signed anew."""
    label, ordered = _("Order"), job.authorised_scope or _("what is ordered is not stated")
    if not allowed(actor, "signatures.write"):
        said, to_do = _order_seen(session, actor, job)
        return DeskLine(label, f"{ordered} · {said}", "", to_do and not job.closed)
    href = path_to("order_form", number=job.number)
    found = signatures.standing(session, actor, job.number).get("authorisation")
    if found is None and job.authorised_at:
        given = _("given by {name}, not signed").format(name=job.authorised_by or nameless())
        return DeskLine(label, f"{ordered} · {given}", href)
    if found is None:
        return DeskLine(label, f"{ordered} · {_('not signed yet')}", href, not job.closed)
    since = signed_for.changes(found, signed_for.texts_of(session, actor, job))
    if not since:
        return DeskLine(label, f"{ordered} · {how_signed(found)}", href)
    labels = ", ".join(one.label for one in since)
    told = _("changed since it was signed: {what}").format(what=labels)
    said = f"{ordered} · {told} · {how_signed(found)}"
    return DeskLine(label, said, href, not job.closed, labels)


def _notice(session: Session, actor: Actor, job: JobView) -> DeskLine:
    """Whether the notice on personal data was signed; open where the order alone was."""
    label, href = _("Notice on personal data"), path_to("order_form", number=job.number)
    found = signatures.standing(session, actor, job.number).get("privacy")
    if found is not None:
        return DeskLine(label, how_signed(found), href)
    if job.privacy_notice_at:
        return DeskLine(label, _("given, not signed"), href)
    left_out = bool(job.authorised_at) and not job.closed
    return DeskLine(label, _("not signed yet"), href, left_out)


def _order_seen(session: Session, actor: Actor, job: JobView) -> tuple[str, bool]:
    """Whether the machine may be inspected, and whether the desk has something to do about it."""
    if not job.authorised_at:
        return _("not signed yet: the desk still has to get it signed"), True
    given = _("given by {name}").format(name=job.authorised_by or nameless())
    if signed_for.is_changed(session, actor, job.number):
        return _("{given}; changed since it was signed").format(given=given), True
    return given, False


def _card(job: JobView, changes: Sequence[MachineChange], on: date) -> DeskLine:
    """The card; to be printed once more on the day on which the machine was put right."""
    label, href = _("Job card"), path_to("job_card", number=job.number)
    if not changes:
        return DeskLine(label, _("one sheet, to be printed"), href)
    told = _("to be printed again: the machine's details were put right, {moment}")
    said = told.format(moment=moment(changes[0].at))
    return DeskLine(label, said, href, today(changes[0].at) == on and not job.closed)


def _claim_photos(session: Session, actor: Actor, job: JobView) -> DeskLine:
    """How many photos go with the claim; that they are chosen before somebody signs."""
    count = photo_sharing.shared_counts(session, actor, [job.id]).get(job.id, 0)
    said = counted("{count} chosen", "{count} chosen", count).format(count=count)
    if not job.closed and not any(one.status == "valid" for one in job.certificates):
        later = _("to be chosen before the certificate is signed: it shows none chosen later")
        said = f"{said} · {later}" if count else f"{_('none chosen')} · {later}"
    href = path_to("photos_for_claim", number=job.number)
    return DeskLine(_("Photos for the claim"), said, href)


def _notes(session: Session, actor: Actor, number: str, on: date) -> DeskLine:
    due = notes.calls_of(session, actor, number, on)
    count = len(notes.listing(session, actor, number))
    parts = [_("call the {whom}").format(whom=call_words.whom(one.whom)) for one in due] + (
        [counted("{count} entry", "{count} entries", count).format(count=count)] if count else []
    )
    href = path_to("notes_form", number=number)
    return DeskLine(_("Notes and calls"), ", ".join(parts) or _("none yet"), href, bool(due))
