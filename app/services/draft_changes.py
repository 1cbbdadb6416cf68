"""A draft's row: found, open to be changed, and what every change of it leaves behind."""

import secrets
from collections.abc import Callable, Mapping
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import Conflict, NotFound
from app.records.rows import add_row, change_row, set_now
from app.records.tables import Draft, DraftState, Job
from app.services import audit, floor_told
from app.services.lookup import by_id, open_job, require_job_open
from app.services.permissions import Actor, require


def row_of(session: Session, actor: Actor, job: Job, draft_id: int) -> Draft:
    """The draft of a job with this id. Raises NotFound `no_such_draft`."""
    draft = by_id(session, actor, Draft, draft_id, "no_such_draft")
    if draft.job_id != job.id:
        raise NotFound("no_such_draft", None, met=draft_id)
    return draft


def to_change(
    session: Session, actor: Actor, number: str, draft_id: int, version: int | None
) -> tuple[Job, Draft]:
    """Job and draft, both open. Raises NotFound, Conflict `job_closed`, `draft_not_open`, and
    `draft_changed` when `version` is not the draft's."""
    require(actor, "drafts.write")
    job = open_job(session, actor, number)
    draft = row_of(session, actor, job, draft_id)
    require_draft_open(draft)
    if version is not None and version != draft.version:
        raise Conflict("draft_changed", None, met=version, needed=draft.version)
    return job, draft


def require_open(session: Session, actor: Actor, job: Job, draft: Draft) -> None:
    """Raises Conflict `job_closed`, `draft_not_open`."""
    require_job_open(session, actor, job)
    require_draft_open(draft)


def require_draft_open(draft: Draft) -> None:
    """Raises Conflict `draft_not_open`."""
    if draft.closed_at is not None:
        raise Conflict("draft_not_open", None, state=draft.closed_as)


def changed(
    session: Session,
    actor: Actor,
    job: Job,
    draft: Draft,
    what: str,
    now: datetime,
    said: dict[str, audit.Value],
    *,
    look: bool = True,
    standing: Callable[[], floor_told.Points] | None = None,
) -> None:
    """Moves the version on, also when only points of the draft were added; looks at the points
    unless told that nothing changed which they are looked at with. standing: gives the points
    that stand, once the new ones have their ids, where they need not be read."""
    _move_on(session, draft)
    state = floor_told.state_of(session, actor, draft)
    new: dict[str, object] = {"mark": secrets.token_hex(8)}
    if look:
        points = standing() if standing else None
        new["told"] = floor_told.look_again(session, actor, job, draft, points)
        new["told_version"] = draft.version
    session.flush()
    set_now(session, state, **new)
    audit.record(session, actor, what, f"job:{job.number}", now, {"draft": draft.id, **said})


def moved_on(
    session: Session,
    actor: Actor,
    number: str,
    draft_id: int,
    version: int,
    what: str,
    now: datetime,
    said: Mapping[str, audit.Value],
    **state: object,
) -> str:
    """The same for a draft of which the session keeps no record; the mark that it has now.

    version: as it was. state: what is noticed, and what else is kept beside the draft. Raises
    Conflict `changed_meanwhile`.
    """
    session.flush()
    shop_id, version = actor.shop_id, version + 1
    met = {"id": draft_id, "version": version - 1}
    if not change_row(session, Draft, shop_id, met, {"version": version}):
        raise Conflict("changed_meanwhile")
    mark = secrets.token_hex(8)
    new = {"mark": mark, "told_version": version, **state}
    if not change_row(session, DraftState, shop_id, {"draft_id": draft_id}, new):
        add_row(session, DraftState(shop_id=shop_id, draft_id=draft_id, **new))
    audit.record(session, actor, what, f"job:{number}", now, {"draft": draft_id, **said})
    # Whoever read the records in this session before would not see it.
    session.expire_all()
    return mark


def _move_on(session: Session, draft: Draft) -> None:
    """The version goes up by one, whatever else of the draft is to be written."""
    if draft in session.dirty:
        draft.version += 1
        session.flush()
    else:
        set_now(session, draft)
