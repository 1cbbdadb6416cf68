"""What a measurement looks like while it is being taken."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import JigbookError
from app.records.scope import scoped
from app.records.tables import Draft, Job, Survey
from app.records.tables import DraftPoint as Row
from app.schemas.result import ResultOut
from app.schemas.survey import SURVEY_FORMAT
from app.services.lookup import known, names
from app.services.permissions import Actor

SENT = ("feature", "label", "station", "x", "y", "z", "u", "offset", "turn")


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
    because: str | None = None
    """Why it does not stand: `undone`, `set_up_moved`, `replaced`."""


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
    survey_number: int | None
    """Of the survey that it became."""
    supersedes: int | None = None
    """Number of the survey whose place it is to take."""
    because: str | None = None
    """Why."""

    @property
    def standing(self) -> tuple[DraftPoint, ...]:
        """The points that would be submitted."""
        return tuple(point for point in self.points if point.stands)


@dataclass(frozen=True, slots=True)
class Preview:
    """What the points so far give: a result, or why there is none yet."""

    result: ResultOut | None
    refusal: JigbookError | None


def view(session: Session, actor: Actor, job: Job, draft: Draft) -> DraftView:
    """A draft with all its points, those that were taken back too."""
    rows = point_rows(session, actor, draft)
    survey = known(session, actor, Survey, draft.survey_id)
    to_replace = known(session, actor, Survey, draft.supersedes_id)
    people = names(session, actor, [draft.opened_by_id, *(row.taken_by_id for row in rows)])
    replaced = {row.supersedes_id for row in rows}
    moments = [moment for row in rows for moment in (row.taken_at, row.discarded_at) if moment]
    return DraftView(
        id=draft.id,
        job_number=job.number,
        phase=draft.phase,
        version=draft.version,
        header=json.loads(draft.heading),
        points=tuple(
            _point_view(order, row, replaced, people) for order, row in enumerate(rows, 1)
        ),
        opened_at=draft.opened_at,
        opened_by=people.get(draft.opened_by_id),
        changed_at=max([draft.opened_at, *moments]),
        state=draft.closed_as or "open",
        survey_number=survey.ordinal if survey else None,
        supersedes=to_replace.ordinal if to_replace else None,
        because=draft.supersedes_because or None,
    )


def point_rows(session: Session, actor: Actor, draft: Draft) -> list[Row]:
    """The rows of a draft's points in the order in which they were taken."""
    rows = scoped(session, actor, Row).where(Row.draft_id == draft.id)
    return list(session.scalars(rows.order_by(Row.id)))


def standing_rows(session: Session, actor: Actor, draft: Draft) -> list[Row]:
    """The rows of the points that stand, in order."""
    return standing_of(point_rows(session, actor, draft))


def standing_of(rows: Sequence[Row]) -> list[Row]:
    """Those that were neither taken back nor measured again."""
    replaced = {row.supersedes_id for row in rows}
    return [row for row in rows if row.discarded_at is None and row.id not in replaced]


def document_of(draft: DraftView) -> dict[str, object]:
    """The `jigbook.survey/1` document that the standing points make."""
    return {
        "format": SURVEY_FORMAT,
        "phase": draft.phase,
        **draft.header,
        "points": [dict(point.sent) for point in draft.standing],
    }


def document_with(draft: Draft, points: Sequence[Mapping[str, object]]) -> dict[str, object]:
    """The same for a draft's row and what was sent of its standing points."""
    return {
        "format": SURVEY_FORMAT,
        "phase": draft.phase,
        **json.loads(draft.heading),
        "points": [dict(one) for one in points],
    }


def with_new(found: DraftView, version: int, rows: Sequence[Row], by: str | None) -> DraftView:
    """The view of a draft to which these rows were just added, without reading it again."""
    gone = {row.supersedes_id for row in rows}
    kept = [
        replace(point, stands=False, because="replaced") if point.id in gone else point
        for point in found.points
    ]
    people = {row.taken_by_id: by for row in rows if by is not None}
    new = [_point_view(order, row, set(), people) for order, row in enumerate(rows, len(kept) + 1)]
    changed_at = max([found.changed_at, *[row.taken_at for row in rows]])
    points = (*kept, *new)
    return replace(found, version=version, points=points, changed_at=changed_at)


def _point_view(
    order: int, row: Row, replaced: set[int | None], people: Mapping[int | None, str]
) -> DraftPoint:
    return DraftPoint(
        id=row.id,
        order=order,
        sent=sent_of(row),
        as_entered=json.loads(row.as_entered or "{}"),
        added_at=row.taken_at,
        added_by=people.get(row.taken_by_id),
        stands=row.discarded_at is None and row.id not in replaced,
        supersedes=row.supersedes_id,
        because=row.discarded_because or ("replaced" if row.id in replaced else None),
    )


def sent_of(row: Row) -> dict[str, object]:
    """A point as it was sent."""
    kept = {name: getattr(row, name) for name in SENT}
    cov: Sequence[float] | None = json.loads(row.cov) if row.cov else None
    return {name: value for name, value in {**kept, "cov": cov}.items() if value is not None}
