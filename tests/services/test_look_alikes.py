"""When a bent head may as well be a bent pivot, and what is told to measure."""

from types import SimpleNamespace
from typing import Any, cast

from app.services.look_alikes import doubt
from app.services.survey_views import SurveyView
from app.wording import look_alikes as words


def survey(*found: tuple[str, str], moved: bool = False) -> SurveyView:
    result = {
        "characteristics": [{"key": key, "verdict": verdict} for key, verdict in found],
        "rig_check": {"verdict": "moved" if moved else "steady"},
    }
    return cast(SurveyView, SimpleNamespace(number=3, result=result))


def reference(*control_points: str) -> Any:
    return SimpleNamespace(control_points=dict.fromkeys(control_points))


def test_a_head_outside_without_control_points_leaves_a_doubt() -> None:
    found = doubt(survey(("head_reach", "outside"), ("head_twist", "within")), None)
    assert found is not None
    assert (found.survey, found.sentence) == (3, words.sentence())
    assert found.measure == (words.head_or_pivot(()),)


def test_a_twist_may_be_a_lean_or_a_turn() -> None:
    found = doubt(survey(("head_twist", "outside")), None)
    assert found is not None
    assert found.measure[-1] == words.leaning_or_turned()


def test_control_points_of_the_reference_are_named_where_they_suffice() -> None:
    three = doubt(survey(("head_reach", "outside")), reference("tail_left", "b", "c"))
    two = doubt(survey(("head_reach", "outside")), reference("tail_left", "b"))
    assert three is not None
    assert "tail left, b, c" in three.measure[0]
    assert two is not None
    assert two.measure == (words.head_or_pivot(()),)


def test_nothing_is_doubted_where_it_is_known_or_nothing_hangs_on_it() -> None:
    told_apart = survey(("head_twist", "outside"), ("datum_roll", "no_tolerance"))
    for one in (
        told_apart,
        survey(("head_twist", "within"), ("fork_lean", "outside")),
        survey(("face_squareness", "outside")),
        survey(("head_twist", "outside"), moved=True),
    ):
        assert doubt(one, None) is None
