"""The visual check beside a measurement: as it stood when that was submitted, and since."""

from datetime import UTC, datetime, timedelta

from app.schemas.visual_check import ITEMS
from app.services.visual_check_views import VisualCheckView, as_of, beside, standing_of

START = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
ITEM = "wheel_cracks"


def hour(number: float) -> datetime:
    return START + timedelta(hours=number)


def given(
    number: float, answer: str, item: str = ITEM, since: str | None = None
) -> VisualCheckView:
    """An answer so many hours after check-in."""
    place = "front" if answer == "seen" else None
    words = "new wheel" if since else None
    return VisualCheckView(item, answer, place, None, hour(number), "Tove", since, words)


SEEN, REPLACED = given(1, "seen"), given(5, "not_seen", since="replaced")


def of(found: tuple[VisualCheckView, ...], item: str = ITEM) -> VisualCheckView:
    return next(one for one in found if one.item == item)


def test_an_answer_stands_until_the_next_one_is_given() -> None:
    answers = (SEEN, REPLACED)
    assert of(as_of(answers, hour(2))) == SEEN
    assert of(as_of(answers, hour(5))).answer == "not_seen"
    assert [one.item for one in as_of(answers, hour(2))] == list(ITEMS)


def test_what_nobody_had_looked_at_has_the_first_answer_that_came_later() -> None:
    assert of(as_of((SEEN, REPLACED), hour(0))) == SEEN
    assert of(as_of((), hour(0))).checked_at is None


def test_an_earlier_finding_keeps_what_was_seen_with_it() -> None:
    early, late = beside((SEEN, REPLACED), hour(2)), beside((SEEN, REPLACED), hour(6))
    assert [one.place for one in early.seen] == ["front"]
    assert late.seen == ()
    for one in (early, late):
        (settled,) = one.settled
        assert settled.seen_before is not None
        assert (settled.seen_before.since_seen, settled.seen_before.at) == ("replaced", hour(1))


def test_what_was_seen_later_is_told_beside_the_earlier_finding_too() -> None:
    found = beside((given(1, "not_seen"), given(5, "seen")), hour(2))
    assert found.settled == ()
    assert [one.item for one in found.seen] == [ITEM]


def test_what_was_seen_before_the_next_measurement_stays_with_the_one_before_it() -> None:
    answers = (given(1, "not_seen"), given(3, "seen"), given(4, "not_seen", since="replaced"))
    assert [one.item for one in beside(answers, hour(2), hour(5)).seen] == [ITEM]
    assert [one.item for one in beside(answers, hour(2)).seen] == [ITEM]
    assert beside(answers, hour(5)).seen == ()
    assert beside(answers, hour(2), hour(2.5)).seen == ()


def test_what_is_seen_once_more_is_no_longer_settled() -> None:
    again = given(7, "seen")
    found = beside((SEEN, REPLACED, again), hour(6))
    assert (found.seen, found.settled) == ((again,), ())
    assert of(standing_of((SEEN, REPLACED, again))).seen_before is None


def test_the_last_time_that_it_was_seen_is_told_with_the_answer_after_it() -> None:
    answers = (SEEN, REPLACED, given(7, "seen"), given(8, "not_seen", since="no_damage"))
    before = of(standing_of((*answers, given(9, "not_seen")))).seen_before
    assert before is not None
    assert (before.at, before.since_seen, before.since_at) == (hour(7), "no_damage", hour(8))
