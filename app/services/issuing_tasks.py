"""Who finishes which certificate. One program at a time holds a task, for a few seconds, and
renews that while it lives; when it dies another one takes the task over.

What counts is asked in the writing unit that finishes or ends a number: who no longer holds the
task by then changes nothing, so that two programs never both finish or void one number.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from app.errors import Conflict
from app.records.scope import OfShop, scoped
from app.records.tables import Certificate, IssuingTask
from app.services import audit

HELD_FOR = timedelta(seconds=15)
MOST_TRIES = 3
"""Without anybody's word; a person may have it tried again."""
PROGRAM_ENDED = "program_ended"
PASSING = frozenset(
    {"worker_failed", "worker_too_slow", "time_stamp_unreachable", "database_busy", "disk_full",
     "changed_meanwhile"}
)  # fmt: skip
"""What a later try may find gone: the number is kept for it."""
PAUSES = {"time_stamp_unreachable": timedelta(minutes=1)}
LONGEST_PAUSE = max(PAUSES.values())


@dataclass(frozen=True, slots=True)
class Taken:
    """A task in the hands of one program."""

    shop_id: int
    number: str
    holder: str
    tries: int
    """With this one."""


def add(
    session: Session, certificate: Certificate, replacing_reason: str | None, holder: str | None
) -> None:
    """The task of a number that was just reserved, held from the beginning."""
    task = IssuingTask(
        shop_id=certificate.shop_id,
        certificate_id=certificate.id,
        replacing_reason=replacing_reason,
        held_by=holder,
        held_until=certificate.reserved_at + HELD_FOR,
    )
    session.add(task)


def waiting(
    session: Session, shop: OfShop | int, holder: str, now: datetime, number: str | None = None
) -> tuple[str, IssuingTask] | None:
    """The oldest number that this program may begin now, or this one alone, with its task."""
    for found, task in every(session, shop):
        wanted = number is None or found == number
        if wanted and task.waits_for is None and is_due(task, now) and is_free(task, holder, now):
            return found, task
    return None


def take(
    session: Session, shop: OfShop | int, holder: str, now: datetime, number: str | None = None
) -> Taken | None:
    """Begin the oldest number that this program may begin, in the caller's writing unit.

    One on which program after program ended waits for a person instead.
    """
    while (found := waiting(session, shop, holder, now, number)) is not None:
        number_found, task = found
        if task.tries < MOST_TRIES:
            task.held_by, task.held_until = holder, now + HELD_FOR
            task.begun_at, task.next_try_at, task.tries = now, None, task.tries + 1
            return Taken(task.shop_id, number_found, holder, task.tries)
        wait_for(task, "person", PROGRAM_ENDED)
        said: dict[str, audit.Value] = {"for": "person", "problem": PROGRAM_ENDED}
        subject = f"certificate:{number_found}"
        audit.record_as(session, shop, "set_up", "certificate.waits", subject, now, said)
    return None


def every(session: Session, shop: OfShop | int) -> Iterator[tuple[str, IssuingTask]]:
    """All tasks with the numbers of their certificates, in the order of the numbers."""
    rows = session.scalars(
        scoped(session, shop, IssuingTask).order_by(IssuingTask.certificate_id)
    ).all()
    ids = [row.certificate_id for row in rows]
    found = session.execute(
        scoped(session, shop, Certificate)
        .where(Certificate.id.in_(ids))
        .with_only_columns(Certificate.id, Certificate.number)
    )
    numbers = {one.id: one.number for one in found}
    return ((numbers[row.certificate_id], row) for row in rows)


def is_due(task: IssuingTask, now: datetime) -> bool:
    """Its pause is over. One that a clock put back would stretch counts as over."""
    later = task.next_try_at
    return later is None or not now < later <= now + LONGEST_PAUSE


def is_free(task: IssuingTask, holder: str, now: datetime) -> bool:
    """Nobody else holds it."""
    return task.held_by in (None, holder) or not is_held(task, now)


def is_held(task: IssuingTask, now: datetime) -> bool:
    """A living program holds it. A clock put back must not make that last for ever."""
    until = task.held_until
    return task.held_by is not None and until is not None and now < until <= now + HELD_FOR


def renew(session: Session, shop: OfShop | int, holder: str, now: datetime) -> None:
    """Say that this program lives, for all that it holds."""
    mine = scoped(session, shop, IssuingTask).where(IssuingTask.held_by == holder)
    for task in session.scalars(mine):
        task.held_until = now + HELD_FOR


def let_go(session: Session, shop: OfShop | int, holder: str) -> None:
    """This program ends in order: others need not wait. A file that it was making is begun anew
    without counting as a try."""
    mine = scoped(session, shop, IssuingTask).where(IssuingTask.held_by == holder)
    for task in session.scalars(mine):
        task.tries -= task.begun_at is not None
        task.held_by = task.held_until = task.begun_at = None


def held(session: Session, taken: Taken) -> IssuingTask:
    """The task, if this program still holds it. Raises Conflict `certificate_no_longer_issuing`."""
    task = task_of(session, taken.shop_id, taken.number)
    if task is None or task.held_by != taken.holder or task.tries != taken.tries:
        raise Conflict("certificate_no_longer_issuing", None, number=taken.number)
    return task


def task_of(session: Session, shop: OfShop | int, number: str) -> IssuingTask | None:
    """What is left to do for a number; None when nothing is."""
    ids = scoped(session, shop, Certificate).where(Certificate.number == number)
    return session.scalars(
        scoped(session, shop, IssuingTask).where(
            IssuingTask.certificate_id.in_(ids.with_only_columns(Certificate.id))
        )
    ).one_or_none()


def put_off(task: IssuingTask, code: str, now: datetime) -> None:
    """The try failed by something that may pass: once more, or when a person says so."""
    task.begun_at, task.problem = None, code
    if task.tries >= MOST_TRIES:
        wait_for(task, "person", code)
    else:
        task.next_try_at = now + PAUSES[code] if code in PAUSES else None


def wait_for(task: IssuingTask, what: str, code: str) -> None:
    """Nothing more is done by itself."""
    task.waits_for, task.problem = what, code
    task.begun_at = task.next_try_at = task.held_by = task.held_until = None


def again(task: IssuingTask, holder: str, now: datetime) -> None:
    """A person has it tried again by this program."""
    task.waits_for = task.next_try_at = None
    task.tries, task.held_by, task.held_until = 0, holder, now + HELD_FOR
