"""Whether a reading repeats what somebody else read: by target, else once a step has all of its."""

from dataclasses import replace

from app.services.draft_views import DraftPoint
from app.services.floor_repeats import read_by_others
from tests.databases import NOW

POINT = DraftPoint(
    id=1,
    order=1,
    sent={"feature": "pivot", "label": "left"},
    as_entered={},
    added_at=NOW,
    added_by="Ida",
    stands=True,
    supersedes=None,
)


def of(number: int, by: str | None, **sent: str) -> DraftPoint:
    return replace(POINT, id=number, added_by=by, sent={**POINT.sent, **sent})


def test_what_a_step_still_asks_for_repeats_nothing() -> None:
    points = [of(1, "Ida"), of(2, "Ole")]
    assert read_by_others(points, 2, 2) == ()
    assert read_by_others(points, 1, 2) == (points[0],)


def test_ones_own_reading_and_that_of_a_program_are_nobody_elses() -> None:
    points = [of(1, "Ole"), of(2, None), of(3, "Ole")]
    assert read_by_others(points, 1, 3) == ()


def test_a_target_repeats_the_same_target_alone() -> None:
    upper = of(1, "Ida", feature="steer_target", label="upper")
    lower = of(2, "Ole", feature="steer_target", label="lower")
    again = of(3, "Ole", feature="steer_target", label="upper")
    assert read_by_others([upper, lower], 2, 2) == ()
    assert read_by_others([upper, lower, again], 2, 3) == (upper,)


def test_a_point_that_does_not_stand_there_repeats_nothing() -> None:
    assert read_by_others([of(1, "Ida")], 1, 9) == ()
