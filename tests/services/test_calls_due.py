"""Who must be called and what is overdue, from facts alone."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from app.services.calls_due import BY_WEIGHT, REASONS, CallDue, Reason, days_overdue, due
from app.services.road_facts import Call, Done, Facts, Measured, Withdrawn
from app.wording.calls import reason

MORNING = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
TODAY = MORNING.date()


def at(hour: float) -> datetime:
    return MORNING + timedelta(hours=hour)


def call(hour: float, outcome: str = "reached", whom: str = "customer", words: str = "") -> Call:
    return Call(whom, at(hour), outcome, words)


RECEIVED = Facts(received=Done(MORNING))
OUTSIDE = replace(
    RECEIVED,
    visual_check=Done(at(1)),
    surveys=(Measured(1, "before", Done(at(2)), "outside", "steady", "checked"),),
)
WITHIN = replace(
    OUTSIDE, surveys=(Measured(1, "before", Done(at(2)), "within", "steady", "checked"),)
)
CERTIFIED = replace(OUTSIDE, certified=Done(at(3)))
PROMISED = replace(RECEIVED, promised_on=date(2026, 3, 5))


def reasons(facts: Facts, on: date = TODAY, whom: str = "customer") -> list[str]:
    return [why.code for one in due(facts, on) if one.whom == whom for why in one.reasons]


def test_nobody_must_be_called_about_a_machine_that_just_came_in() -> None:
    assert due(RECEIVED, TODAY) == ()


@pytest.mark.parametrize(
    ("day", "days"), [(4, 0), (5, 0), (6, 1), (15, 10)], ids=["before", "that_day", "next", "later"]
)
def test_a_promised_day_is_past_from_the_day_after_it(day: int, days: int) -> None:
    on = date(2026, 3, day)
    assert days_overdue(PROMISED, on) == days
    assert reasons(PROMISED, on) == (["late"] if days else [])


def test_what_is_certified_or_closed_is_not_overdue() -> None:
    on = date(2026, 4, 1)
    assert days_overdue(replace(CERTIFIED, promised_on=PROMISED.promised_on), on) == 0
    assert days_overdue(replace(PROMISED, cancelled=Done(at(9))), on) == 0
    assert days_overdue(replace(PROMISED, handed_over=Done(at(9))), on) == 0


def test_a_call_on_the_promised_day_has_told_that_it_is_late() -> None:
    on = date(2026, 3, 6)
    assert reasons(replace(PROMISED, calls=(call(24 * 3 + 6),)), on) == []
    assert reasons(replace(PROMISED, calls=(call(24),)), on) == ["late"]


def test_who_was_reached_must_not_be_called_again_for_the_same_reason() -> None:
    assert reasons(OUTSIDE) == ["finding"]
    assert reasons(replace(OUTSIDE, calls=(call(2.5),))) == []
    later = replace(CERTIFIED, calls=(call(2.5),))
    assert reasons(later) == ["ready"]


def test_a_message_that_was_left_is_told_and_the_call_stays_due() -> None:
    left = replace(OUTSIDE, calls=(call(1, "message_left"), call(2.5, "message_left")))
    (found,) = due(left, TODAY)
    assert (found.message_at, found.tried_at) == (at(2.5), None)
    assert reasons(left) == ["finding"]
    assert due(replace(left, calls=(*left.calls, call(3))), TODAY) == ()


def test_a_try_that_reached_nobody_is_told_and_settles_nothing() -> None:
    (found,) = due(replace(OUTSIDE, calls=(call(1, "not_reached"), call(4, "not_reached"))), TODAY)
    assert (found.tried_at, found.since) == (at(4), at(2))
    (before,) = due(replace(OUTSIDE, calls=(call(1, "not_reached"),)), TODAY)
    assert before.tried_at is None


def test_a_certificate_takes_the_place_of_what_was_found_before() -> None:
    assert reasons(CERTIFIED) == ["ready"]
    assert reasons(replace(CERTIFIED, surveys=OUTSIDE.surveys, corrections=(Done(at(5)),))) == []


def test_that_it_can_be_fetched_comes_with_what_is_still_open() -> None:
    (found,) = due(replace(CERTIFIED, holds_open=2), TODAY)
    (reason,) = found.reasons
    assert (reason.verdict, reason.holds_open) == ("outside", 2)


def test_an_open_hold_is_told() -> None:
    held = replace(RECEIVED, holds_open=1, hold_moments=(at(1),))
    assert reasons(held) == ["hold"]
    assert reasons(replace(held, holds_open=0)) == []


def test_a_finding_that_may_rest_on_a_moved_set_up_is_not_told_to_anybody() -> None:
    moved = replace(OUTSIDE.surveys[0], rig="moved")
    assert reasons(replace(OUTSIDE, surveys=(moved,))) == []


def test_a_call_that_somebody_asked_for_waits_for_the_one_it_names() -> None:
    wish = call(1, "", "adjuster", "may the frame be changed?")
    asked = replace(RECEIVED, calls=(wish,))
    (found,) = due(asked, TODAY)
    assert found == CallDue("adjuster", found.reasons, None)
    assert (found.reasons[0].code, found.reasons[0].words) == ("wanted", wish.words)
    assert reasons(asked) == []
    other = replace(asked, calls=(wish, call(2, "reached", "customer")))
    assert reasons(other, whom="adjuster") == ["wanted"]
    done = replace(asked, calls=(wish, call(2, "reached", "adjuster")))
    assert due(done, TODAY) == ()


def test_about_a_closed_job_nobody_is_called_unless_its_machine_waits_here() -> None:
    later = date(2027, 1, 1)
    assert due(replace(CERTIFIED, handed_over=Done(at(9))), later) == ()
    cancelled = replace(OUTSIDE, cancelled=Done(at(9)))
    assert due(cancelled, later) == ()
    waits = replace(cancelled, still_here=True, calls=(call(8),))
    assert reasons(waits, later) == ["waits_here"]
    assert reasons(replace(waits, calls=(call(10),)), later) == []


@pytest.mark.parametrize("left", [None, Done(at(5))], ids=["here", "handed over"])
def test_a_withdrawn_certificate_is_told_whether_or_not_the_machine_has_left(
    left: Done | None,
) -> None:
    gone = Withdrawn("C-2026-0001", at(6), "Ines", "another machine was measured")
    facts = replace(WITHIN, withdrawn=gone, handed_over=left)
    (found,) = due(facts, TODAY)
    assert [(one.code, one.words) for one in found.reasons] == [("withdrawn", gone.why)]
    assert reason("withdrawn", gone.why).endswith("was withdrawn: another machine was measured")
    assert due(replace(facts, calls=(call(7),)), TODAY) == ()


def test_a_withdrawn_certificate_waits_behind_no_other_call() -> None:
    gone = CallDue("customer", (Reason("withdrawn", at(9)),), None, message_at=at(10))
    late = CallDue("customer", (Reason("late", at(1)),), None)
    told = CallDue("customer", (Reason("hold", at(1)),), None, message_at=at(10))
    both = CallDue("customer", (Reason("ready", at(1)), Reason("withdrawn", at(9))), None)
    assert (gone.may_wait, late.may_wait, told.may_wait) == (False, False, True)
    assert both.weight == gone.weight < told.weight < late.weight
    assert set(BY_WEIGHT) == set(REASONS)
