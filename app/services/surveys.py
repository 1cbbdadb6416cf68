"""Surveys: submitted measurements. Never edited; a later survey may supersede one."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.schemas.result import ResultOut
from app.schemas.survey import SurveyIn
from app.services.instruments import CalibrationView
from app.services.permissions import Actor

PHASES = ("before", "during", "after")


@dataclass(frozen=True, slots=True)
class SurveyView:
    id: int
    job_number: str
    number: int
    """1, 2, 3 … within the job."""
    phase: str
    submitted_at: datetime
    submitted_by: str | None
    content_type: str
    """`application/json` or `text/csv`."""
    document: str
    """Exactly as it was sent."""
    survey: SurveyIn
    """The document read, completed with the job's instrument: what the engine was given."""
    result: ResultOut
    engine_version: str
    reference_id: int | None
    reference_revision: int | None
    instrument_id: int | None
    instrument_name: str | None
    calibration: CalibrationView | None
    """The calibration that was used."""
    in_calibration: bool | None
    """On the day of the measurement; None when no instrument of the shop was chosen."""
    supersedes: int | None
    """Number of the survey of this job whose place it takes."""
    superseded_by: int | None


@dataclass(frozen=True, slots=True)
class Prepared:
    """A survey read and evaluated, not yet stored: made outside the write lock."""

    job_id: int
    job_number: str
    phase: str
    content_type: str
    document: str
    survey: SurveyIn
    result: ResultOut
    reference_revision_id: int | None
    instrument_id: int | None
    calibration_id: int | None


@dataclass(frozen=True, slots=True)
class Change:
    """One characteristic before and after, side by side."""

    key: str
    unit: str
    nominal: float | None
    lower: float | None
    upper: float | None
    before: float | None
    before_expanded_uncertainty: float | None
    before_verdict: str | None
    before_sense: str | None
    after: float | None
    after_expanded_uncertainty: float | None
    after_verdict: str | None
    after_sense: str | None


@dataclass(frozen=True, slots=True)
class Comparison:
    """The first standing `before` survey and the last standing `after` survey of a job."""

    before: SurveyView
    after: SurveyView
    changes: tuple[Change, ...]
    """In the order of the after result; what only one of them has follows."""
    same_reference: bool


def prepare(
    session: Session,
    actor: Actor,
    number: str,
    document: Mapping[str, object] | str,
    phase: str | None = None,
) -> Prepared:
    """Reads and evaluates a survey against the job's reference and instrument; stores nothing.

    `document` is a `jigbook.survey/1` document, or CSV text with the header
    `feature,label,station,x,y,z,u`. `phase` goes before what the document says; one of the two
    must say it. Raises NotFound `no_such_job`, BadInput, Refusal, Conflict `job_closed`,
    `phase_differs`.
    """
    raise NotImplementedError


def store(
    session: Session,
    actor: Actor,
    prepared: Prepared,
    now: datetime,
    supersedes: int | None = None,
) -> SurveyView:
    """Stores a prepared survey with its points and its result.

    `supersedes` is the number of the job's survey whose place it takes. Raises NotFound,
    Conflict `job_closed`, `survey_superseded`, `job_changed` when reference or instrument
    of the job are no longer those it was prepared with.
    """
    raise NotImplementedError


def submit(
    session: Session,
    actor: Actor,
    number: str,
    document: Mapping[str, object] | str,
    now: datetime,
    phase: str | None = None,
    supersedes: int | None = None,
) -> SurveyView:
    """`prepare` and `store` in one transaction. A refused survey stores nothing."""
    raise NotImplementedError


def read(session: Session, actor: Actor, number: str, survey_number: int) -> SurveyView:
    """One survey of a job. Raises NotFound `no_such_job`, `no_such_survey`."""
    raise NotImplementedError


def listing(session: Session, actor: Actor, number: str) -> tuple[SurveyView, ...]:
    """All surveys of a job in the order of submission."""
    raise NotImplementedError


def compare(session: Session, actor: Actor, number: str) -> Comparison | None:
    """Before and after side by side; None unless the job has both."""
    raise NotImplementedError
