"""From the rows of a survey to the view of it."""

import json
from typing import cast

from sqlalchemy.orm import Session

from app.records.scope import scoped
from app.records.tables import Calibration, Job, ReferenceRevision, Result, Survey
from app.schemas.reading import survey_from
from app.schemas.result import CharacteristicOut, ResultOut
from app.schemas.survey import SurveyIn
from app.services.instruments import CalibrationView, calibration_view
from app.services.lookup import known, names
from app.services.permissions import Actor
from app.services.survey_views import Change, SurveyView


def view(session: Session, actor: Actor, job: Job, row: Survey) -> SurveyView:
    """Everything on record of one survey."""
    result = newest_result(session, actor, row)
    survey = survey_from(json.loads(row.document))
    calibration = known(session, actor, Calibration, row.calibration_id)
    revision = known(session, actor, ReferenceRevision, row.reference_revision_id)
    calibrated = calibration_view(calibration) if calibration else None
    return SurveyView(
        id=row.id,
        job_number=job.number,
        number=row.ordinal,
        phase=row.phase,
        submitted_at=row.submitted_at,
        submitted_by=names(session, actor, [row.submitted_by_id]).get(row.submitted_by_id),
        measured_at=row.measured_at,
        measured_by=row.measured_by or None,
        sent_as=row.sent_as,
        content_type="text/csv" if row.sent_as == "csv" else "application/json",
        document=row.sent,
        evaluated=row.document,
        survey=survey,
        result=cast(ResultOut, json.loads(result.document)),
        engine_version=result.engine_version,
        reference_id=revision.reference_id if revision else None,
        reference_revision=revision.revision if revision else None,
        instrument_id=row.instrument_id,
        instrument_name=survey.instrument.name,
        calibration=calibrated,
        in_calibration=_in_calibration(row, survey, calibrated),
        supersedes=_superseded(session, actor, row),
        supersedes_because=row.supersedes_because or None,
        superseded_by=superseded_by(session, actor, row),
    )


def newest_result(session: Session, actor: Actor, row: Survey) -> Result:
    """What the engine made of the survey, the latest evaluation."""
    rows = scoped(session, actor, Result).where(Result.survey_id == row.id)
    return session.scalars(rows.order_by(Result.id.desc()).limit(1)).one()


def superseded_by(session: Session, actor: Actor, row: Survey) -> int | None:
    """Number of the survey that took its place."""
    rows = scoped(session, actor, Survey).where(Survey.supersedes_id == row.id)
    later = session.scalars(rows).one_or_none()
    return later.ordinal if later else None


def side_by_side(before: ResultOut, after: ResultOut) -> tuple[Change, ...]:
    """Each characteristic of both, in the order of the after result."""
    earlier = {one["key"]: one for one in before["characteristics"]}
    later = {one["key"]: one for one in after["characteristics"]}
    return tuple(
        _change(key, earlier.get(key), later.get(key)) for key in dict.fromkeys([*later, *earlier])
    )


def _superseded(session: Session, actor: Actor, row: Survey) -> int | None:
    earlier = known(session, actor, Survey, row.supersedes_id)
    return earlier.ordinal if earlier else None


def _in_calibration(
    row: Survey, survey: SurveyIn, calibration: CalibrationView | None
) -> bool | None:
    """Whether the instrument was in calibration that day, by the survey's own dates."""
    stated = survey.instrument
    if stated.calibrated is None or stated.due is None:
        return None if calibration is None else False
    day = (survey.measured_at or row.submitted_at).date()
    passed = calibration is None or calibration.passed
    return passed and stated.calibrated <= day <= stated.due


def _change(key: str, before: CharacteristicOut | None, after: CharacteristicOut | None) -> Change:
    leading = after or before
    if leading is None:
        raise KeyError(key)
    return Change(
        key=key,
        name=leading["name"],
        unit=leading["unit"],
        nominal=leading["nominal"],
        lower=leading["lower"],
        upper=leading["upper"],
        before=before["value"] if before else None,
        before_deviation=before["deviation"] if before else None,
        before_expanded_uncertainty=before["expanded_uncertainty"] if before else None,
        before_verdict=before["verdict"] if before else None,
        before_sense=before["sense"] if before else None,
        after=after["value"] if after else None,
        after_deviation=after["deviation"] if after else None,
        after_expanded_uncertainty=after["expanded_uncertainty"] if after else None,
        after_verdict=after["verdict"] if after else None,
        after_sense=after["sense"] if after else None,
    )
