"""What has no reference follows what carries it: the fork the head, the rear wheel the arm."""

import math

import pytest

from app.drawings.exaggeration import exaggerated
from app.drawings.outline import three_views
from app.drawings.places import Place, Shape
from app.schemas.result import OutlineOut
from tests.drawings.frames import element, fork_without_reference, frame, wheel
from tests.drawings.test_outline import words

FOLLOWS = "Fork and front wheel as the steering stood, moved with the head."


def drawn(outline: OutlineOut, factor: float) -> dict[str, Shape]:
    """The measured shapes by name."""
    return {shape.name: shape for shape in exaggerated(outline, factor)}


def moved(shapes: dict[str, Shape], plain: dict[str, Shape], name: str) -> list[Place]:
    """How far the points of a shape stand from where they were measured."""
    pairs = zip(shapes[name].points, plain[name].points, strict=True)
    return [(a[0] - b[0], a[1] - b[1], a[2] - b[2]) for a, b in pairs]


def test_the_fork_moves_by_what_the_head_is_drawn_too_far() -> None:
    outline = fork_without_reference(back=6.0, left=2.0)
    plain, large = drawn(outline, 1), drawn(outline, 10)
    for name in ("head", "fork_left"):
        for shift in moved(large, plain, name):
            assert shift == pytest.approx((-54.0, 18.0, 0.0))
    centre, normal = moved(large, plain, "front_wheel")
    assert centre == pytest.approx((-54.0, 18.0, 0.0))
    assert normal == pytest.approx((0.0, 0.0, 0.0))
    assert large["pair.tail"] == plain["pair.tail"], "the head does not carry the tail"


def test_the_fork_stands_to_the_drawn_head_as_it_was_measured_to_the_head() -> None:
    """The angle between leg and axis, and the distance of the wheel from the head, stay."""
    outline = fork_without_reference(back=3.0, left=1.0, castor_deg=25.0)
    plain, large = drawn(outline, 1), drawn(outline, 20)

    def stands(shapes: dict[str, Shape]) -> tuple[float, float]:
        lower, upper = shapes["steering_axis"].points
        top, foot = shapes["fork_left"].points
        axis = [u - v for u, v in zip(upper, lower, strict=True)]
        leg = [u - v for u, v in zip(top, foot, strict=True)]
        along = sum(u * v for u, v in zip(axis, leg, strict=True))
        cosine = along / (math.hypot(*axis) * math.hypot(*leg))
        return cosine, math.dist(lower, shapes["front_wheel"].points[0])

    turned = moved(large, plain, "fork_left")
    assert turned[0] != pytest.approx(turned[1], abs=1.0), "the head was turned as well"
    assert stands(large) == pytest.approx(stands(plain))


def test_the_rear_wheel_follows_the_end_of_the_arm() -> None:
    arm = element("arm", "segment", (0.0, 0.0, 0.0), (-540.0, 4.0, -70.0))
    nominal = element("arm", "segment", (0.0, 0.0, 0.0), (-540.0, 0.0, -70.0))
    rear = wheel("rear_wheel", (-540.0, 4.0, -70.0), (0.0, 1.0, 0.0), 216.0)
    outline: OutlineOut = {
        "measured": [*frame(), arm, rear], "reference": [*frame(), nominal], "levelled": True,
    }  # fmt: skip
    shapes = drawn(outline, 10)
    assert shapes["rear_wheel"].points[0] == pytest.approx((-540.0, 40.0, -70.0))
    assert shapes["rear_wheel"].points[0] == pytest.approx(shapes["arm"].points[1])
    assert shapes["rear_wheel"].points[1] != pytest.approx((0.0, 1.0, 0.0)), "it toes with the arm"


def test_the_legend_says_that_the_fork_follows_only_where_it_does() -> None:
    def said(outline: OutlineOut, factor: int | None) -> str:
        return " ".join(words(three_views(outline, exaggeration=factor).sheet))

    outline = fork_without_reference(back=6.0)
    assert FOLLOWS in said(outline, None)
    assert FOLLOWS not in said(outline, 1)
    assert "as the steering stood." in said(outline, 1)
    assert FOLLOWS not in said({**outline, "reference": []}, None)
