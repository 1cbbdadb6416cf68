"""A doubt to be settled before anything is pulled: a bent head and a bent pivot look alike."""

from dataclasses import dataclass

from sqlalchemy.orm import Session

from app.schemas.reference import ReferenceIn
from app.services import references, surveys
from app.services.job_views import JobView
from app.services.permissions import Actor
from app.services.survey_views import SurveyView
from app.wording import look_alikes as words

OF_THE_HEAD = frozenset(
    {
        "head_twist", "head_offset", "axis_distance", "face_position", "head_reach", "head_height",
        "head_angle",
    }
)  # fmt: skip
"""Where the steering head stands, seen from the pivot."""
FEWEST = 3
"""Control points that show how the pivot lies among them."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """What cannot be told apart by a measurement."""

    survey: int
    sentence: str
    measure: tuple[str, ...]
    """What to measure to tell it, a sentence each."""


def tells_apart(survey: SurveyView) -> bool:
    """Whether the measurement has the control points that show how the pivot lies."""
    return any(one["key"] == "datum_roll" for one in survey.result["characteristics"])


def doubt(survey: SurveyView, reference: ReferenceIn | None) -> Doubt | None:
    """The doubt about a measurement that found the head outside; None where there is none."""
    off = {
        one["key"] for one in survey.result["characteristics"] if one["verdict"] == "outside"
    } & OF_THE_HEAD
    moved = survey.result["rig_check"]["verdict"] == "moved"
    if not off or moved or tells_apart(survey):
        return None
    known = tuple(reference.control_points) if reference else ()
    measure = [words.head_or_pivot(known if len(known) >= FEWEST else ())]
    if "head_twist" in off:
        measure.append(words.leaning_or_turned())
    return Doubt(survey.number, words.sentence(), tuple(measure))


def doubt_of(session: Session, actor: Actor, survey: SurveyView) -> Doubt | None:
    """The same, with the reference that the measurement was judged by."""
    return doubt(survey, judged_by(session, actor, survey))


def judged_by(session: Session, actor: Actor, survey: SurveyView) -> ReferenceIn | None:
    """The revision of the reference that a measurement was judged by."""
    number = survey.reference_revision
    if survey.reference_id is None or number is None:
        return None
    return references.read_revision(session, actor, survey.reference_id, number).reference


def standing_doubt(session: Session, actor: Actor, job: JobView) -> Doubt | None:
    """The doubt about the last measurement of a job that stands."""
    standing = [one for one in job.surveys if one.superseded_by is None]
    if not standing or standing[-1].finding != "outside":
        return None
    return doubt_of(session, actor, surveys.read(session, actor, job.number, standing[-1].number))
