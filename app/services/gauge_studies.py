"""Gauge studies of the shop's instruments: recorded as they were sent, with what came out."""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import cast

from sqlalchemy.orm import Session

from app.errors import NotFound
from app.records.scope import scoped
from app.records.tables import GaugeStudy
from app.schemas.gauge_study import gauge_study_from, read_gauge_study
from app.schemas.gauge_study_result import GaugeStudyOut
from app.services import audit
from app.services.gauge_evaluation import evaluated
from app.services.instruments import instrument_row, mark, require_of_this, usable_instrument
from app.services.lookup import known, names
from app.services.permissions import Actor, require
from app.services.survey_documents import require_past


@dataclass(frozen=True, slots=True)
class GaugeStudyView:
    id: int
    instrument_id: int
    measured_at: datetime | None
    recorded_at: datetime
    recorded_by: str | None
    document: Mapping[str, object]
    """The `jigbook.gauge_study/1` document; a table is kept as one."""
    result: GaugeStudyOut


def record(
    session: Session,
    actor: Actor,
    instrument_id: int,
    sent: Mapping[str, object] | str,
    now: datetime,
) -> GaugeStudyView:
    """Records a study of an instrument, decoded JSON or the text of a file, JSON or CSV.

    Raises NotFound `no_such_instrument`, Conflict `instrument_retired`, BadInput, among it
    `other_instrument` when the study names another one.
    """
    require(actor, "instruments.check")
    instrument = usable_instrument(session, actor, instrument_id)
    study = read_gauge_study(sent.encode()) if isinstance(sent, str) else gauge_study_from(sent)
    require_of_this(study.instrument, instrument, "instrument")
    require_past(study.measured_at, now)
    text = study.model_dump_json(exclude_none=True)
    row = GaugeStudy(
        shop_id=actor.shop_id,
        instrument_id=instrument.id,
        measured_at=study.measured_at,
        document=text,
        document_sha256=hashlib.sha256(text.encode()).hexdigest(),
        result=json.dumps(evaluated(study), ensure_ascii=False),
        recorded_by_id=actor.person_id,
        recorded_at=now,
    )
    session.add(row)
    session.flush()
    said: dict[str, audit.Value] = {
        "study": row.id,
        "document_sha256": row.document_sha256,
        "readings": len(study.readings),
    }
    audit.record(session, actor, "instrument.gauge_studied", mark(instrument), now, said)
    return _view(session, actor, row)


def listing(session: Session, actor: Actor, instrument_id: int) -> tuple[GaugeStudyView, ...]:
    """The studies of an instrument, newest first. Raises NotFound `no_such_instrument`."""
    require(actor, "instruments.read")
    instrument = instrument_row(session, actor, instrument_id)
    rows = scoped(session, actor, GaugeStudy).where(GaugeStudy.instrument_id == instrument.id)
    found = session.scalars(rows.order_by(GaugeStudy.id.desc())).all()
    return tuple(_view(session, actor, row) for row in found)


def read(session: Session, actor: Actor, instrument_id: int, study_id: int) -> GaugeStudyView:
    """One study. Raises NotFound `no_such_instrument`, `no_such_gauge_study`."""
    require(actor, "instruments.read")
    instrument = instrument_row(session, actor, instrument_id)
    row = known(session, actor, GaugeStudy, study_id)
    if row is None or row.instrument_id != instrument.id:
        raise NotFound("no_such_gauge_study", None, met=study_id)
    return _view(session, actor, row)


def _view(session: Session, actor: Actor, row: GaugeStudy) -> GaugeStudyView:
    return GaugeStudyView(
        id=row.id,
        instrument_id=row.instrument_id,
        measured_at=row.measured_at,
        recorded_at=row.recorded_at,
        recorded_by=names(session, actor, [row.recorded_by_id]).get(row.recorded_by_id),
        document=json.loads(row.document),
        result=cast(GaugeStudyOut, json.loads(row.result)),
    )
