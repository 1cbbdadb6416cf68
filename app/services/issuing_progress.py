"""How far a certificate is that was signed for; having it tried again, and giving it up."""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from sqlalchemy.orm import Session

from app.errors import BadInput, Conflict, NotAllowed, Problem, Unavailable
from app.records.scope import OfShop
from app.records.tables import Certificate, IssuingTask
from app.services import audit, issuing_tasks
from app.services.issuing_finish import void
from app.services.issuing_queue import IssuingQueue
from app.services.permissions import Actor, require
from app.services.register import job_number_of, row_of
from app.services.words import words
from app.signing.authority import FOLDER
from app.signing.keys import SigningKey, open_key

State = Literal["queued", "being_made", "waits_for_key", "waits_for_person", "stored", "void"]


@dataclass(frozen=True, slots=True)
class Progress:
    """Where a certificate stands between the signature of a person and the file."""

    number: str
    job_number: str
    state: State
    ahead: int
    """Certificates that are finished before this one."""
    tries: int
    problem: str | None
    """Code of what the last try failed by."""
    next_try_at: datetime | None
    reason: str | None
    """Why it is void."""


def progress(session: Session, actor: Actor, number: str) -> Progress:
    """How far it is. Raises NotFound."""
    require(actor, "certificates.read")
    row = row_of(session, actor, number)
    job = job_number_of(session, actor, row)
    if row.status != "issuing":
        state: State = "void" if row.status == "void" else "stored"
        return Progress(number, job, state, 0, 0, None, None, row.reason)
    tasks = list(issuing_tasks.every(session, actor))
    task = next((one for found, one in tasks if found == number), None)
    if task is None:
        # Nothing is left to do, and nothing was done: the next start makes it void.
        return Progress(number, job, "waits_for_person", 0, 0, None, None, None)
    before = [one for _, one in tasks if one.id < task.id and one.waits_for is None]
    return Progress(
        number=number,
        job_number=job,
        state=state_of(task),
        ahead=len(before),
        tries=task.tries,
        problem=task.problem,
        next_try_at=task.next_try_at,
        reason=None,
    )


def state_of(task: IssuingTask) -> State:
    """The state of what is not finished yet."""
    if task.waits_for is not None:
        return "waits_for_key" if task.waits_for == "key" else "waits_for_person"
    return "queued" if task.begun_at is None else "being_made"


def resume(
    queue: IssuingQueue, actor: Actor, number: str, key_password: str | None, now: datetime
) -> None:
    """Have a certificate that waits tried again, under its number and with its words.

    key_password: that of the signing key, needed once the owner has set one and the program was
    started anew since.
    Raises NotFound; Conflict (`certificate_not_waiting`); BadInput for `key_password`;
    Unavailable (`signing_key_changed`).
    """
    require(actor, "certificates.issue")
    with queue.database.read() as session:
        row = row_of(session, actor, number)
        refuse_unless_waiting(session, actor, row)
        signer = row.signer_fingerprint
    key = queue.key_for(number) or opened(queue, key_password, now)
    if key.fingerprint != signer:
        raise Unavailable("signing_key_changed", None, number=number)
    with queue.database.write() as session:
        task = refuse_unless_waiting(session, actor, row_of(session, actor, number))
        issuing_tasks.again(task, queue.holder, now)
        audit.record(session, actor, "certificate.resumed", f"certificate:{number}", now)
    queue.put(number, key)


def opened(queue: IssuingQueue, password: str | None, now: datetime) -> SigningKey:
    """The signing key; what is wrong with its password is told beside the field."""
    try:
        return open_key(queue.press.data_dir / FOLDER, password, now)
    except NotAllowed as error:
        raise BadInput([Problem(error.code, "key_password")], error.code) from error


def refuse_unless_waiting(session: Session, shop: OfShop, row: Certificate) -> IssuingTask:
    """What is left to do. Raises Conflict unless it waits for somebody."""
    task = issuing_tasks.task_of(session, shop, row.number)
    if task is None or task.waits_for is None:
        raise Conflict("certificate_not_waiting", None, number=row.number)
    return task


def give_up(session: Session, actor: Actor, number: str, reason: str, now: datetime) -> None:
    """Make a number void that is not issued yet; whoever is making its file loses it.

    Raises NotFound, Conflict `certificate_not_issuing`, BadInput for an empty reason.
    """
    require(actor, "certificates.issue")
    why = words(reason, "reason")
    row = row_of(session, actor, number)
    if row.status != "issuing":
        raise Conflict("certificate_not_issuing", None, number=number)
    task = issuing_tasks.task_of(session, actor, number)
    if task is not None:
        session.delete(task)
    void(session, actor, row, why, now)
