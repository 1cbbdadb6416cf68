"""Drafts: a measurement on the floor, point by point, until it is submitted as a survey."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import BadInput, Conflict, NotFound, Problem, Refusal
from app.records.rows import add_row
from app.records.scope import scoped
from app.records.tables import Draft, Job, Shop
from app.records.tables import DraftPoint as PointRow
from app.schemas.draft import AsEnteredIn, DraftPointIn, DraftPointsIn, HeadingIn, OpenDraftIn
from app.schemas.planning import PlanOut
from app.schemas.problems import refused
from app.schemas.reading import checked
from app.schemas.survey import MOST_POINTS
from app.services import audit, draft_doubts, floor_acts, planning, surveys
from app.services.draft_changes import changed, row_of, to_change
from app.services.draft_views import (
    DraftPoint,
    DraftView,
    Preview,
    document_of,
    point_rows,
    standing_rows,
    view,
    with_new,
)
from app.services.lookup import job_row, open_job
from app.services.permissions import Actor, require
from app.services.survey_documents import read_document
from app.services.surveys import SurveyView

__all__ = ["DraftPoint", "DraftView", "Preview"]

ADDED = "draft.points_added"


def open_draft(
    session: Session,
    actor: Actor,
    number: str,
    phase: str,
    now: datetime,
    header: Mapping[str, object] | None = None,
    supersedes: int | None = None,
    because: str | None = None,
) -> DraftView:
    """Opens a measurement in phase `before`, `during` or `after`; `supersedes` is the number of
    the job's survey whose place it is to take, `because` why.

    Raises NotFound `no_such_job`, BadInput, Conflict `job_closed`, `draft_open`, and as
    `surveys.to_supersede` does.
    """
    require(actor, "drafts.write")
    checked(OpenDraftIn, {**(header or {}), "phase": phase})
    job = open_job(session, actor, number)
    if any(draft.phase == phase for draft in _open_rows(session, actor, job)):
        raise Conflict("draft_open", None, phase=phase)
    replaced, why = surveys.to_supersede(session, actor, job, phase, supersedes, because)
    draft = Draft(
        shop_id=actor.shop_id,
        job_id=job.id,
        phase=phase,
        instrument_id=job.instrument_id,
        heading=json.dumps(header or {}, ensure_ascii=False),
        supersedes_id=replaced.id if replaced else None,
        supersedes_because=why,
        opened_by_id=actor.person_id,
        opened_at=now,
    )
    session.add(draft)
    session.flush()
    said: dict[str, audit.Value] = {"draft": draft.id, "phase": phase}
    if supersedes is not None:
        said["supersedes"] = supersedes
    audit.record(session, actor, "draft.opened", f"job:{number}", now, said)
    return view(session, actor, job, draft)


def read(session: Session, actor: Actor, number: str, draft_id: int) -> DraftView:
    """One draft. Raises NotFound `no_such_draft`."""
    require(actor, "drafts.read")
    job = job_row(session, actor, number)
    return view(session, actor, job, row_of(session, actor, job, draft_id))


def listing(session: Session, actor: Actor, number: str) -> tuple[DraftView, ...]:
    """The open drafts of a job."""
    require(actor, "drafts.read")
    job = job_row(session, actor, number)
    return tuple(view(session, actor, job, row) for row in _open_rows(session, actor, job))


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
    job, draft = to_change(session, actor, number, draft_id, version)
    _put_heading(session, actor, job, draft, header, now)
    return view(session, actor, job, draft)


def set_pieces(
    session: Session,
    actor: Actor,
    number: str,
    draft_id: int,
    pieces: Mapping[str, object],
    now: datetime,
    seen: Mapping[str, object] | None = None,
) -> DraftView:
    """Puts some pieces of the header in place, one None away; all others stay as they are.

    seen: what the sender saw of these pieces. Raises NotFound, BadInput, Conflict
    `heading_changed` where somebody else set one of them to something else meanwhile.
    """
    job, draft = to_change(session, actor, number, draft_id, None)
    standing: dict[str, object] = json.loads(draft.heading)
    for name, value in (seen or {}).items():
        if name in pieces and standing.get(name) not in (value, pieces[name]):
            raise Conflict("heading_changed", name)
    merged = {**standing, **pieces}
    header = {name: value for name, value in merged.items() if value is not None}
    if header != standing:
        _put_heading(session, actor, job, draft, header, now)
    return view(session, actor, job, draft)


def _put_heading(
    session: Session,
    actor: Actor,
    job: Job,
    draft: Draft,
    header: Mapping[str, object],
    now: datetime,
) -> None:
    checked(HeadingIn, header)
    draft.heading = json.dumps(header, ensure_ascii=False)
    changed(session, actor, job, draft, "draft.heading_set", now, {})


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
    `version` is not the draft's, `draft_not_open`, `draft_paused`, `job_closed`.
    """
    job, draft = to_change(session, actor, number, draft_id, version)
    if floor_acts.is_paused(session, actor, draft):
        raise Conflict("draft_paused", None)
    before = view(session, actor, job, draft)
    rows = add_rows(session, actor, before, points, now)

    def standing() -> list[tuple[int, Mapping[str, object]]]:
        after = with_new(before, before.version, rows, None)
        return [(point.id, point.sent) for point in after.standing]

    said: dict[str, audit.Value] = {"points": len(rows)}
    changed(session, actor, job, draft, ADDED, now, said, standing=standing)
    return view(session, actor, job, draft)


def add_rows(
    session: Session,
    actor: Actor,
    draft: DraftView,
    points: Sequence[Mapping[str, object]],
    now: datetime,
) -> list[PointRow]:
    """Points alone, of a draft that was found open: what else changes with them is the caller's.
    Raises BadInput."""
    sent = checked(DraftPointsIn, {"points": list(points)}).points
    _require_room(draft, sent)
    session.flush()
    rows = [_point_row(actor, draft.id, point, now) for point in sent]
    for row in rows:
        add_row(session, row)
    return rows


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
    job, draft = to_change(session, actor, number, draft_id, version)
    standing = {point.id for point in view(session, actor, job, draft).standing}
    chosen = max(standing, default=None) if point_id is None else point_id
    rows = [row for row in point_rows(session, actor, draft) if row.id == chosen]
    if chosen not in standing or not rows:
        raise NotFound("no_such_point", None, met=chosen)
    rows[0].discarded_at, rows[0].discarded_because = now, "undone"
    changed(session, actor, job, draft, "draft.point_undone", now, {"point": chosen})
    return view(session, actor, job, draft)


def put_away(
    session: Session, actor: Actor, draft: Draft, scope: str, now: datetime
) -> tuple[int, ...]:
    """Marks the standing points as measured before the set-up moved: those of the steering, or
    everything. They are kept and never become part of a survey."""
    rows = [
        row
        for row in standing_rows(session, actor, draft)
        if scope != "steering" or row.feature == "steer_target"
    ]
    for row in rows:
        row.discarded_at, row.discarded_because = now, "set_up_moved"
    return tuple(row.id for row in rows)


def preview(session: Session, actor: Actor, number: str, draft_id: int) -> Preview:
    """Evaluates the points so far, without storing anything."""
    draft = read(session, actor, number, draft_id)
    job = job_row(session, actor, number)
    try:
        content = read_document(session, actor, job, document_of(draft))
        return Preview(surveys.evaluated(session, actor, job, content), None)
    except (BadInput, Refusal) as error:
        return Preview(None, error)


def plan(session: Session, actor: Actor, number: str, draft_id: int) -> PlanOut:
    """What to measure next: from the points so far, with the job's reference; nothing is stored.

    While the points cannot be evaluated yet, the plan says what is needed first. Raises NotFound,
    BadInput, and Refusal where no further point would set right what is wrong.
    """
    draft = read(session, actor, number, draft_id)
    if not draft.standing:
        return planning.nothing_measured()
    job = job_row(session, actor, number)
    content = read_document(session, actor, job, document_of(draft))
    shop = session.scalars(scoped(session, actor, Shop)).one()
    reference, _called = surveys.reference_of(session, actor, job)
    return planning.plan(content.survey, reference, shop.confidence_threshold)


def discard(
    session: Session,
    actor: Actor,
    number: str,
    draft_id: int,
    now: datetime,
    version: int | None = None,
) -> DraftView:
    """Discards a draft; its points are kept. Raises as `add_points` does."""
    job, draft = to_change(session, actor, number, draft_id, version)
    draft.closed_at, draft.closed_as = now, "discarded"
    changed(session, actor, job, draft, "draft.discarded", now, {})
    return view(session, actor, job, draft)


@dataclass(frozen=True, slots=True)
class ReadyDraft:
    """A draft read and evaluated, not yet submitted: made outside the write lock."""

    survey: surveys.Prepared
    draft_id: int
    version: int
    despite: tuple[str, ...] = ()
    """Codes of what was noticed and submitted all the same."""


def prepare(
    session: Session,
    actor: Actor,
    number: str,
    draft_id: int,
    version: int | None = None,
    *,
    despite_noticed: bool = False,
) -> ReadyDraft:
    """Evaluates the standing points; stores nothing. Raises as `submit` does."""
    job, draft = to_change(session, actor, number, draft_id, version)
    found = view(session, actor, job, draft)
    told = draft_doubts.standing(session, actor, draft, found)
    despite = draft_doubts.require_answered(told, despite=despite_noticed)
    prepared = surveys.prepare(session, actor, number, document_of(found))
    return ReadyDraft(prepared, draft_id, draft.version, despite)


def store(
    session: Session,
    actor: Actor,
    ready: ReadyDraft,
    now: datetime,
    supersedes: int | None = None,
    because: str | None = None,
) -> SurveyView:
    """Stores what was prepared as a survey, unless the draft changed meanwhile; it takes the place
    that the draft says unless told."""
    number = ready.survey.job_number
    job, draft = to_change(session, actor, number, ready.draft_id, ready.version)
    if supersedes is None:
        known = view(session, actor, job, draft)
        supersedes, because = known.supersedes, known.because
    survey = surveys.store(session, actor, ready.survey, now, supersedes, because, "draft")
    draft.closed_at, draft.closed_as, draft.survey_id = now, "submitted", survey.id
    session.flush()
    if ready.despite:
        said: dict[str, audit.Value] = {"draft": draft.id, "noticed": list(ready.despite)}
        audit.record(session, actor, "draft.submitted_despite", f"job:{number}", now, said)
    return survey


def submit(
    session: Session,
    actor: Actor,
    number: str,
    draft_id: int,
    now: datetime,
    version: int | None = None,
    supersedes: int | None = None,
    because: str | None = None,
    *,
    despite_noticed: bool = False,
) -> SurveyView:
    """Submits the draft's standing points as a survey, in one transaction.

    A refused survey leaves the draft open as it was. Raises as `add_points` and
    `surveys.submit` do, and Conflict `noticed_unanswered` where something was noticed and the
    sender does not say that it was read.
    """
    ready = prepare(session, actor, number, draft_id, version, despite_noticed=despite_noticed)
    return store(session, actor, ready, now, supersedes, because)


def _open_rows(session: Session, actor: Actor, job: Job) -> list[Draft]:
    rows = scoped(session, actor, Draft).where(Draft.job_id == job.id, Draft.closed_at.is_(None))
    return list(session.scalars(rows.order_by(Draft.id)))


def _require_room(known: DraftView, sent: Sequence[DraftPointIn]) -> None:
    """No more points than a survey may have, each old one replaced once, and one that stands."""
    standing = {point.id for point in known.standing}
    problems = []
    if len(known.points) + len(sent) > MOST_POINTS:
        facts = {"met": len(known.points) + len(sent), "limit": MOST_POINTS}
        problems.append(Problem("too_many", "points", facts))
    for index, point in enumerate(sent):
        if point.supersedes is None:
            continue
        if point.supersedes not in standing:
            where = f"points.{index}.supersedes"
            problems.append(Problem("no_such_point", where, {"met": point.supersedes}))
        standing.discard(point.supersedes)
    if problems:
        raise refused(problems)


def _point_row(actor: Actor, draft_id: int, point: DraftPointIn, now: datetime) -> PointRow:
    typed = point.as_entered.model_dump(exclude_none=True)
    return PointRow(
        shop_id=actor.shop_id,
        draft_id=draft_id,
        cov=json.dumps(point.cov) if point.cov else None,
        as_entered="" if point.as_entered == AsEnteredIn() else json.dumps(typed),
        supersedes_id=point.supersedes,
        taken_by_id=actor.person_id,
        taken_at=now,
        **point.model_dump(exclude={"cov", "as_entered", "supersedes"}),
    )
