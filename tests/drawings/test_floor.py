"""Where to measure: marks lie where the reference says, left is left, and words say the same."""

import math
from xml.etree import ElementTree

import pytest

from app.chassis.survey import FEATURES
from app.drawings.floor import Mark, where
from app.drawings.floor_places import LINES, is_exact, layout, places_of
from app.drawings.inks import PAGE

SVG = "{http://www.w3.org/2000/svg}"
GENERIC = layout({}, {}, targets=["upper", "lower"])


def aims(drawing: str) -> list[tuple[float, float]]:
    """Middles of the rings, first those of the side view, then those from above."""
    circles = ElementTree.fromstring(drawing).iter(f"{SVG}circle")
    return [
        (float(one.get("cx", "")), float(one.get("cy", "")))
        for one in circles
        if one.get("class") == "accent" and one.get("fill") == "none"
    ]


@pytest.mark.parametrize("feature", sorted(FEATURES))
def test_every_feature_has_a_place_inside_the_drawing(feature: str) -> None:
    end = next(iter(LINES[feature](GENERIC, 1.0))) if feature in LINES else None
    drawing = where(GENERIC, [Mark(feature, "left", end=end)])
    left, top, width, height = map(float, drawing.partition('viewBox="')[2].split('"')[0].split())
    side, above = aims(drawing)
    assert left < side[0] < left + width
    assert top < side[1] < top + height
    assert above[0] == side[0]


def test_left_lies_above_right_seen_from_above() -> None:
    ends = {"fork_leg": "lower"}
    for feature in ("pivot", "pivot_face", "rear_axle", "axle_face", "fork_leg", "rear_rim"):
        end = ends.get(feature)
        _side, left = aims(where(GENERIC, [Mark(feature, "left", end=end)]))
        _side, right = aims(where(GENERIC, [Mark(feature, "right", end=end)]))
        assert left[1] == pytest.approx(-right[1])
        assert left[1] < 0


def test_a_pair_is_told_apart_by_the_end_of_its_label() -> None:
    left = places_of(GENERIC, "pair", "tail.left")[0]
    right = places_of(GENERIC, "pair", "tail.right")[0]
    assert left == (right[0], -right[1], right[2])
    assert left[1] > 0


def test_a_control_point_is_drawn_where_the_reference_has_it() -> None:
    plan = layout({}, {"engine_front_left": [410.0, 120.0, 95.0]})
    assert aims(where(plan, [Mark("control", "engine_front_left")])) == [
        (410.0, -95.0),
        (410.0, -120.0),
    ]
    assert is_exact(plan, "control", "engine_front_left")
    assert not is_exact(plan, "control", "engine_rear_left")


def test_the_head_stands_by_its_reach_and_height() -> None:
    plan = layout({"head_reach": 701.0, "head_height": 322.0, "head_angle": 24.0}, {})
    assert plan.head == (701.0, 0.0, 322.0)
    assert plan.upward == pytest.approx((-math.sin(math.radians(24.0)), 0.0, 0.91354546), abs=1e-8)


def test_the_head_stands_by_the_two_lengths_of_the_side_view() -> None:
    """Design 5.2: r = hypot(d, h), ψ = atan2(h, d), θ = e + ψ."""
    nominals = {"axis_distance": 600.0, "face_position": 80.0, "head_angle": 25.0}
    x, y, z = layout(nominals, {}).head
    angle = math.radians(25.0)
    assert x * math.cos(angle) + z * math.sin(angle) == pytest.approx(600.0)
    assert z * math.cos(angle) - x * math.sin(angle) == pytest.approx(80.0)
    assert y == 0.0


def test_a_target_goes_round_with_the_steering() -> None:
    """Turned to the left a target ahead of the axis goes to the left."""
    straight = places_of(GENERIC, "steer_target", "upper", turn_deg=0.0)[0]
    left = places_of(GENERIC, "steer_target", "upper", turn_deg=20.0)[0]
    right = places_of(GENERIC, "steer_target", "upper", turn_deg=-20.0)[0]
    assert right[1] < straight[1] < left[1]


def test_two_targets_have_two_places() -> None:
    upper, lower = (places_of(GENERIC, "steer_target", name)[0] for name in ("upper", "lower"))
    assert math.dist(upper, lower) > 100.0


def test_several_points_are_marked_apart() -> None:
    for feature in ("head_face", "rear_rim", "pivot_face"):
        places = places_of(GENERIC, feature, "left", 3)
        assert len({tuple(round(v) for v in place) for place in places}) == 3


@pytest.mark.parametrize("feature", sorted(LINES))
def test_the_two_ends_of_a_line_lie_apart_and_both_are_shown_without_a_name(feature: str) -> None:
    both = places_of(GENERIC, feature, "left")
    assert math.dist(*both) > 100.0
    for end, place in LINES[feature](GENERIC, 1.0).items():
        assert places_of(GENERIC, feature, "left", end=end) == [place]
        assert place in both


def test_what_is_taken_is_a_dot_and_the_words_name_what_is_not() -> None:
    marks = [Mark("pivot", "left", taken=True), Mark("pivot", "right")]
    drawing = where(GENERIC, marks)
    assert len(aims(drawing)) == 2
    title = ElementTree.fromstring(drawing).find(f"{SVG}title")
    assert title is not None
    assert title.text == "Where to measure: swing-arm pivot axis, right"


def test_nothing_in_the_drawing_needs_a_style_and_every_ink_is_a_pages_own() -> None:
    drawing = where(GENERIC, [Mark("pivot", "left")], turn_deg=20.0)
    assert "style" not in drawing
    inks = {PAGE.ink, PAGE.muted, PAGE.accent, PAGE.reference, "none"}
    root = ElementTree.fromstring(drawing)
    used = {one.get(name) for one in root.iter() for name in ("stroke", "fill")} - {None}
    assert used <= inks


def test_the_drawing_is_small() -> None:
    assert len(where(GENERIC, [Mark("head_face", None, 3)])) < 8_000
