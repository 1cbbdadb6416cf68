"""Whether an instrument's axes are right-handed: the steering turned to the known left, once."""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.chassis.handedness import LEFT_HANDED, Handedness, handedness
from app.records.columns import UTC
from app.records.scope import scoped
from app.records.tables import HandednessCheck
from app.schemas.json_text import read_json
from app.schemas.reading import survey_from
from app.schemas.survey import SurveyIn
from app.services import audit
from app.services.instruments import instrument_row, mark, require_of_this, usable_instrument
from app.services.lookup import names
from app.services.permissions import Actor, require
from app.services.solving import to_engine
from app.services.survey_documents import completed_with, require_past
from app.wording import instrument_records


@dataclass(frozen=True, slots=True)
class HandednessView:
    id: int
    measured_at: datetime
    verdict: str
    """`right_handed` or `left_handed`."""
    says: str
    left_turn_deg: float
    """By how much the stations turned left stand to the left, by the axes as they are."""
    targets: int
    stations: int
    recorded_at: datetime
    recorded_by: str | None


def judged(survey: SurveyIn) -> Handedness:
    """Judge the axes of whatever measured this survey. Raises Refusal."""
    return handedness(to_engine(survey))


def record(
    session: Session,
    actor: Actor,
    instrument_id: int,
    document: Mapping[str, object] | str,
    now: datetime,
) -> HandednessView:
    """Records a check: a `jigbook.survey/1` with steering targets, some stations turned left.

    A survey that states no moment counts as measured now; what it does not say of its instrument
    comes from the calibration. Raises NotFound `no_such_instrument`,
    Conflict `instrument_retired`, BadInput, Refusal.
    """
    require(actor, "instruments.check")
    instrument = usable_instrument(session, actor, instrument_id)
    content = read_json(document) if isinstance(document, str) else document
    if isinstance(content, Mapping):
        content = completed_with(session, actor, content, instrument)
    survey = survey_from(content)
    require_past(survey.measured_at, now)
    require_of_this(survey.instrument.name, instrument, "instrument.name")
    found = judged(survey)
    text = document if isinstance(document, str) else json.dumps(document, ensure_ascii=False)
    row = HandednessCheck(
        shop_id=actor.shop_id,
        instrument_id=instrument.id,
        measured_at=survey.measured_at or now,
        document=text,
        document_sha256=hashlib.sha256(text.encode()).hexdigest(),
        verdict=found.verdict,
        left_turn_deg=found.left_turn_deg,
        targets=found.targets,
        stations=found.stations,
        recorded_by_id=actor.person_id,
        recorded_at=now,
    )
    session.add(row)
    session.flush()
    said: dict[str, audit.Value] = {
        "check": row.id,
        "verdict": row.verdict,
        "left_turn_deg": row.left_turn_deg,
        "measured_at": row.measured_at.astimezone(UTC).isoformat(),
        "document_sha256": row.document_sha256,
    }
    audit.record(session, actor, "instrument.handedness_checked", mark(instrument), now, said)
    return _view(session, actor, row)


def listing(session: Session, actor: Actor, instrument_id: int) -> tuple[HandednessView, ...]:
    """The checks of an instrument, newest first. Raises NotFound `no_such_instrument`."""
    require(actor, "instruments.read")
    rows = check_rows(session, actor, instrument_row(session, actor, instrument_id).id)
    return tuple(_view(session, actor, row) for row in reversed(rows))


def left_handed_at(
    session: Session, actor: Actor, instrument_id: int, moment: datetime
) -> HandednessCheck | None:
    """The check that says left-handed and stands against what was measured at this moment.

    The newest one of all, for what is left-handed now was so for nobody knows how long; else the
    last one up to the moment: putting the axes right later does not turn what was measured.
    """
    rows = check_rows(session, actor, instrument_id)
    before = [row for row in rows if row.measured_at <= moment]
    standing = [*rows[-1:], *before[-1:]]
    return next((row for row in standing if row.verdict == LEFT_HANDED), None)


def check_rows(session: Session, actor: Actor, instrument_id: int) -> list[HandednessCheck]:
    """All checks of an instrument in order of time."""
    rows = scoped(session, actor, HandednessCheck).where(
        HandednessCheck.instrument_id == instrument_id
    )
    ordered = rows.order_by(HandednessCheck.measured_at, HandednessCheck.id)
    return list(session.scalars(ordered))


def _view(session: Session, actor: Actor, row: HandednessCheck) -> HandednessView:
    return HandednessView(
        id=row.id,
        measured_at=row.measured_at,
        verdict=row.verdict,
        says=instrument_records.handedness(row.verdict),
        left_turn_deg=row.left_turn_deg,
        targets=row.targets,
        stations=row.stations,
        recorded_at=row.recorded_at,
        recorded_by=names(session, actor, [row.recorded_by_id]).get(row.recorded_by_id),
    )
