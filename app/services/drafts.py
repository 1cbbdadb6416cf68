"""Drafts: a measurement on the floor, point by point, until it is submitted as a survey."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import JigbookError
from app.schemas.result import ResultOut
from app.services.permissions import Actor
from app.services.surveys import SurveyView


@dataclass(frozen=True, slots=True)
class DraftPoint:
    """A point as it was sent."""

    id: int
    order: int
    sent: Mapping[str, object]
    """`feature`, `label`, `station`, `x`, `y`, `z` and what else was sent with it."""
    as_entered: Mapping[str, object]
    """The reading as it was typed, `{"x": "412,5", …}`; empty when it came as numbers."""
    added_at: datetime
    added_by: str | None
    stands: bool
    """Neither taken back nor measured again; only points that stand are submitted."""
    supersedes: int | None
    """Id of the point whose place it takes."""


@dataclass(frozen=True, slots=True)
class DraftView:
    id: int
    job_number: str
    phase: str
    version: int
    """Goes up with every change; send it back to be told when somebody else changed the draft."""
    header: Mapping[str, object]
    """What the survey says besides its points: `by`, `mounting`, `part_temperature_c`, `up` …"""
    points: tuple[DraftPoint, ...]
    opened_at: datetime
    opened_by: str | None
    changed_at: datetime
    state: str
    """`open`, `submitted`, `discarded`."""


@dataclass(frozen=True, slots=True)
class Preview:
    """What the points so far give: a result, or why there is none yet."""

    result: ResultOut | None
    refusal: JigbookError | None


def open_draft(
    session: Session,
    actor: Actor,
    number: str,
    phase: str,
    now: datetime,
    header: Mapping[str, object] | None = None,
) -> DraftView:
    """Opens a measurement in phase `before`, `during` or `after`.

    Raises NotFound `no_such_job`, BadInput, Conflict `job_closed`, `draft_open`.
    """
    raise NotImplementedError


def read(session: Session, actor: Actor, number: str, draft_id: int) -> DraftView:
    """One draft. Raises NotFound `no_such_draft`."""
    raise NotImplementedError


def listing(session: Session, actor: Actor, number: str) -> tuple[DraftView, ...]:
    """The open drafts of a job."""
    raise NotImplementedError


def set_header(
    session: Session,
    actor: Actor,
    number: str,
    draft_id: int,
    header: Mapping[str, object],
    now: datetime,
    version: int | None = None,
) -> DraftView:
    """Puts a new header in place. Raises NotFound, BadInput, Conflict as `add_points` does."""
    raise NotImplementedError


def add_points(
    session: Session,
    actor: Actor,
    number: str,
    draft_id: int,
    points: Sequence[Mapping[str, object]],
    now: datetime,
    version: int | None = None,
) -> DraftView:
    """Adds points, all or none of them.

    A point may carry `as_entered`, the reading as it was typed, and `supersedes`, the id of the
    standing point whose place it takes.

    Raises NotFound, BadInput with every problem of every point, Conflict `draft_changed` when
    `version` is not the draft's, `draft_not_open`, `job_closed`.
    """
    raise NotImplementedError


def undo(
    session: Session,
    actor: Actor,
    number: str,
    draft_id: int,
    now: datetime,
    point_id: int | None = None,
    version: int | None = None,
) -> DraftView:
    """Takes back a point (the last one that stands, unless told); it is kept and marked.

    Raises NotFound `no_such_point`, and Conflict as `add_points` does.
    """
    raise NotImplementedError


def preview(session: Session, actor: Actor, number: str, draft_id: int) -> Preview:
    """Evaluates the points so far, without storing anything."""
    raise NotImplementedError


def discard(
    session: Session,
    actor: Actor,
    number: str,
    draft_id: int,
    now: datetime,
    version: int | None = None,
) -> DraftView:
    """Puts a draft away; its points are kept. Raises as `add_points` does."""
    raise NotImplementedError


def submit(
    session: Session,
    actor: Actor,
    number: str,
    draft_id: int,
    now: datetime,
    version: int | None = None,
    supersedes: int | None = None,
) -> SurveyView:
    """Submits the draft's standing points as a survey; see `surveys.submit`.

    A refused survey leaves the draft open as it was. Raises as `add_points` and
    `surveys.submit` do.
    """
    raise NotImplementedError
