"""The readings of the check bar with one instrument, in order, each with what judged it."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple

from sqlalchemy.orm import Session

from app.metrology import check_bar
from app.records.scope import scoped
from app.records.tables import CheckBar, CheckBarExplanation, CheckBarReading
from app.services.check_bar_evaluation import chart, standing
from app.services.lookup import names
from app.services.permissions import Actor
from app.wording import instrument_records


class Recorded(NamedTuple):
    """A reading with its explanation, if it has one."""

    row: CheckBarReading
    explanation: CheckBarExplanation | None


@dataclass(frozen=True, slots=True)
class ExplanationView:
    reason: str
    begin_anew: bool
    by: str | None
    at: datetime


@dataclass(frozen=True, slots=True)
class LimitsView:
    """The chart as it stood when the reading was made, mm."""

    centre: float
    lower: float
    upper: float
    moving_range: float
    upper_range: float
    average: float
    average_lower: float
    average_upper: float
    readings: int
    """Sound readings before this one that made it."""


@dataclass(frozen=True, slots=True)
class BarReadingView:
    id: int
    check_bar_id: int
    check_bar: str
    measured_at: datetime
    measured_by: str
    temperature_c: float
    temperature_u_k: float
    readings_mm: tuple[float, ...]
    deviation_mm: float
    """Mean of the readings at 20 °C minus the bar's length."""
    deviation_u_mm: float | None
    in_control: bool
    signals: tuple[str, ...]
    says: tuple[str, ...]
    """The deviation, and the signals in words."""
    limits: LimitsView | None
    """None: too few sound readings before it for a chart, or none that scatter."""
    explanation: ExplanationView | None
    note: str | None
    recorded_at: datetime


@dataclass(frozen=True, slots=True)
class CheckBarLog:
    standing: str
    """`never_checked`, `in_control`, or `out_of_control`: a reading waits to be explained."""
    unexplained: int
    recorded: int
    """How many readings there are."""
    readings: tuple[BarReadingView, ...]
    """Newest first, those that were asked for."""


def reading_rows(session: Session, actor: Actor, instrument_id: int) -> list[Recorded]:
    """The instrument's readings in the order in which they were recorded."""
    rows = session.scalars(
        scoped(session, actor, CheckBarReading)
        .where(CheckBarReading.instrument_id == instrument_id)
        .order_by(CheckBarReading.id)
    ).all()
    told = session.scalars(
        scoped(session, actor, CheckBarExplanation)
        .join(CheckBarReading, CheckBarReading.id == CheckBarExplanation.reading_id)
        .where(CheckBarReading.instrument_id == instrument_id)
    )
    by_reading = {one.reading_id: one for one in told}
    return [Recorded(row, by_reading.get(row.id)) for row in rows]


def sound_before(recorded: Sequence[Recorded], row: CheckBarReading) -> list[float]:
    """Deviations of the readings that make the chart by which `row` is judged.

    Those before it that were in control, of the same bar and under the same calibration of the
    instrument, since an explanation last let the chart begin anew.
    """
    anew = [
        one.explanation.at
        for one in recorded
        if one.explanation is not None
        and one.explanation.begin_anew
        and one.explanation.at <= row.recorded_at
        and one.row.check_bar_id == row.check_bar_id
    ]
    since = max(anew, default=None)
    return [
        one.row.deviation_mm
        for one in recorded
        if (row.id is None or one.row.id < row.id)
        and not one.row.signals
        and one.row.check_bar_id == row.check_bar_id
        and one.row.calibration_id == row.calibration_id
        and (since is None or one.row.recorded_at > since)
    ]


def unexplained(session: Session, actor: Actor, instrument_id: int) -> tuple[CheckBarReading, ...]:
    """Readings out of control that nobody has explained, oldest first."""
    return tuple(
        one.row
        for one in reading_rows(session, actor, instrument_id)
        if one.row.signals and one.explanation is None
    )


def log_of(
    session: Session, actor: Actor, instrument_id: int, limit: int, offset: int
) -> CheckBarLog:
    """The log of an instrument, with so many of its readings."""
    recorded = reading_rows(session, actor, instrument_id)
    newest_first = recorded[::-1]
    views = _views(session, actor, recorded, newest_first[offset : offset + limit])
    waiting = sum(1 for one in recorded if one.row.signals and one.explanation is None)
    count = len(recorded)
    return CheckBarLog(standing(count, waiting), waiting, count, tuple(views))


def reading_view(session: Session, actor: Actor, row: CheckBarReading) -> BarReadingView:
    """One reading of it."""
    recorded = reading_rows(session, actor, row.instrument_id)
    one = next(one for one in recorded if one.row.id == row.id)
    return _views(session, actor, recorded, [one])[0]


def _views(
    session: Session, actor: Actor, recorded: Sequence[Recorded], wanted: Sequence[Recorded]
) -> list[BarReadingView]:
    bars = {bar.id: bar for bar in session.scalars(scoped(session, actor, CheckBar))}
    explained = [one.explanation.person_id for one in wanted if one.explanation]
    people = names(session, actor, explained)
    return [_view(recorded, one, bars[one.row.check_bar_id], people) for one in wanted]


def _view(
    recorded: Sequence[Recorded], one: Recorded, bar: CheckBar, people: dict[int | None, str]
) -> BarReadingView:
    row, told = one
    signals = tuple(row.signals.split())
    explanation = None
    if told is not None:
        by = people.get(told.person_id)
        explanation = ExplanationView(told.reason, told.begin_anew, by, told.at)
    return BarReadingView(
        id=row.id,
        check_bar_id=bar.id,
        check_bar=bar.name,
        measured_at=row.measured_at,
        measured_by=row.measured_by,
        temperature_c=row.temperature_c,
        temperature_u_k=row.temperature_u_k,
        readings_mm=tuple(json.loads(row.readings)),
        deviation_mm=row.deviation_mm,
        deviation_u_mm=row.deviation_u_mm,
        in_control=not signals,
        signals=signals,
        says=instrument_records.says(row.deviation_mm, signals),
        limits=_limits(sound_before(recorded, row), row.deviation_mm),
        explanation=explanation,
        note=row.note or None,
        recorded_at=row.recorded_at,
    )


def _limits(sound: Sequence[float], value: float) -> LimitsView | None:
    by = check_bar.limits(sound, value)
    return None if by is None else LimitsView(**chart(by, value), readings=len(sound))
