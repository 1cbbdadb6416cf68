"""Every direction has its words, and no number that a person reads carries a bare minus sign."""

import pytest

from app.chassis.characteristic_units import HANDLING, unit_of
from app.chassis.senses import OF_DEVIATION, OF_VALUE, family, sense_code
from app.schemas.characteristic_keys import NAMED_KEYS, PLAIN_KEYS
from app.wording.senses import COMPARED_WITH_ZERO, SENSES, sentence

CODES = sorted(
    {code for table in (OF_DEVIATION, OF_VALUE) for row in table.values() for code in row}
)
CHARACTERISTICS = sorted(
    [
        *PLAIN_KEYS,
        *[f"{first}.tail" for first in NAMED_KEYS],
        *[f"control.engine_front.{axis}" for axis in "xyz"],
        "distance.spar_left.tail_right",
    ]
)


def said(key: str, number: float, nominal: float | None = 0.0, decimals: int = 1) -> str:
    deviation = None if nominal is None else number
    code = sense_code(key, number, deviation)
    return sentence(code, number, unit_of(key), decimals, nominal)


def test_every_sense_of_the_engine_has_its_words() -> None:
    assert set(CODES) == set(SENSES)


def test_every_characteristic_has_its_senses() -> None:
    assert {family(key) for key in CHARACTERISTICS} == set(OF_DEVIATION)
    assert {family(key) for key in CHARACTERISTICS} | set(HANDLING) == set(OF_VALUE)


@pytest.mark.parametrize("key", CHARACTERISTICS)
@pytest.mark.parametrize("number", [-2.4, -1e-9, 0.0, 1e-9, 2.4])
@pytest.mark.parametrize("nominal", [None, 0.0, 500.0])
def test_no_sense_carries_a_minus_sign(key: str, number: float, nominal: float | None) -> None:
    told = said(key, number, nominal, 2)
    assert told
    assert not set(told) & set("-−–")
    assert number == 0.0 or "0.00" not in told


@pytest.mark.parametrize("key", HANDLING)
@pytest.mark.parametrize("number", [-2.4, 0.0, 2.4])
def test_no_figure_of_the_handling_carries_a_minus_sign(key: str, number: float) -> None:
    assert not set(said(key, number, None)) & set("-−–")


def test_the_sense_of_the_design_is_said_as_it_stands_there() -> None:
    told = said("head_twist", -0.11, 0.0, 2)
    assert told == "0.11° anticlockwise seen from behind, square to the head"
    code = sense_code("head_reach", 702.4, 2.4)
    assert sentence(code, 2.4, "mm", 1, 700.0) == "2.4 mm forward of the reference"


@pytest.mark.parametrize(
    ("key", "positive", "negative"),
    [
        # Toe and yaw positive to the left, twist and roll clockwise seen from the rear.
        ("axle_toe", "with the wheel pointing to the left", "to the right"),
        ("axle_twist", " clockwise seen from behind", "anticlockwise"),
        ("axle_offset", "to the left", "to the right"),
        ("pair_offset.tail", "to the left", "to the right"),
        ("pair_roll.tail", "with the left end high", "with the right end high"),
        ("pair_skew.tail", "with the left end rearward", "with the right end rearward"),
        ("axis_toe.shock_bolt", "with the left end rearward", "with the right end rearward"),
        ("axis_twist.shock_bolt", "with the left end high", "with the right end high"),
        ("control.a.x", "forward of the reference", "rearward of the reference"),
        ("control.a.y", "to the left of the reference", "to the right of the reference"),
        ("control.a.z", "higher than the reference", "lower than the reference"),
        ("datum_roll", "left end of the pivot axis high", "right end of the pivot axis high"),
        ("datum_yaw", "left end of the pivot axis rearward", "right end of the pivot axis rear"),
        ("datum_shift", "to the left", "to the right"),
        ("fork_spread", "apart towards the top", "together towards the top"),
        ("fork_cross", "top of the left leg forward", "top of the right leg forward"),
        ("fork_rake", "top forward of the steering axis", "top rearward of the steering axis"),
        ("fork_lean", "top to the right", "top to the left"),
        ("wheel_lean", "top of the front wheel to the right", "front wheel to the left"),
        ("wheel_track", "front wheel to the left", "front wheel to the right"),
        ("front_wheel_lean", "top to the right", "top to the left"),
        ("front_wheel_offset", "to the left of the head", "to the right of the head"),
    ],
)
def test_each_sign_of_the_design_has_its_direction(key: str, positive: str, negative: str) -> None:
    for nominal in (None, 0.0):
        assert positive in said(key, 1.5, nominal)
        assert negative in said(key, -1.5, nominal)


def test_figures_of_the_handling_are_positive_behind_the_axis_and_to_the_left() -> None:
    assert said("trail_mm", 98.4, None) == "98.4 mm behind the steering axis, along the ground"
    assert said("normal_trail_mm", -1.0, None).startswith("1.0 mm ahead of the steering axis")
    for key in ("front_contact_mm", "rear_contact_mm", "wheel_line_mm"):
        assert "to the left" in said(key, 2.0, None)
        assert "to the right" in said(key, -2.0, None)


def test_opposite_directions_have_different_words() -> None:
    for table in (OF_DEVIATION, OF_VALUE):
        for key, (positive, negative, none) in table.items():
            # Lengths without a direction of their own have one code.
            different = len({positive, negative, none})
            assert len({SENSES[positive], SENSES[negative], SENSES[none]}) == different, key


def test_a_deviation_that_rounds_to_nothing_keeps_its_side() -> None:
    assert sentence("head_forward", 0.004, "mm", 2, 1.0) == "under 0.01 mm forward of the reference"


def test_a_direction_against_a_nominal_that_is_not_zero_says_so() -> None:
    told = sentence("clockwise_from_behind", 0.2, "deg", 1, 0.5)
    assert told.endswith(", against the reference")
    for key in CHARACTERISTICS:
        for number in (-0.2, 0.0, 0.2):
            assert "reference" in said(key, number, 500.0), key


def test_only_senses_with_a_direction_of_their_own_are_compared_with_zero() -> None:
    same = {
        code
        for key, row in OF_DEVIATION.items()
        for code in (row.positive, row.negative)
        if OF_VALUE[key] == row and not key.startswith("control.")
    }
    assert same == COMPARED_WITH_ZERO


def test_a_key_that_names_nothing_is_refused() -> None:
    with pytest.raises(KeyError):
        sense_code("head_colour", 1.0, None)
