"""Several measurements of one phase of a job as one result. Nothing is stored."""

import json

from sqlalchemy.orm import Session

from app.chassis.refusals import combine_differs
from app.errors import NotFound
from app.records.scope import scoped
from app.records.tables import ReferenceRevision, Shop
from app.schemas.reading import reference_from
from app.schemas.reference import ReferenceIn
from app.schemas.result import ResultOut
from app.services import combining, surveys
from app.services.before_after import judged_alike
from app.services.permissions import Actor
from app.services.survey_views import SurveyView


def combined(session: Session, actor: Actor, number: str, phase: str) -> ResultOut:
    """All standing measurements of one phase as one result; nothing is stored.

    Judged by the reference revision of the last of them. Raises NotFound `no_such_job`,
    `no_such_survey`, Refusal as `combining.combine` does.
    """
    views = [
        view
        for view in surveys.listing(session, actor, number)
        if view.phase == phase and view.superseded_by is None
    ]
    if not views:
        raise NotFound("no_such_survey", None, job=number, met=phase)
    reference = _reference(session, actor, views[-1])
    for place, view in enumerate(views, 1):
        if not judged_alike(view, views[-1]):
            raise combine_differs("reference", place)
    threshold = session.scalars(scoped(session, actor, Shop)).one().confidence_threshold
    parts = [combining.evaluated(view.survey, reference, threshold) for view in views]
    return combining.combine(parts, reference)


def _reference(session: Session, actor: Actor, view: SurveyView) -> ReferenceIn | None:
    if view.reference_id is None:
        return None
    rows = scoped(session, actor, ReferenceRevision).where(
        ReferenceRevision.reference_id == view.reference_id,
        ReferenceRevision.revision == view.reference_revision,
    )
    return reference_from(json.loads(session.scalars(rows).one().document))
