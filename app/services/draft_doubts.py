"""What was noticed about a draft's points and still stands: nobody submits it without saying so."""

from collections.abc import Sequence

from sqlalchemy.orm import Session

from app.errors import Conflict
from app.records.tables import Draft
from app.services import floor_told
from app.services.draft_views import DraftView
from app.services.floor_views import Told
from app.services.permissions import Actor
from app.wording.noticed import short


def standing(session: Session, actor: Actor, draft: Draft, found: DraftView) -> tuple[Told, ...]:
    """All that was noticed but what is told for its own sake."""
    state = floor_told.state_row(session, actor, draft)
    told = () if state is None else floor_told.told_of(state.told, {}, found)
    return tuple([one for one in told if not one.good])


def require_answered(told: Sequence[Told], *, despite: bool) -> tuple[str, ...]:
    """The codes of what is submitted all the same. despite: the sender says that it was seen.

    Raises Conflict `noticed_unanswered`, which names it.
    """
    if told and not despite:
        raise Conflict("noticed_unanswered", "despite_noticed", noticed=short(told))
    return tuple(dict.fromkeys([one.code for one in told]))
