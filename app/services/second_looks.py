"""A visual check made once more with nothing changed: on record with its day and its person."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from app.errors import BadInput, Problem
from app.records.scope import scoped
from app.records.tables import VisualCheckItem
from app.services import audit
from app.services.lookup import open_job
from app.services.permissions import Actor, require
from app.services.visual_check_views import VisualCheckView

SAME_LOOK = timedelta(minutes=10)
"""A look of the same person is no second one so soon: a button was pressed twice."""
AS_BEFORE = ("item", "state", "place", "note", "since_seen", "since_words")


@dataclass(frozen=True, slots=True)
class Look:
    """Somebody looked again and found everything as it was on record."""

    at: datetime
    by: str | None
    items: int


def look_again(session: Session, actor: Actor, number: str, now: datetime) -> int:
    """Adds the standing answer of every item that was looked at once more, as this person's of
    this moment; gives how many. Items that nobody looked at stay open.

    No hold is opened: what is seen was seen before, and if an inspector has closed its hold since,
    that was decided of this very damage. Raises NotFound `no_such_job`, Conflict `job_closed`,
    BadInput `nothing_looked_at`.
    """
    require(actor, "visual_checks.write")
    job = open_job(session, actor, number)
    rows = scoped(session, actor, VisualCheckItem).where(VisualCheckItem.job_id == job.id)
    latest = {row.item: row for row in session.scalars(rows.order_by(VisualCheckItem.id))}
    looked = [row for row in latest.values() if row.state != "not_checked"]
    if not looked:
        raise BadInput([Problem("nothing_looked_at", "again")], "nothing_looked_at")
    before = [row for row in looked if not _is_same(row, actor, now)]
    session.add_all(_once_more(row, actor, now) for row in before)
    session.flush()
    if before:
        said: dict[str, audit.Value] = {"items": len(before)}
        audit.record(session, actor, "visual_check.looked_again", f"job:{number}", now, said)
    return len(before)


def is_due(standing: Sequence[VisualCheckView], now: datetime) -> bool:
    """Whether somebody looked, and the newest look is not the one that is being made."""
    looked = [one.checked_at for one in standing if one.answer != "not_checked"]
    times = [at for at in looked if at is not None]
    return bool(times) and now - max(times) >= SAME_LOOK


def second_looks(answers: Sequence[VisualCheckView]) -> tuple[Look, ...]:
    """The looks that changed nothing, the newest first; answers: all of a job in their order."""
    known: dict[str, VisualCheckView] = {}
    found: dict[tuple[datetime, str | None], int] = {}
    for one in answers:
        if one.checked_at is not None and _says_the_same(known.get(one.item), one):
            look = (one.checked_at, one.checked_by)
            found[look] = found.get(look, 0) + 1
        known[one.item] = one
    return tuple(Look(at, by, items) for (at, by), items in reversed(found.items()))


def _is_same(row: VisualCheckItem, actor: Actor, now: datetime) -> bool:
    return row.person_id == actor.person_id and now - row.at < SAME_LOOK


def _once_more(row: VisualCheckItem, actor: Actor, now: datetime) -> VisualCheckItem:
    same = {name: getattr(row, name) for name in AS_BEFORE}
    return VisualCheckItem(
        shop_id=actor.shop_id, job_id=row.job_id, person_id=actor.person_id, at=now, **same
    )


def _says_the_same(before: VisualCheckView | None, after: VisualCheckView) -> bool:
    if before is None:
        return False
    said = [(one.answer, one.place, one.note) for one in (before, after)]
    return said[0] == said[1]
