"""Surveys: submitted measurements. Never edited; a later survey may supersede one."""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import BadInput, Conflict, Fact, NotFound, Problem
from app.records.scope import scoped
from app.records.tables import Job, ReferenceRevision, Result, Shop, Survey, SurveyPoint
from app.schemas.points import PointIn
from app.schemas.reading import reference_from
from app.schemas.reference import ReferenceIn
from app.schemas.result import ResultOut
from app.services import audit
from app.services.before_after import before_of, change_or_why, judged_alike, standing
from app.services.lookup import job_row, known, open_job
from app.services.permissions import Actor, require
from app.services.solving import reference_name, solve
from app.services.survey_documents import SurveyDocument, read_document, require_past
from app.services.survey_reading import side_by_side, superseded_by, view
from app.services.survey_views import Change, Comparison, SurveyView
from app.services.words import words
from app.wording import labels
from app.wording.errors import explain
from app.wording.translation import _

__all__ = ["PHASES", "Change", "Comparison", "Prepared", "SurveyView"]

PHASES = ("before", "during", "after")


@dataclass(frozen=True, slots=True)
class Prepared:
    """A survey read and evaluated, not yet stored: made outside the write lock."""

    job_number: str
    content: SurveyDocument
    result: ResultOut
    reference_revision_id: int | None
    job_instrument_id: int | None
    """What the job had when the survey was evaluated."""


def prepare(
    session: Session,
    actor: Actor,
    number: str,
    document: Mapping[str, object] | str,
    phase: str | None = None,
    heading: Mapping[str, object] | None = None,
) -> Prepared:
    """Reads and evaluates a survey against the job's reference and instrument; stores nothing.

    `document` is a `jigbook.survey/1` document, decoded or as text, or CSV text with the header
    `feature,label,station,x,y,z,u`; `heading` is what goes with the CSV (`measured_at`, `by`,
    `mounting`, `part_temperature_c`, `up` …). The phase stands in the document or in `phase`.
    Raises NotFound `no_such_job`, BadInput, Refusal, Conflict `job_closed`.
    """
    require(actor, "surveys.submit")
    job = open_job(session, actor, number)
    content = read_document(session, actor, job, document, phase, heading)
    return Prepared(
        job_number=job.number,
        content=content,
        result=evaluated(session, actor, job, content),
        reference_revision_id=job.reference_revision_id,
        job_instrument_id=job.instrument_id,
    )


def evaluated(session: Session, actor: Actor, job: Job, content: SurveyDocument) -> ResultOut:
    """What the engine makes of a survey, with the job's reference and the shop's threshold."""
    shop = session.scalars(scoped(session, actor, Shop)).one()
    reference, called = reference_of(session, actor, job)
    return solve(content.survey, reference, shop.confidence_threshold, called)


def reference_of(session: Session, actor: Actor, job: Job) -> tuple[ReferenceIn | None, str]:
    """The reference of a job, and what it is called; None and nothing where it has none."""
    revision = known(session, actor, ReferenceRevision, job.reference_revision_id)
    if revision is None:
        return None, ""
    reference = reference_from(json.loads(revision.document))
    called = _("{name}, revision {number}").format(
        name=reference_name(reference), number=revision.revision
    )
    return reference, called


def store(
    session: Session,
    actor: Actor,
    prepared: Prepared,
    now: datetime,
    supersedes: int | None = None,
    because: str | None = None,
    sent_as: str | None = None,
) -> SurveyView:
    """Stores a prepared survey with its points and its result.

    `supersedes` is the number of the job's survey whose place it takes, `because` why. Raises
    NotFound, BadInput `in_the_future` and as `to_supersede` does, Conflict `job_closed`,
    `survey_superseded`, `job_changed` when reference or instrument of the job are no longer those
    it was prepared with.
    """
    require(actor, "surveys.submit")
    job = open_job(session, actor, prepared.job_number)
    require_past(prepared.content.survey.measured_at, now)
    met = (job.reference_revision_id, job.instrument_id)
    if met != (prepared.reference_revision_id, prepared.job_instrument_id):
        raise Conflict("job_changed", None, job=job.number)
    phase = prepared.content.survey.phase or ""
    replaced, why = to_supersede(session, actor, job, phase, supersedes, because)
    row = _survey(session, actor, job, prepared.content, now)
    row.supersedes_id = replaced.id if replaced else None
    row.supersedes_because = why
    row.sent_as = sent_as or row.sent_as
    session.add(row)
    session.flush()
    session.add_all(
        _point(actor, row, position, point)
        for position, point in enumerate(prepared.content.survey.points)
    )
    session.add(_result(actor, row, prepared.result, now))
    session.flush()
    _record(session, actor, job, row, prepared.result, supersedes, now)
    return view(session, actor, job, row)


def submit(
    session: Session,
    actor: Actor,
    number: str,
    document: Mapping[str, object] | str,
    now: datetime,
    phase: str | None = None,
    supersedes: int | None = None,
    because: str | None = None,
    heading: Mapping[str, object] | None = None,
    sent_as: str | None = None,
) -> SurveyView:
    """`prepare` and `store` in one transaction. A refused survey stores nothing."""
    prepared = prepare(session, actor, number, document, phase, heading)
    return store(session, actor, prepared, now, supersedes, because, sent_as)


def read(session: Session, actor: Actor, number: str, survey_number: int) -> SurveyView:
    """One survey of a job. Raises NotFound `no_such_job`, `no_such_survey`."""
    require(actor, "surveys.read")
    job = job_row(session, actor, number)
    return view(session, actor, job, survey_row(session, actor, job, survey_number))


def listing(session: Session, actor: Actor, number: str) -> tuple[SurveyView, ...]:
    """All surveys of a job in the order of submission."""
    require(actor, "surveys.read")
    job = job_row(session, actor, number)
    return tuple(view(session, actor, job, row) for row in survey_rows(session, actor, job))


def compare(session: Session, actor: Actor, number: str) -> Comparison | None:
    """Before and after side by side; None unless the job has both.

    The last measurement after the correction, and the one before it that a certificate of it
    would set beside it.
    """
    views = standing(listing(session, actor, number))
    after = next((view for view in reversed(views) if view.phase == "after"), None)
    before = before_of(views, after)
    if before is None or after is None:
        return None
    changes = side_by_side(before.result, after.result)
    told, refusal = change_or_why(before, after)
    why = None if refusal is None else explain(refusal).sentence
    return Comparison(before, after, changes, judged_alike(before, after), told, why)


def survey_rows(session: Session, actor: Actor, job: Job) -> list[Survey]:
    """The rows of a job's surveys in the order of submission."""
    rows = scoped(session, actor, Survey).where(Survey.job_id == job.id)
    return list(session.scalars(rows.order_by(Survey.ordinal)))


def survey_row(session: Session, actor: Actor, job: Job, survey_number: int) -> Survey:
    """The row of one. Raises NotFound `no_such_survey`."""
    for row in survey_rows(session, actor, job):
        if row.ordinal == survey_number:
            return row
    raise NotFound("no_such_survey", None, job=job.number, met=survey_number)


def to_supersede(
    session: Session,
    actor: Actor,
    job: Job,
    phase: str,
    survey_number: int | None,
    because: str | None,
) -> tuple[Survey | None, str]:
    """The survey whose place one of this phase is to take, and why; None and nothing without one.

    Raises NotFound `no_such_survey`, Conflict `survey_superseded`, BadInput `replaces_other_phase`,
    `replaces_without_reason`: a finding before the correction is not lost to one after it, and
    none without a word.
    """
    if survey_number is None:
        return None, ""
    row = survey_row(session, actor, job, survey_number)
    later = superseded_by(session, actor, row)
    if later is not None:
        raise Conflict("survey_superseded", None, met=survey_number, later=later)
    if row.phase != phase:
        facts: dict[str, Fact] = {"number": survey_number, "was": labels.phase(row.phase)}
        facts["is_now"] = labels.phase(phase)
        raise BadInput([Problem("replaces_other_phase", "supersedes", facts)])
    if not (because or "").strip():
        raise BadInput([Problem("replaces_without_reason", "because", {"number": survey_number})])
    return row, words(because, "because")


def _survey(
    session: Session, actor: Actor, job: Job, content: SurveyDocument, now: datetime
) -> Survey:
    survey = content.survey
    return Survey(
        shop_id=actor.shop_id,
        job_id=job.id,
        ordinal=len(survey_rows(session, actor, job)) + 1,
        phase=survey.phase or "",
        instrument_id=content.instrument_id,
        calibration_id=content.calibration_id,
        reference_revision_id=job.reference_revision_id,
        measured_at=survey.measured_at,
        measured_by=survey.by or actor.name,
        measured_by_id=None if survey.by else actor.person_id,
        submitted_by_id=actor.person_id,
        submitted_at=now,
        sent_as=content.sent_as,
        sent=content.sent,
        document=content.document,
        document_sha256=_digest(content.document),
    )


def _point(actor: Actor, row: Survey, position: int, point: PointIn) -> SurveyPoint:
    return SurveyPoint(
        shop_id=actor.shop_id,
        survey_id=row.id,
        position=position,
        cov=json.dumps(point.cov) if point.cov else None,
        **point.model_dump(exclude={"cov"}),
    )


def _result(actor: Actor, row: Survey, result: ResultOut, now: datetime) -> Result:
    text = json.dumps(result, ensure_ascii=False)
    return Result(
        shop_id=actor.shop_id,
        survey_id=row.id,
        reference_revision_id=row.reference_revision_id,
        engine_version=result["engine_version"],
        threshold=result["threshold"],
        verdict=result["finding"]["verdict"],
        rig_verdict=result["rig_check"]["verdict"],
        orientation=result["orientation"],
        document=text,
        document_sha256=_digest(text),
        computed_at=now,
    )


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def _record(
    session: Session,
    actor: Actor,
    job: Job,
    row: Survey,
    result: ResultOut,
    supersedes: int | None,
    now: datetime,
) -> None:
    said: dict[str, audit.Value] = {
        "survey": row.ordinal,
        "phase": row.phase,
        "document_sha256": row.document_sha256,
        "finding": result["finding"]["verdict"],
        "rig": result["rig_check"]["verdict"],
        "engine_version": result["engine_version"],
        "supersedes": supersedes,
    }
    audit.record(session, actor, "survey.submitted", f"job:{job.number}", now, said)
