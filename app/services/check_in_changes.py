"""A check-in is put right while the job is open: what was typed wrong, found or agreed later.

Customer, machine and claim are records of their own: what is changed in them holds for their
other jobs too. What was signed and what was issued stays as it was.
"""

from collections.abc import Mapping
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import Conflict
from app.records.tables import Claim, Customer, Job, Machine
from app.schemas.check_in import AppearanceIn, CheckInChangeIn, ContactIn
from app.schemas.customer import CustomerIn
from app.schemas.machine import MachineIn
from app.schemas.problems import refused
from app.schemas.salvage import salvaged
from app.services import audit, customers, job_claims, machines
from app.services.check_in import describe, public_of
from app.services.check_in_problems import about_days, about_insurer
from app.services.check_in_version import version_of
from app.services.job_reading import view
from app.services.job_views import JobView
from app.services.lookup import known, open_job
from app.services.permissions import Actor, require

SCOPE = "authorised_scope"
CONTACT = ("name", "address", "phone", "email")
APPEARANCE = ("plate", "colour")


def change(
    session: Session,
    actor: Actor,
    number: str,
    form: CheckInChangeIn | Mapping[str, object],
    now: datetime,
) -> JobView:
    """Puts what is sent in place of what the check-in says, all of it or nothing.

    `form` may be given as it was sent: one BadInput then lists every problem. Raises NotFound
    `no_such_job`; Conflict `job_closed`, `customer_erased`, `machine_changed_hands` (its plate
    and colour are another owner's), `changed_meanwhile` when `version` is not the one that stands.
    """
    job, customer = _changeable(session, actor, number)
    machine = machines.machine_row(session, actor, job.machine_id)
    claim = known(session, actor, Claim, job.claim_id)
    sound = _sound(session, actor, form, job, now)
    if sound.version != version_of(job, customer, machine, claim):
        raise Conflict("changed_meanwhile", None)
    _reach(session, actor, customer, sound.customer, now)
    _look(session, actor, job, machine, sound.machine, now)
    _tell(session, actor, job, claim, sound, now)
    return view(session, actor, job)


def read(session: Session, actor: Actor, number: str) -> JobView:
    """The job whose check-in is to be changed. Raises as `change` where none can be."""
    job, _customer = _changeable(session, actor, number)
    return view(session, actor, job)


def _changeable(session: Session, actor: Actor, number: str) -> tuple[Job, Customer]:
    require(actor, "jobs.check_in")
    job = open_job(session, actor, number)
    customer = customers.customer_row(session, actor, job.customer_id)
    if customer.erased_at is not None:
        raise Conflict("customer_erased", None, customer=customer.id)
    return job, customer


def _sound(
    session: Session,
    actor: Actor,
    form: CheckInChangeIn | Mapping[str, object],
    job: Job,
    now: datetime,
) -> CheckInChangeIn:
    sent = form.model_dump() if isinstance(form, CheckInChangeIn) else form
    read, problems = salvaged(CheckInChangeIn, sent)
    if read is None:
        raise refused(problems)
    found = [
        *problems,
        *about_insurer(session, actor, read.claim),
        *about_days(read, now, job.promised_on),
    ]
    if found:
        raise refused(found)
    return read


def _reach(session: Session, actor: Actor, row: Customer, sent: ContactIn, now: datetime) -> None:
    """Name, address, telephone and mail of the customer."""
    if all(getattr(row, field) == (getattr(sent, field) or "") for field in CONTACT):
        return
    whole = CustomerIn(**sent.model_dump(), note=row.note or None)
    customers.update(session, actor, row.id, whole, now)


def _look(
    session: Session, actor: Actor, job: Job, row: Machine, sent: AppearanceIn, now: datetime
) -> None:
    """Plate and colour of the machine."""
    if all(getattr(row, field) == (getattr(sent, field) or "") for field in APPEARANCE):
        return
    if row.customer_id != job.customer_id:
        raise Conflict("machine_changed_hands", None, machine=row.id)
    whole = MachineIn(
        make=row.make,
        model=row.model,
        frame_number=row.frame_number_as_read or row.frame_number,
        year=row.year,
        note=row.note or None,
        **sent.model_dump(),
    )
    machines.update(session, actor, row.id, whole, now)


def _tell(
    session: Session,
    actor: Actor,
    job: Job,
    claim: Claim | None,
    sent: CheckInChangeIn,
    now: datetime,
) -> None:
    """The visit itself and its claim; the log tells what they say from now on."""
    before = _told(job, claim)
    describe(job, sent)
    job.authorised_scope = sent.authorised_scope or job.authorised_scope
    if claim is not None:
        job_claims.put(session, actor, claim, sent.claim, now)
    else:
        claim = job_claims.add(session, actor, sent.claim, now)
        job.claim_id = claim.id if claim else None
    session.flush()
    after = _told(job, claim)
    changed = sorted(name for name in after if after[name] != before.get(name, ""))
    if changed:
        _record(session, actor, job, claim, changed, str(before[SCOPE]), now)


def _told(job: Job, claim: Claim | None) -> dict[str, object]:
    """Everything that the visit and its claim say, by name."""
    told: dict[str, object] = {name: getattr(job, name) for name in _OF_JOB}
    if claim is not None:
        told |= {name: getattr(claim, name) for name in job_claims.FIELDS}
        told["insurer_id"] = claim.insurer_id or ""
    return told


_OF_JOB = (
    "promised_on", "happened_on", "what_happened", "impact_kind", "impact_clock", "rideable",
    "damage", "odometer", "keys_and_accessories", "storage_place", SCOPE,
)  # fmt: skip


def _record(
    session: Session,
    actor: Actor,
    job: Job,
    claim: Claim | None,
    changed: list[str],
    ordered_before: str,
    now: datetime,
) -> None:
    public: dict[str, audit.Value] = {**public_of(job, claim), "changed": changed}
    personal = {"account": job.what_happened, "belongings": job.keys_and_accessories}
    if SCOPE in changed:
        personal |= {"ordered_before": ordered_before, "ordered_after": job.authorised_scope}
    kept = {name: value for name, value in personal.items() if value}
    about = f"customer:{job.customer_id}"
    audit.record(
        session, actor, "job.check_in_changed", f"job:{job.number}", now, public, kept, about
    )
