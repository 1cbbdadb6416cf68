"""What a survey looks like from outside, and two of them side by side."""

from dataclasses import dataclass
from datetime import datetime

from app.schemas.comparing import ChangeOut
from app.schemas.result import ResultOut
from app.schemas.survey import SurveyIn
from app.services.instruments import CalibrationView


@dataclass(frozen=True, slots=True)
class SurveyView:
    id: int
    job_number: str
    number: int
    """1, 2, 3 … within the job."""
    phase: str
    submitted_at: datetime
    submitted_by: str | None
    measured_at: datetime | None
    measured_by: str | None
    sent_as: str
    """`json`, `csv`, `form` or `draft`."""
    content_type: str
    """`application/json` or `text/csv`."""
    document: str
    """Exactly as it was sent."""
    evaluated: str
    """The same as `jigbook.survey/1`, completed with the instrument: what the engine was given."""
    survey: SurveyIn
    """`evaluated`, read."""
    result: ResultOut
    engine_version: str
    reference_id: int | None
    reference_revision: int | None
    """The revision that it was judged by."""
    instrument_id: int | None
    instrument_name: str | None
    calibration: CalibrationView | None
    """The calibration that was used."""
    in_calibration: bool | None
    """On the day of the measurement; None when no calibration is known."""
    supersedes: int | None
    """Number of the survey of this job whose place it takes."""
    supersedes_because: str | None
    superseded_by: int | None


@dataclass(frozen=True, slots=True)
class Change:
    """One characteristic before and after, side by side."""

    key: str
    name: str
    unit: str
    nominal: float | None
    lower: float | None
    upper: float | None
    before: float | None
    before_deviation: float | None
    before_expanded_uncertainty: float | None
    before_verdict: str | None
    before_sense: str | None
    after: float | None
    after_deviation: float | None
    after_expanded_uncertainty: float | None
    after_verdict: str | None
    after_sense: str | None


@dataclass(frozen=True, slots=True)
class Comparison:
    """The last standing `after` survey of a job, and the `before` one that stands beside it."""

    before: SurveyView
    after: SurveyView
    changes: tuple[Change, ...]
    """In the order of the after result; what only one of them has follows."""
    same_reference: bool
    change: ChangeOut | None = None
    """After less before, with the uncertainty that leaves out what both measurements share."""
    no_change_because: str | None = None
    """Why the change cannot be told, in a sentence."""
