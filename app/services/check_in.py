"""Check-in: one form of the desk makes customer, machine, claim and job, or nothing at all."""

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import Problem
from app.records.numbers import next_number
from app.records.scope import scoped
from app.records.search_text import search_text
from app.records.tables import Claim, Customer, Job, Machine
from app.schemas.check_in import CheckInIn, VisitIn
from app.schemas.form import without_blanks
from app.schemas.problems import refused
from app.schemas.reading import checked
from app.schemas.salvage import salvaged
from app.services import audit, customers, damage, job_claims, machines
from app.services.check_in_problems import problems_of
from app.services.permissions import Actor, require

JOBS_LATELY = 60
RIDEABLE = {"yes": True, "no": False, "not_tried": None}


@dataclass(frozen=True, slots=True)
class CheckedIn:
    job_number: str
    customer_id: int
    machine_id: int
    warnings: tuple[Problem, ...]
    """What is odd but was taken, such as a check digit of the frame number that does not fit."""


def read_form(sent: Mapping[str, object]) -> CheckInIn:
    """Reads what a page or the API sent. Raises BadInput with all its problems at once."""
    return checked(CheckInIn, sent)


def check_in(
    session: Session, actor: Actor, form: CheckInIn | Mapping[str, object], now: datetime
) -> CheckedIn:
    """Takes a machine in: customer, machine, claim and job, all of them or none.

    `form` may be given as it was sent: then one BadInput lists every problem, those of single
    fields together with those that only the records can show (`no_such_customer`,
    `frame_number_of_another_customer`, `machine_here_already`, `in_the_future`, …).

    A machine that this shop knows by its frame number as the same customer's is taken again, not
    made twice. A known machine with another customer has changed hands: it becomes theirs.
    """
    require(actor, "jobs.check_in")
    sound = _sound(session, actor, form, now)
    customer = _customer(session, actor, sound, now)
    machine = _machine(session, actor, sound, customer, now)
    job = _job(session, actor, sound, customer, machine, now)
    read = machines.taken(machine.frame_number)
    return CheckedIn(job.number, customer.id, machine.id, read.warnings)


def storage_places(session: Session, actor: Actor) -> tuple[str, ...]:
    """Where machines were put lately, numbers in the order of counting; each place once."""
    require(actor, "jobs.read")
    rows = scoped(session, actor, Job).where(Job.storage_place != "").order_by(Job.id.desc())
    lately_put = rows.with_only_columns(Job.storage_place).limit(JOBS_LATELY)
    newest_last = reversed(session.scalars(lately_put).all())
    places = {place.casefold(): place for place in newest_last}
    return tuple(sorted(places.values(), key=_counted))


def _counted(place: str) -> list[tuple[int, str]]:
    """The parts of a name to sort by, so that bay 2 stands before bay 10."""
    parts = re.findall(r"[0-9]{1,9}|[^0-9]+", place.casefold())
    return [(int(part), "") if part[0] in "0123456789" else (-1, part) for part in parts]


def _sound(
    session: Session, actor: Actor, form: CheckInIn | Mapping[str, object], now: datetime
) -> CheckInIn:
    """The form when nothing at all is wrong with it. Raises BadInput."""
    sent = form.model_dump() if isinstance(form, CheckInIn) else form
    read, problems = salvaged(CheckInIn, sent)
    if read is None:
        raise refused(problems)
    given = without_blanks(sent)
    groups = frozenset(given) if isinstance(given, dict) else frozenset()
    found = [*problems, *problems_of(session, actor, read, groups, now)]
    if found:
        raise refused(found)
    return read


def _customer(session: Session, actor: Actor, form: CheckInIn, now: datetime) -> Customer:
    if form.customer is not None:
        made = customers.create(session, actor, form.customer, now)
        return customers.customer_row(session, actor, made.id)
    return customers.customer_row(session, actor, form.customer_id or 0)


def _machine(
    session: Session, actor: Actor, form: CheckInIn, customer: Customer, now: datetime
) -> Machine:
    if form.machine is None:
        row = machines.machine_row(session, actor, form.machine_id or 0)
        return _in_hands_of(session, actor, row, customer, now)
    number = machines.taken(form.machine.frame_number).number
    known = machines.known_by_frame(session, actor, number)
    if known is None:
        made = machines.create(session, actor, customer.id, form.machine, now)
    else:
        made = machines.update(session, actor, known.id, form.machine, now)
    return machines.machine_row(session, actor, made.id)


def _in_hands_of(
    session: Session, actor: Actor, row: Machine, customer: Customer, now: datetime
) -> Machine:
    if row.customer_id != customer.id:
        said: dict[str, audit.Value] = {"from": row.customer_id, "to": customer.id}
        row.customer_id = customer.id
        audit.record(session, actor, "machine.changed_hands", f"machine:{row.id}", now, said)
    return row


def _job(
    session: Session,
    actor: Actor,
    form: CheckInIn,
    customer: Customer,
    machine: Machine,
    now: datetime,
) -> Job:
    claim = job_claims.add(session, actor, form.claim, now)
    number = next_number(session, actor, "job", now.year)
    row = Job(
        shop_id=actor.shop_id,
        number=number,
        customer_id=customer.id,
        machine_id=machine.id,
        claim_id=claim.id if claim else None,
        received_at=now,
        checked_in_by_id=actor.person_id,
        search_text=search_text(marks=(number,)),
        created_at=now,
    )
    _fill(row, form, now)
    session.add(row)
    session.flush()
    _record(session, actor, row, claim, now)
    return row


def _fill(row: Job, form: CheckInIn, now: datetime) -> None:
    describe(row, form)
    row.authorised_by = form.authorised_by or ""
    row.authorised_scope = form.authorised_scope or ""
    row.authorised_at = now if form.authorised_by else None
    row.privacy_notice_at = now if form.privacy_notice_given else None


def describe(row: Job, form: VisitIn) -> None:
    """Puts what the desk keeps of a visit into the job's row."""
    row.promised_on = form.promised_on
    row.happened_on = form.incident.happened_on
    row.what_happened = form.incident.account or ""
    row.impact_kind = form.incident.impact_kind
    row.impact_clock = form.incident.clock_direction
    row.rideable = RIDEABLE[form.rideable]
    row.damage = damage.document(form)
    row.odometer = form.odometer_km
    row.keys_and_accessories = "\n".join(form.belongings)
    row.storage_place = form.storage_place or ""


def public_of(row: Job, claim: Claim | None) -> dict[str, audit.Value]:
    """What the log says openly of a visit."""
    return {
        "customer": row.customer_id,
        "machine": row.machine_id,
        "insurer": claim.insurer_id if claim else None,
        "claim_number": claim.claim_number if claim else None,
        "impact_kind": row.impact_kind,
        "odometer_km": row.odometer,
        "damage": list(json.loads(row.damage)),
    }


def _record(session: Session, actor: Actor, row: Job, claim: Claim | None, now: datetime) -> None:
    personal = {"account": row.what_happened, "authorised_by": row.authorised_by}
    kept = {name: value for name, value in personal.items() if value}
    about, subject = f"customer:{row.customer_id}", f"job:{row.number}"
    audit.record(session, actor, "job.checked_in", subject, now, public_of(row, claim), kept, about)
