"""Times as people read them, with their zone where they are read elsewhere."""

from datetime import UTC, datetime, timedelta, timezone

import pytest

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
