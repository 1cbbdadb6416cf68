"""Whose place a measurement in progress is to take: said when it is begun, or put right later."""

from datetime import datetime

from sqlalchemy.orm import Session

from app.services import audit, surveys
from app.services.draft_changes import changed, to_change
from app.services.draft_views import DraftView, view
from app.services.permissions import Actor


def set_replacing(
    session: Session,
    actor: Actor,
    number: str,
    draft_id: int,
    supersedes: int | None,
    because: str | None,
    now: datetime,
    version: int | None = None,
) -> DraftView:
    """Says whose place the draft is to take, and why; None: of none. Raises as
    `drafts.add_points` and `surveys.to_supersede` do."""
    job, draft = to_change(session, actor, number, draft_id, version)
    replaced, why = surveys.to_supersede(session, actor, job, draft.phase, supersedes, because)
    draft.supersedes_id, draft.supersedes_because = replaced.id if replaced else None, why
    said: dict[str, audit.Value] = {"supersedes": supersedes}
    changed(session, actor, job, draft, "draft.replacing_set", now, said, look=False)
    return view(session, actor, job, draft)
