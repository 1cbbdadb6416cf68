"""Which deviations are said first."""

from typing import Any

from app.services.chief_deviations import chief_deviations


def result(*lines: tuple[str, float, float, float, str]) -> Any:
    return {
        "characteristics": [
            {"key": key, "deviation": off, "lower": low, "upper": high, "verdict": verdict}
            for key, off, low, high, verdict in lines
        ]
    }


def chosen(found: Any) -> dict[str, list[str]]:
    return {code: [one["key"] for one in some] for code, some in chief_deviations(found).items()}


def test_the_largest_against_its_limit_speaks_for_its_part() -> None:
    found = result(
        ("arm_length", 6.0, -5.0, 5.0, "outside"),
        ("axle_toe", -0.9, -0.3, 0.3, "outside"),
        ("fork_spacing", 9.0, -1.0, 1.0, "within"),
    )
    assert chosen(found) == {"arm": ["axle_toe"]}


def test_the_head_is_seen_from_the_side_and_from_behind() -> None:
    found = result(
        ("head_twist", -1.0, -0.3, 0.3, "outside"),
        ("head_offset", 2.4, -2.0, 2.0, "outside"),
        ("face_position", 9.0, -3.0, 3.0, "outside"),
        ("head_angle", 0.8, -0.6, 0.6, "outside"),
    )
    assert chosen(found) == {"head": ["face_position", "head_twist"]}


def test_the_way_that_the_head_was_pushed_is_told_as_an_owner_sees_it() -> None:
    found = result(
        ("axis_distance", -10.0, -3.0, 3.0, "outside"), ("head_reach", -11.0, -4.0, 4.0, "outside")
    )
    assert chosen(found) == {"head": ["head_reach"]}
    assert chosen(result(("axis_distance", -10.0, -3.0, 3.0, "outside"))) == {
        "head": ["axis_distance"]
    }


def test_a_side_without_room_goes_first() -> None:
    found = result(
        ("arm_length", -0.5, 0.0, 5.0, "outside"), ("axle_toe", -0.9, -0.3, 0.3, "outside")
    )
    assert chosen(found) == {"arm": ["arm_length"]}
