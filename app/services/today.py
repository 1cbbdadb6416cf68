"""The desk's list: what waits for whom, and since when."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.services.permissions import Actor


@dataclass(frozen=True, slots=True)
class TodayLine:
    """One job, one line."""

    number: str
    status: str
    """One of `jobs.STATUSES`."""
    waits_for: str | None
    """`desk`, `technician`, `inspector`, or None when nothing is left to do."""
    next_step: str | None
    """One of `jobs.STEPS`."""
    since: datetime
    plate: str | None
    make: str
    model: str
    customer_name: str | None
    claim_number: str | None
    finding: str | None
    """Verdict of the job's last standing survey."""
    holds_open: int


@dataclass(frozen=True, slots=True)
class Today:
    lines: tuple[TodayLine, ...]
    """What has waited longest comes first; closed jobs last, newest first."""
    total: int
    """How many there are before `limit` and `offset`."""
    waiting: tuple[tuple[str, int], ...]
    """Role and how many open jobs wait for it, under the same search."""


def today(
    session: Session,
    actor: Actor,
    text: str = "",
    status: str | None = None,
    waits_for: str | None = None,
    include_closed: bool = False,
    limit: int = 100,
    offset: int = 0,
) -> Today:
    """The list of jobs; `text` searches number, plate, frame number, machine, customer, claim.

    Closed jobs are left out unless asked for, searched for by `status`, or found by `text`.
    """
    raise NotImplementedError
