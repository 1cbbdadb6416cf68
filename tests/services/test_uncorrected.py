"""Changes in parts that nobody noted to have worked on."""

from types import SimpleNamespace
from typing import Any, cast

from app.schemas.correction import PARTS
from app.services.job_views import CorrectionView
from app.services.stages import Stages
from app.services.uncorrected import EXPLAINS, unexplained


def found(*keys: str, levelling: str = "by_line", significant: bool = True) -> Stages:
    changes = [{"key": key, "significant": significant} for key in keys]
    last = SimpleNamespace(result={"levelling": levelling})
    return cast(Stages, SimpleNamespace(change={"characteristics": changes}, last=last))


def noted(*parts: str | None) -> tuple[CorrectionView, ...]:
    made: Any = [SimpleNamespace(part=part) for part in parts]
    return tuple(made)


def test_every_part_that_is_noted_explains_something() -> None:
    assert set(EXPLAINS) == set(PARTS)


def test_a_pivot_that_widened_while_the_head_was_pulled_is_odd() -> None:
    both = found("head_reach", "pivot_width", "wheel_lean")
    assert unexplained(both, noted("head")) == {"pivot_width"}
    assert unexplained(both, noted("head", "pivot")) == frozenset()
    assert unexplained(both, noted()) == {"head_reach", "pivot_width", "wheel_lean"}


def test_nothing_is_odd_where_it_is_not_said_what_was_worked_on() -> None:
    assert unexplained(found("arm_length"), noted("head", None)) == frozenset()
    assert unexplained(found("arm_length"), noted("other")) == frozenset()


def test_what_is_within_its_uncertainty_is_not_odd() -> None:
    assert unexplained(found("arm_length", significant=False), noted("head")) == frozenset()


def test_sound_points_do_not_move_because_the_head_set_the_level() -> None:
    moved = ("control.tail.z", "control.tail.y")
    assert unexplained(found(*moved, levelling="by_height"), noted("head")) == {"control.tail.y"}
    assert unexplained(found(*moved), noted("head")) == set(moved)
