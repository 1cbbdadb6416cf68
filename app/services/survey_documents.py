"""What was sent as a survey: read, its phase settled, completed with the shop's instrument."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from sqlalchemy.orm import Session

from app.errors import BadInput, Problem
from app.records.scope import scoped
from app.records.tables import Calibration, Instrument, Job
from app.schemas.json_text import read_json, text_of
from app.schemas.problems import piece, refused
from app.schemas.reading import survey_from
from app.schemas.survey import SURVEY_FORMAT, SurveyIn
from app.schemas.survey_csv import Row, placed_by_row, rows_from_csv
from app.services.instruments import FIGURES, calibration_view, instrument_row
from app.services.permissions import Actor

CLOCKS_DIFFER = timedelta(hours=12)
"""An instrument's clock may be wrong, or set to another zone; a day ahead is a mistake."""


@dataclass(frozen=True, slots=True)
class SurveyDocument:
    sent_as: str
    """`json` or `csv`."""
    sent: str
    """Exactly as it was sent."""
    document: str
    """The `jigbook.survey/1` text that the engine is given."""
    survey: SurveyIn
    instrument_id: int | None
    calibration_id: int | None


def read_document(
    session: Session,
    actor: Actor,
    job: Job,
    sent: Mapping[str, object] | str,
    phase: str | None = None,
    heading: Mapping[str, object] | None = None,
) -> SurveyDocument:
    """Reads a survey for a job.

    An instrument that the survey names is looked up among the shop's by its name; one that it
    does not name is the job's. What the survey does not say of it comes from its calibration:
    the one of the day of the measurement, of an undated survey the newest. `heading` is what
    goes with a CSV of points. Raises BadInput.
    """
    text, content, rows = _decoded(sent, heading)
    completed = dict(content)
    _settle_phase(completed, phase)
    named = _named_instrument(completed)
    instrument = _instrument(session, actor, job, named)
    calibration = None
    if instrument is not None:
        calibration = _calibration(session, actor, instrument, _day(completed))
        completed["instrument"] = _described(completed, instrument, calibration)
    survey = _checked(completed, rows)
    return SurveyDocument(
        sent_as="json" if rows is None else "csv",
        sent=text,
        document=json.dumps(completed, ensure_ascii=False),
        survey=survey,
        instrument_id=instrument.id if instrument else None,
        calibration_id=calibration.id if calibration else None,
    )


def completed_with(
    session: Session, actor: Actor, content: Mapping[str, object], instrument: Instrument
) -> dict[str, object]:
    """What a survey of this instrument says, completed from its calibration of that day."""
    calibration = _calibration(session, actor, instrument, _day(content))
    return {**content, "instrument": _described(content, instrument, calibration)}


@dataclass(frozen=True, slots=True)
class Figures:
    """What is known of the points of an instrument before any is taken."""

    unsure: str | None
    """Name of the instrument of which nothing says how sure its points are, empty where none is
    chosen; None where it is known. A point may still say it of itself."""
    standard_uncertainty_mm: float | None
    probe_radius_mm: float | None


def figures_of(session: Session, actor: Actor, job: Job, heading: Mapping[str, object]) -> Figures:
    """What the heading states, else what the instrument's calibration does."""
    named = _named_instrument(heading)
    instrument = _instrument(session, actor, job, named)
    calibration = _calibration(session, actor, instrument, _day(heading)) if instrument else None
    u, radius = [
        _figure(heading, calibration, name)
        for name in ("standard_uncertainty_mm", "probe_radius_mm")
    ]
    called = instrument.name if instrument else named or ""
    return Figures(called if u is None else None, u, radius)


def _figure(
    heading: Mapping[str, object], calibration: Calibration | None, name: str
) -> float | None:
    stated = heading.get("instrument")
    said = stated.get(name) if isinstance(stated, Mapping) else None
    if isinstance(said, int | float):
        return float(said)
    found: float | None = getattr(calibration, name, None)
    return found


def _decoded(
    sent: Mapping[str, object] | str, heading: Mapping[str, object] | None
) -> tuple[str, Mapping[str, object], list[Row] | None]:
    """The text as sent, its content, and its rows when it was a CSV."""
    if not isinstance(sent, str):
        return json.dumps(sent, ensure_ascii=False), _survey_content(sent), None
    text = text_of(sent.encode("utf-8", errors="surrogatepass"))
    if text.lstrip()[:1] in ("{", "[", '"'):
        return sent, _survey_content(read_json(text)), None
    rows = rows_from_csv(text)
    content = {**(heading or {}), "format": SURVEY_FORMAT, "points": [point for _, point in rows]}
    return sent, content, rows


def _survey_content(content: object) -> Mapping[str, object]:
    if not isinstance(content, Mapping):
        facts = {"met": piece(content), "needed": SURVEY_FORMAT}
        raise refused([Problem("not_a_survey", "", facts)])
    if content.get("format") != SURVEY_FORMAT or "points" not in content:
        survey_from(content)
    return content


def _settle_phase(completed: dict[str, object], phase: str | None) -> None:
    """One of the two must say the phase; a wrong one is left for the schema to refuse."""
    stated = completed.get("phase")
    if stated is None and phase is None:
        raise refused([Problem("missing", "phase")])
    if stated is not None and phase is not None and stated != phase:
        raise refused([Problem("phase_differs", "phase", {"needed": phase})])
    completed["phase"] = stated if phase is None else phase


def _named_instrument(completed: Mapping[str, object]) -> str | None:
    stated = completed.get("instrument")
    name = stated.get("name") if isinstance(stated, Mapping) else None
    return name.strip() if isinstance(name, str) else None


def _instrument(session: Session, actor: Actor, job: Job, named: str | None) -> Instrument | None:
    if named:
        rows = scoped(session, actor, Instrument).where(Instrument.name == named)
        return session.scalars(rows).one_or_none()
    if job.instrument_id is None:
        return None
    return instrument_row(session, actor, job.instrument_id)


def _day(completed: Mapping[str, object]) -> date:
    """The day of the measurement; without one, a day after all calibrations."""
    stated = completed.get("measured_at")
    try:
        return datetime.fromisoformat(stated).date() if isinstance(stated, str) else date.max
    except ValueError:
        # The schema refuses it with its field; until then any day serves.
        return date.max


def _calibration(
    session: Session, actor: Actor, instrument: Instrument, day: date
) -> Calibration | None:
    """The newest calibration made on or before this day."""
    return session.scalars(
        scoped(session, actor, Calibration)
        .where(Calibration.instrument_id == instrument.id, Calibration.calibrated_on <= day)
        .order_by(Calibration.calibrated_on.desc(), Calibration.id.desc())
    ).first()


def _described(
    completed: Mapping[str, object], instrument: Instrument, calibration: Calibration | None
) -> object:
    """What the survey says of its instrument, completed from the record."""
    stated = completed.get("instrument")
    if stated is not None and not isinstance(stated, Mapping):
        return stated
    known: dict[str, object] = {"name": instrument.name}
    if calibration is not None:
        figures = calibration_view(calibration)
        known |= {name: getattr(figures, name) for name in FIGURES}
        known |= {"calibrated": figures.calibrated.isoformat(), "due": figures.due.isoformat()}
    known |= {name: value for name, value in (stated or {}).items() if value is not None}
    return {name: value for name, value in known.items() if value is not None}


def _checked(completed: Mapping[str, object], rows: list[Row] | None) -> SurveyIn:
    try:
        return survey_from(completed)
    except BadInput as error:
        raise (error if rows is None else placed_by_row(error, rows)) from None


def require_past(measured_at: datetime | None, now: datetime) -> None:
    """Nobody measures tomorrow. Raises BadInput `in_the_future`."""
    if measured_at is not None and measured_at > now + CLOCKS_DIFFER:
        met = measured_at.astimezone(UTC).isoformat()
        raise refused([Problem("in_the_future", "measured_at", {"met": met})])
