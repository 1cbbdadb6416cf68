"""Whether the very same points were submitted to another job before: then they show nothing here.

Two measurements never agree in every coordinate of every point: scatter sees to that.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from sqlalchemy.orm import Session

from app.errors import Fact, Problem
from app.records.scope import scoped
from app.records.tables import Certificate, Job, Survey, SurveyPoint
from app.services.lookup import CANCELLED, GIVEN_BACK, closing_entry, job_row
from app.services.permissions import Actor, require
from app.services.survey_reading import superseded_by
from app.services.survey_views import SurveyView

Place = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class SamePoints:
    """A measurement, and an earlier one of another job with the same points."""

    survey: int
    """Number of the measurement in its job."""
    other_job: str
    other_survey: int

    def problem(self) -> Problem:
        """What a certificate is refused with and a finding warns of."""
        facts: dict[str, Fact] = {
            "survey": self.survey,
            "job": self.other_job,
            "other": self.other_survey,
        }
        return Problem("points_of_another_job", "survey", facts)


def same_points(session: Session, actor: Actor, survey: SurveyView) -> SamePoints | None:
    """The earliest measurement of another job that has exactly these points, in any order.

    One that was superseded, or whose job was cancelled, was a mistake and is left out, unless a
    certificate was issued on it.
    """
    require(actor, "surveys.read")
    job = job_row(session, actor, survey.job_number)
    points = places(session, actor, survey.id)
    for row in sharing_a_point(session, actor, job, survey.id, telling(points)):
        if stands(session, actor, row) and places(session, actor, row.id) == points:
            return SamePoints(survey.number, numbered(session, actor, row.job_id), row.ordinal)
    return None


def places(session: Session, actor: Actor, survey_id: int) -> list[Place]:
    """The coordinates of a measurement's points, sorted."""
    rows = scoped(session, actor, SurveyPoint).where(SurveyPoint.survey_id == survey_id)
    found = session.execute(rows.with_only_columns(SurveyPoint.x, SurveyPoint.y, SurveyPoint.z))
    return sorted((x, y, z) for x, y, z in found)


def telling(points: list[Place]) -> Place:
    """The point farthest out: one near the origin may be put there by how axes are chosen."""
    return max(points, key=lambda point: sum(map(abs, point)))


def sharing_a_point(
    session: Session, actor: Actor, job: Job, survey_id: int, place: Place
) -> Iterator[Survey]:
    """Earlier measurements of other jobs with a point at this place, the earliest first."""
    x, y, z = place
    holding = (
        scoped(session, actor, SurveyPoint)
        .where(SurveyPoint.x == x, SurveyPoint.y == y, SurveyPoint.z == z)
        .with_only_columns(SurveyPoint.survey_id)
    )
    rows = scoped(session, actor, Survey).where(
        Survey.id.in_(holding), Survey.id < survey_id, Survey.job_id != job.id
    )
    yield from session.scalars(rows.order_by(Survey.id)).all()


def stands(session: Session, actor: Actor, row: Survey) -> bool:
    """Whether a measurement counts in its own job, or a certificate was ever issued on it."""
    job = session.scalars(scoped(session, actor, Job).where(Job.id == row.job_id)).one()
    closed = closing_entry(session, actor, job)
    cancelled = closed is not None and closed.kind in (CANCELLED, GIVEN_BACK)
    if superseded_by(session, actor, row) is None and not cancelled:
        return True
    issued = scoped(session, actor, Certificate).where(
        Certificate.survey_id == row.id, Certificate.issued_at.is_not(None)
    )
    return session.scalars(issued.limit(1)).one_or_none() is not None


def numbered(session: Session, actor: Actor, job_id: int) -> str:
    """The number of a job."""
    return session.scalars(scoped(session, actor, Job).where(Job.id == job_id)).one().number
