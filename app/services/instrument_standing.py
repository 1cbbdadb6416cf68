"""What an instrument's own record says against certifying what was measured with it."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from app.records.tables import CheckBarReading
from app.services.check_bar_log import unexplained
from app.services.handedness_checks import left_handed_at
from app.services.permissions import Actor
from app.wording.instrument_records import check_bar_reading
from app.wording.moments import day


@dataclass(frozen=True, slots=True)
class InstrumentStanding:
    """Nothing stands against an instrument that has no record: it claims nothing either."""

    unexplained: tuple[str, ...] = ()
    """Readings of the check bar that are out of control and not explained, each in one line."""
    left_handed_on: date | None = None
    """When a steering turned to the known left showed that its axes were left-handed."""


def instrument_standing(
    session: Session, actor: Actor, instrument_id: int | None, moment: datetime
) -> InstrumentStanding:
    """What stands against a measurement of this moment; of no instrument of the shop: nothing."""
    if instrument_id is None:
        return InstrumentStanding()
    check = left_handed_at(session, actor, instrument_id, moment)
    return InstrumentStanding(
        tuple(_line(row) for row in unexplained(session, actor, instrument_id)),
        None if check is None else check.measured_at.date(),
    )


def _line(row: CheckBarReading) -> str:
    return check_bar_reading(day(row.measured_at), tuple(row.signals.split()))
