"""Make, model, year, frame number and plate put right after check-in, with a reason.

What was measured and what was issued stays as it was: a certificate that names the machine as it
was written before is put right by a new one in its place, never by a change here.
"""

import json
from collections.abc import Mapping
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import Conflict
from app.records.scope import scoped
from app.records.tables import Claim, Job, JobEntry, Machine
from app.schemas.machine import MachineIn
from app.schemas.machine_change import MachineChangeIn
from app.schemas.reading import checked
from app.services import audit, customers, machines
from app.services.check_in_version import version_of
from app.services.lookup import job_row, known, names, open_job
from app.services.permissions import Actor, require
from app.services.put_right import MACHINE_PUT_RIGHT as KIND
from app.services.put_right import MachineChange, Told, change_of

CHANGED = "job.machine_put_right"
FIELDS = ("make", "model", "year", "frame_number", "plate")
PERSONAL = ("plate",)


def change(
    session: Session,
    actor: Actor,
    number: str,
    form: MachineChangeIn | Mapping[str, object],
    now: datetime,
) -> MachineChange:
    """Puts what the machine is right; the old values stay on record with the reason.

    It holds for the machine's other jobs too. Raises NotFound `no_such_job`; BadInput; Conflict
    `job_closed`, `customer_erased`, `machine_changed_hands`, `changed_meanwhile`,
    `frame_number_known` (another machine has it), `machine_as_on_record`.
    """
    require(actor, "jobs.check_in")
    job = open_job(session, actor, number)
    machine = _own_machine(session, actor, job)
    sent = form if isinstance(form, MachineChangeIn) else checked(MachineChangeIn, form)
    customer = customers.customer_row(session, actor, job.customer_id)
    claim = known(session, actor, Claim, job.claim_id)
    if sent.version != version_of(job, customer, machine, claim):
        raise Conflict("changed_meanwhile", None)
    before = _told(machine)
    machines.update(session, actor, machine.id, _whole(machine, sent), now)
    after = _told(machine)
    changed = [name for name in FIELDS if before[name] != after[name]]
    if not changed:
        raise Conflict("machine_as_on_record", None)
    said = {
        "before": {name: before[name] for name in changed},
        "after": {name: after[name] for name in changed},
        "reason": sent.reason,
    }
    row = JobEntry(
        shop_id=actor.shop_id,
        job_id=job.id,
        kind=KIND,
        words=json.dumps(said, ensure_ascii=False),
        person_id=actor.person_id,
        at=now,
    )
    session.add(row)
    session.flush()
    _record(session, actor, job, before, after, changed, sent.reason, now)
    return change_of(row, names(session, actor, [row.person_id]))


def _own_machine(session: Session, actor: Actor, job: Job) -> Machine:
    customer = customers.customer_row(session, actor, job.customer_id)
    if customer.erased_at is not None:
        raise Conflict("customer_erased", None, customer=customer.id)
    machine = machines.machine_row(session, actor, job.machine_id)
    if machine.customer_id != job.customer_id:
        raise Conflict("machine_changed_hands", None, machine=machine.id)
    return machine


def _whole(row: Machine, sent: MachineChangeIn) -> MachineIn:
    """The machine as it is to stand, with what is not asked for here as it stood."""
    asked = sent.model_dump(include=set(FIELDS))
    return MachineIn(**asked, colour=row.colour or None, note=row.note or None)


def _told(row: Machine) -> dict[str, Told]:
    return {name: getattr(row, name) for name in FIELDS}


def _record(
    session: Session,
    actor: Actor,
    job: Job,
    before: Mapping[str, Told],
    after: Mapping[str, Told],
    changed: list[str],
    reason: str,
    now: datetime,
) -> None:
    public: dict[str, audit.Value] = {"machine": job.machine_id, "changed": changed}
    personal: dict[str, audit.Value] = {"reason": reason}
    for name in changed:
        told = personal if name in PERSONAL else public
        told[f"{name}_before"], told[f"{name}_after"] = before[name], after[name]
    about, mark = f"customer:{job.customer_id}", f"job:{job.number}"
    audit.record(session, actor, CHANGED, mark, now, public, personal, about)


def listing(session: Session, actor: Actor, number: str) -> tuple[MachineChange, ...]:
    """What was put right of the machine under this job, newest first. Raises NotFound."""
    require(actor, "jobs.read")
    job = job_row(session, actor, number)
    rows = scoped(session, actor, JobEntry).where(JobEntry.job_id == job.id, JobEntry.kind == KIND)
    found = session.scalars(rows.order_by(JobEntry.id.desc())).all()
    people = names(session, actor, [row.person_id for row in found])
    return tuple(change_of(row, people) for row in found)
