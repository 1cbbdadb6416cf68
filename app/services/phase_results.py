"""Several measurements of one phase of a job as one result. Nothing is stored."""

from sqlalchemy.orm import Session

from app.errors import NotFound
from app.records.scope import scoped
from app.records.tables import Shop
from app.schemas.result import ResultOut
from app.services import combining, surveys
from app.services.lookup import job_row
from app.services.permissions import Actor


def combined(session: Session, actor: Actor, number: str, phase: str) -> ResultOut:
    """All standing measurements of one phase as one result.

    Judged by the job's reference, which stays the same while a measurement stands. Raises
    NotFound `no_such_job`, `no_such_survey`, Refusal as `combining.combine` does.
    """
    views = [
        view
        for view in surveys.listing(session, actor, number)
        if view.phase == phase and view.superseded_by is None
    ]
    if not views:
        raise NotFound("no_such_survey", None, job=number, met=phase)
    reference, called = surveys.reference_of(session, actor, job_row(session, actor, number))
    threshold = session.scalars(scoped(session, actor, Shop)).one().confidence_threshold
    parts = [combining.evaluated(view.survey, reference, threshold) for view in views]
    return combining.combine(parts, reference, called)
