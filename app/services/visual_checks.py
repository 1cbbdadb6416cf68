"""Visual checks of a job, and the holds that a seen crack or wrinkle opens."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import BadInput, Conflict, NotFound, Problem
from app.records.scope import OfShop, scoped
from app.records.tables import Hold, Job, VisualCheckItem
from app.schemas.visual_check import HOLD_ITEMS, VisualCheckIn
from app.services import audit
from app.services.lookup import by_id, job_row, names, open_job
from app.services.permissions import Actor, require
from app.services.visual_check_views import VisualCheckView, standing_of
from app.services.words import words
from app.wording import jobs as job_words

__all__ = ["HoldView", "VisualCheckView"]


@dataclass(frozen=True, slots=True)
class HoldView:
    id: int
    item: str
    opened_at: datetime
    opened_by: str | None
    note: str | None
    closed_at: datetime | None
    closed_by: str | None
    closed_reason: str | None


def answer(
    session: Session, actor: Actor, number: str, checks: Sequence[VisualCheckIn], now: datetime
) -> tuple[HoldView, ...]:
    """Adds answers to the visual check of a job; earlier answers are kept behind them.

    Damage that means replacement opens a hold when it is seen. An answer "not seen" later on
    does not close it: only `close_hold` does. What was seen is answered otherwise only with what
    was done since. An answer that stands already is not added again.
    Gives the open holds of the job. Raises NotFound `no_such_job`, Conflict `job_closed`, BadInput
    `seen_before`, `seen_all_the_same`.
    """
    require(actor, "visual_checks.write")
    job = open_job(session, actor, number)
    for check in checks:
        _answer(session, actor, job, check, now)
    return tuple(one for one in holds_of(session, actor, job) if one.closed_at is None)


def listing(session: Session, actor: Actor, number: str) -> tuple[VisualCheckView, ...]:
    """The latest answer of every item, in the order of the list."""
    require(actor, "jobs.read")
    return standing(session, actor, job_row(session, actor, number))


def holds(session: Session, actor: Actor, number: str) -> tuple[HoldView, ...]:
    """All holds of a job, open ones first."""
    require(actor, "jobs.read")
    return holds_of(session, actor, job_row(session, actor, number))


def close_hold(
    session: Session, actor: Actor, number: str, hold_id: int, reason: str, now: datetime
) -> HoldView:
    """Closes a hold; only an inspector may, with a reason.

    Raises NotFound `no_such_hold`, Conflict `hold_closed`, `job_closed`, BadInput for an empty
    reason.
    """
    require(actor, "holds.close")
    why = words(reason, "reason")
    job = open_job(session, actor, number)
    hold = by_id(session, actor, Hold, hold_id, "no_such_hold")
    if hold.job_id != job.id:
        raise NotFound("no_such_hold", None, met=hold_id)
    if hold.closed_at is not None:
        raise Conflict("hold_closed", None, job=number)
    hold.closed_at, hold.closed_by_id, hold.closed_because = now, actor.person_id, why
    session.flush()
    said: dict[str, audit.Value] = {"item": hold.reason, "reason": why}
    audit.record(session, actor, "hold.closed", f"job:{number}", now, said)
    return _hold_views(session, actor, [hold])[0]


def standing(session: Session, actor: Actor, job: Job) -> tuple[VisualCheckView, ...]:
    """The latest answer of every item of a job."""
    return standing_of(answers_of(session, actor, job))


def answers_of(session: Session, actor: Actor, job: Job) -> tuple[VisualCheckView, ...]:
    """Every answer that was given on a job, in the order in which they were given."""
    rows = scoped(session, actor, VisualCheckItem).where(VisualCheckItem.job_id == job.id)
    found = session.scalars(rows.order_by(VisualCheckItem.id)).all()
    people = names(session, actor, [row.person_id for row in found])
    return tuple(_view(row, people) for row in found)


def _view(row: VisualCheckItem, people: dict[int | None, str]) -> VisualCheckView:
    return VisualCheckView(
        item=row.item,
        answer=row.state,
        place=row.place or None,
        note=row.note or None,
        checked_at=row.at,
        checked_by=people.get(row.person_id),
        since_seen=row.since_seen or None,
        since_words=row.since_words or None,
    )


def _latest(session: Session, actor: Actor, job: Job, item: str) -> VisualCheckItem | None:
    rows = scoped(session, actor, VisualCheckItem).where(
        VisualCheckItem.job_id == job.id, VisualCheckItem.item == item
    )
    return session.scalars(rows.order_by(VisualCheckItem.id.desc()).limit(1)).first()


def _answer(session: Session, actor: Actor, job: Job, check: VisualCheckIn, now: datetime) -> None:
    given = (check.answer, check.place or "", check.note or "")
    before = _latest(session, actor, job, check.item)
    if before is not None and given == (before.state, before.place, before.note):
        return
    _require_why(check, before)
    row = VisualCheckItem(
        shop_id=actor.shop_id,
        job_id=job.id,
        item=check.item,
        state=given[0],
        place=given[1],
        note=given[2],
        since_seen=check.since_seen or "",
        since_words=check.since_words or "",
        person_id=actor.person_id,
        at=now,
    )
    session.add(row)
    session.flush()
    said: dict[str, audit.Value] = {"item": check.item, "answer": check.answer}
    if check.since_seen:
        said["since_seen"] = check.since_seen
    audit.record(session, actor, "visual_check.answered", f"job:{job.number}", now, said)
    if check.answer == "seen" and check.item in HOLD_ITEMS:
        _open_hold(session, actor, job, row, now)


def _require_why(check: VisualCheckIn, before: VisualCheckItem | None) -> None:
    """What was seen does not go away by itself. Raises BadInput where nothing says why it is
    answered otherwise, or where that is said of something that is still seen."""
    facts = {"item": job_words.item(check.item)}
    if check.answer == "seen":
        if check.since_seen or check.since_words:
            raise BadInput([Problem("seen_all_the_same", "since_seen", facts)])
        return
    if before is None or before.state != "seen":
        return
    missing = [name for name in ("since_seen", "since_words") if getattr(check, name) is None]
    if missing:
        raise BadInput([Problem("seen_before", name, facts) for name in missing[:1]])


def _open_hold(
    session: Session, actor: Actor, job: Job, row: VisualCheckItem, now: datetime
) -> None:
    note = " – ".join(part for part in (row.place, row.note) if part)
    standing = scoped(session, actor, Hold).where(
        Hold.job_id == job.id, Hold.reason == row.item, Hold.closed_at.is_(None)
    )
    already = session.scalars(standing).first()
    if already is not None:
        # What was seen since stands on the hold; what stood there before is in the answers.
        already.note = note or already.note
        session.flush()
        return
    session.add(
        Hold(
            shop_id=actor.shop_id,
            job_id=job.id,
            visual_check_item_id=row.id,
            reason=row.item,
            note=note,
            opened_by_id=actor.person_id,
            opened_at=now,
        )
    )
    session.flush()
    audit.record(session, actor, "hold.opened", f"job:{job.number}", now, {"item": row.item})


def holds_of(session: Session, actor: OfShop | int, job: Job) -> tuple[HoldView, ...]:
    """All holds of a job, open ones first."""
    rows = session.scalars(
        scoped(session, actor, Hold).where(Hold.job_id == job.id).order_by(Hold.id)
    ).all()
    in_order = sorted(rows, key=lambda row: row.closed_at is not None)
    return _hold_views(session, actor, in_order)


def _hold_views(
    session: Session, actor: OfShop | int, rows: Sequence[Hold]
) -> tuple[HoldView, ...]:
    people = [person for row in rows for person in (row.opened_by_id, row.closed_by_id)]
    called = names(session, actor, people)
    return tuple(
        HoldView(
            id=row.id,
            item=row.reason,
            opened_at=row.opened_at,
            opened_by=called.get(row.opened_by_id),
            note=row.note or None,
            closed_at=row.closed_at,
            closed_by=called.get(row.closed_by_id),
            closed_reason=row.closed_because,
        )
        for row in rows
    )
