"""Every characteristic stands in one section, and what belongs together stands together."""

from app.schemas.characteristic_keys import NAMED_KEYS, PLAIN_KEYS
from app.wording.sections import FIRST_PARTS, TITLES, section_of, sorted_into


def keys(items: list[str]) -> list[list[str]]:
    return [inside for _section, inside in sorted_into(items, lambda key: key)]


def test_every_characteristic_stands_in_exactly_one_section() -> None:
    firsts = [first for inside in FIRST_PARTS.values() for first in inside]
    assert len(firsts) == len(set(firsts))
    assert set(firsts) == {*PLAIN_KEYS, *NAMED_KEYS, "control", "distance"}
    assert set(FIRST_PARTS) == set(TITLES)


def test_sections_stand_in_their_order_and_empty_ones_are_left_out() -> None:
    assert keys(["arm_length", "pivot_width", "head_twist"]) == [
        ["head_twist"],
        ["pivot_width"],
        ["arm_length"],
    ]
    assert keys([]) == []


def test_what_is_said_of_one_pair_or_point_stands_together() -> None:
    mixed = [
        "axis_toe.bolt", "control.b.z", "pair_skew.tail", "pair_roll.rests", "control.b.x",
        "control.a.y", "distance.a.b", "pair_offset.tail", "control.b.y",
    ]  # fmt: skip
    assert keys(mixed) == [
        [
            "pair_roll.rests", "pair_offset.tail", "pair_skew.tail", "control.a.y", "control.b.x",
            "control.b.y", "control.b.z", "distance.a.b", "axis_toe.bolt",
        ]
    ]  # fmt: skip


def test_a_key_of_another_version_still_has_a_place() -> None:
    assert section_of("head_colour") in TITLES
    assert keys(["head_colour", "control"]) == [["head_colour", "control"]]
