"""A calibration is recorded, and measurements under way are looked at again with its figures."""

import json
import secrets
from collections.abc import Iterable
from datetime import datetime

from sqlalchemy.orm import Session

from app.records.scope import scoped
from app.records.tables import Draft, Instrument, Job
from app.schemas.instrument import CalibrationIn
from app.services import floor_told, instruments
from app.services.instruments import InstrumentView
from app.services.permissions import Actor


def calibrate(
    session: Session, actor: Actor, instrument_id: int, calibration: CalibrationIn, now: datetime
) -> InstrumentView:
    """Adds a calibration; what is noticed at each step of an open measurement goes by it at once.

    Raises as `instruments.calibrate` does.
    """
    found = instruments.calibrate(session, actor, instrument_id, calibration, now)
    look_again(session, actor, instruments.instrument_row(session, actor, instrument_id))
    return found


def look_again(session: Session, actor: Actor, instrument: Instrument) -> None:
    """Open measurements with this instrument; their points and versions stay as they are."""
    for job, draft in _under_way(session, actor, instrument):
        state = floor_told.state_of(session, actor, draft)
        # Whatever is remembered of the draft is remembered under its mark.
        state.mark = secrets.token_hex(8)
        floor_told.refresh(session, actor, job, draft)


def _under_way(
    session: Session, actor: Actor, instrument: Instrument
) -> Iterable[tuple[Job, Draft]]:
    rows = scoped(session, actor, Draft).where(Draft.closed_at.is_(None)).order_by(Draft.id)
    drafts = session.scalars(rows).all()
    wanted = scoped(session, actor, Job).where(Job.id.in_([draft.job_id for draft in drafts]))
    jobs = {job.id: job for job in session.scalars(wanted)}
    for draft in drafts:
        job = jobs[draft.job_id]
        named = _named(draft)
        if named == instrument.name or (not named and job.instrument_id == instrument.id):
            yield job, draft


def _named(draft: Draft) -> str | None:
    """The instrument that the measurement itself names, before the job's."""
    stated = json.loads(draft.heading).get("instrument")
    name = stated.get("name") if isinstance(stated, dict) else None
    return name.strip() if isinstance(name, str) else None
