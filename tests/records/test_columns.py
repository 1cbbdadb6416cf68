"""Column types: what goes in comes out the same, what could mean anything is refused."""

import re
from datetime import UTC, date, datetime, timedelta, timezone
from pathlib import Path

import pytest
from sqlalchemy.exc import DataError, IntegrityError, StatementError

import app
from app.records.columns import NaiveTime
from app.records.scope import scoped
from app.records.session import Database
from app.records.tables import Calibration, Customer, Instrument
from tests.databases import NOW

EAST = timezone(timedelta(hours=5, minutes=45))


def stored_at(database: Database, shop_id: int, moment: datetime) -> datetime:
    with database.write() as session:
        session.add(Customer(shop_id=shop_id, name="Kim", created_at=moment))
    with database.read() as session:
        return session.scalars(scoped(session, shop_id, Customer)).one().created_at


def test_a_moment_comes_back_as_the_same_moment_in_utc(database: Database, shop_id: int) -> None:
    moment = datetime(2026, 3, 2, 1, 30, 15, 250, tzinfo=EAST)
    stored = stored_at(database, shop_id, moment)
    assert stored == moment
    assert stored.utcoffset() == timedelta(0)


def test_a_naive_time_is_refused(database: Database, shop_id: int) -> None:
    with pytest.raises(StatementError) as refused:
        stored_at(database, shop_id, datetime(2026, 3, 2, 9, 0))  # noqa: DTZ001
    assert isinstance(refused.value.orig, NaiveTime)


def test_moments_compare_in_queries_whatever_their_zone(database: Database, shop_id: int) -> None:
    early, late = datetime(2026, 3, 2, 23, 0, tzinfo=UTC), datetime(2026, 3, 3, 3, 0, tzinfo=EAST)
    assert late < early
    stored_at(database, shop_id, late)
    with database.read() as session:
        before = scoped(session, shop_id, Customer).where(Customer.created_at < early)
        assert len(session.scalars(before).all()) == 1
        after = scoped(session, shop_id, Customer).where(Customer.created_at > early)
        assert session.scalars(after).all() == []


def test_days_and_yes_or_no_and_numbers_come_back_as_they_were(
    database: Database, shop_id: int
) -> None:
    with database.write() as session:
        instrument = Instrument(shop_id=shop_id, name="arm 2", created_at=NOW)
        session.add(instrument)
        session.flush()
        calibration = Calibration(
            shop_id=shop_id, instrument_id=instrument.id, calibrated_on=date(2026, 1, 10),
            due_on=date(2027, 1, 10), standard_uncertainty_mm=0.1, passed=False, recorded_at=NOW,
        )  # fmt: skip
        session.add(calibration)
    with database.read() as session:
        found = session.scalars(scoped(session, shop_id, Calibration)).one()
        assert (found.calibrated_on, found.due_on) == (date(2026, 1, 10), date(2027, 1, 10))
        assert found.standard_uncertainty_mm == 0.1
        assert found.passed is False
        failed = scoped(session, shop_id, Calibration).where(~Calibration.passed)
        assert len(session.scalars(failed).all()) == 1


def test_text_longer_than_its_limit_is_refused_by_the_table(
    database: Database, shop_id: int
) -> None:
    with pytest.raises(IntegrityError), database.write() as session:
        session.add(Customer(shop_id=shop_id, name="x" * 301, created_at=NOW))


def test_text_in_a_column_of_numbers_is_refused_by_the_table(
    database: Database, shop_id: int
) -> None:
    with (
        pytest.raises((IntegrityError, DataError)),
        database.engine.begin() as connection,
    ):
        connection.exec_driver_sql(
            "INSERT INTO number_counter (shop_id, kind, year, last)"
            f" VALUES ({shop_id}, 'job', 2026, 'many')"
        )


def test_a_calibration_cannot_be_due_before_it_was_made(database: Database, shop_id: int) -> None:
    with database.write() as session:
        instrument = Instrument(shop_id=shop_id, name="arm 2", created_at=NOW)
        session.add(instrument)
        session.flush()
        instrument_id = instrument.id
    calibration = Calibration(
        shop_id=shop_id, instrument_id=instrument_id, calibrated_on=date(2026, 1, 10),
        due_on=date(2026, 1, 9), recorded_at=NOW,
    )  # fmt: skip
    with pytest.raises(IntegrityError), database.write() as session:
        session.add(calibration)


def test_no_query_asks_whether_something_is_true() -> None:
    """`is_(True)` works on SQLite alone: PostgreSQL takes no parameter after IS."""
    files = list(Path(app.__path__[0]).rglob("*.py"))
    asking = [
        path.name for path in files if re.search(r"\.is_(not)?\((True|False)", path.read_text())
    ]
    assert len(files) > 50
    assert asking == []
