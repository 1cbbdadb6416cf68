"""Times as people read them, with their zone where they are read elsewhere."""

from datetime import UTC, date, datetime, timedelta, timezone

import pytest

from app.wording import moments
from app.wording.moments import moment, moment_with_zone, zone_of

AT = datetime(2026, 3, 2, 9, 40, tzinfo=UTC)


@pytest.mark.parametrize(
    ("minutes", "zone"), [(0, "UTC"), (60, "UTC+01:00"), (345, "UTC+05:45"), (-210, "UTC−03:30")]
)
def test_a_zone_is_its_difference_to_utc(minutes: int, zone: str) -> None:
    assert zone_of(AT.astimezone(timezone(timedelta(minutes=minutes)))) == zone


def test_a_moment_carries_the_zone_of_the_shops_machine() -> None:
    here = zone_of(AT.astimezone())
    assert moment_with_zone(AT) == f"{moment(AT)} {here}"


def test_days_that_are_chosen_or_waited_for_say_their_weekday() -> None:
    assert moments.weekday(date(2026, 3, 2)) == "Monday 2 March 2026"
    assert moments.weekday(date(2026, 3, 8)) == "Sunday 8 March 2026"


def test_a_list_of_what_goes_on_now_leaves_out_what_goes_without_saying() -> None:
    at = datetime(2026, 3, 2, 9, 40, tzinfo=UTC)
    with moments.told_in("UTC"):
        assert moments.moment_near(at, date(2026, 3, 2)) == "today, 09:40"
        assert moments.moment_near(at, date(2026, 3, 3)) == "2 March"
        assert moments.moment_near(at, date(2027, 1, 1)) == "2 March 2026"
    assert moments.day_near(date(2027, 1, 2), date(2026, 12, 30)) == "2 January 2027"
