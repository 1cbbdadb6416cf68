"""Visual checks of a job, and the holds that a seen crack or wrinkle opens."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.schemas.visual_check import VisualCheckIn
from app.services.permissions import Actor


@dataclass(frozen=True, slots=True)
class VisualCheckView:
    item: str
    """One of `schemas.visual_check.ITEMS`."""
    answer: str
    """`seen`, `not_seen`, `not_checked`."""
    place: str | None
    note: str | None
    checked_at: datetime | None
    """None: nobody has answered this item yet, and the answer is `not_checked`."""
    checked_by: str | None


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
    does not close it: only `close_hold` does. Gives the open holds of the job.
    Raises NotFound `no_such_job`, Conflict `job_closed`.
    """
    raise NotImplementedError


def listing(session: Session, actor: Actor, number: str) -> tuple[VisualCheckView, ...]:
    """The latest answer of every item, in the order of the list."""
    raise NotImplementedError


def holds(session: Session, actor: Actor, number: str) -> tuple[HoldView, ...]:
    """All holds of a job, open ones first."""
    raise NotImplementedError


def close_hold(
    session: Session, actor: Actor, number: str, hold_id: int, reason: str, now: datetime
) -> HoldView:
    """Closes a hold; only an inspector may, with a reason.

    Raises NotFound `no_such_hold`, Conflict `hold_closed`, BadInput for an empty reason.
    """
    raise NotImplementedError
