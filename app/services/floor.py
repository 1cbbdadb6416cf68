"""The floor: a measurement taken step by step, each reading checked when it comes.

Whatever is sent may come twice, when its answer was lost: it carries a request key and is stored
once. Points of two tablets never conflict; only changes of the same thing do.
"""

from collections.abc import Mapping, Sequence
from datetime import datetime

from sqlalchemy.orm import Session

from app.schemas.planning import PlanOut
from app.services.floor_views import Done, FloorView, News
from app.services.permissions import Actor


def road(session: Session, actor: Actor, number: str, draft_id: int) -> FloorView:
    """All steps of a draft and how they stand; nothing is evaluated.

    Raises NotFound `no_such_job`, `no_such_draft`.
    """
    raise NotImplementedError


def take(
    session: Session,
    actor: Actor,
    number: str,
    draft_id: int,
    step: str | None,
    readings: Sequence[Mapping[str, object]],
    request_key: str | None,
    now: datetime,
) -> Done:
    """Stores the readings of a step, all or none of them.

    A reading is `x`, `y`, `z` and, if known, `u`, `offset`, `cov`, `as_entered`, `name` (the target
    or end that it is of; the next open one unless told), `supersedes` (id of the point that it
    replaces). step None: where live points go. Raises NotFound `no_such_step`, BadInput, Conflict
    `draft_not_open`, `job_closed`, `draft_paused`, `request_key_reused`, `no_live_step`.
    """
    raise NotImplementedError


def record(
    session: Session,
    actor: Actor,
    number: str,
    draft_id: int,
    step: str,
    pieces: Mapping[str, object],
    request_key: str | None,
    now: datetime,
    seen: Mapping[str, object] | None = None,
) -> Done:
    """Stores what a step without points says: pieces of the heading, each by itself, and that the
    step is done (no pieces: merely confirmed).

    Pieces are those of `schemas.draft.HeadingIn`, and `targets` (names) of the step `rig`. seen:
    what the sender saw of these pieces; one that somebody else changed meanwhile is a Conflict
    `heading_changed`. Raises as `take` does.
    """
    raise NotImplementedError


def undo(
    session: Session,
    actor: Actor,
    number: str,
    draft_id: int,
    point_id: int | None,
    request_key: str | None,
    now: datetime,
) -> Done:
    """Takes a point back (the last that stands unless told); it is kept and marked."""
    raise NotImplementedError


def pause(
    session: Session,
    actor: Actor,
    number: str,
    draft_id: int,
    request_key: str | None,
    now: datetime,
) -> FloorView:
    """Lets the measurement rest; `FloorView.repeats` says what must be measured again."""
    raise NotImplementedError


def resume(
    session: Session,
    actor: Actor,
    number: str,
    draft_id: int,
    request_key: str | None,
    now: datetime,
) -> FloorView:
    """Takes it up again: the datum is measured again first."""
    raise NotImplementedError


def restart_after_move(
    session: Session,
    actor: Actor,
    number: str,
    draft_id: int,
    scope: str,
    request_key: str | None,
    now: datetime,
) -> FloorView:
    """Puts away what was measured before the set-up moved; kept, with the reason `set_up_moved`.

    scope: `steering` (its stations alone) or `everything`.
    """
    raise NotImplementedError


def aim(
    session: Session, actor: Actor, number: str, draft_id: int, step: str | None, now: datetime
) -> None:
    """Says where points go that an instrument sends; None: nowhere. No version moves on."""
    raise NotImplementedError


def news(session: Session, actor: Actor, number: str, draft_id: int, after: int) -> News | None:
    """What came since version `after`; None when nothing did. Cheap enough to be asked often."""
    raise NotImplementedError


def plan(session: Session, actor: Actor, number: str, draft_id: int) -> PlanOut:
    """What is known so far and what one more point or station would bring; worked out once for
    each version of the draft. Raises Refusal where no further point would set right what is
    wrong."""
    raise NotImplementedError
