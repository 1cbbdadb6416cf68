"""Every direction has its words, and no number that a person reads carries a bare minus sign."""

import pytest

from app.chassis.senses import OF_DEVIATION, OF_VALUE, sense_code
from app.schemas.characteristic_keys import unit_of
from app.wording.senses import SENSES, sentence

CODES = sorted(
    {code for table in (OF_DEVIATION, OF_VALUE) for row in table.values() for code in row}
)


def test_every_sense_of_the_engine_has_its_words() -> None:
    assert set(CODES) == set(SENSES)


@pytest.mark.parametrize("key", sorted(OF_VALUE))
@pytest.mark.parametrize("number", [-2.4, -1e-9, 0.0, 1e-9, 2.4])
@pytest.mark.parametrize("nominal", [None, 0.0, 500.0])
def test_no_sense_carries_a_minus_sign(key: str, number: float, nominal: float | None) -> None:
    unit = unit_of(key)
    assert unit is not None
    deviation = None if nominal is None else number
    told = sentence(sense_code(key, number, deviation), number, unit, 2, nominal)
    assert told
    assert not set(told) & set("-−–")
    assert number == 0.0 or "0.00" not in told


def test_the_sense_of_the_design_is_said_as_it_stands_there() -> None:
    code = sense_code("head_twist", -0.11, -0.11)
    told = sentence(code, -0.11, "deg", 2, 0.0)
    assert told == "0.11° anticlockwise seen from behind, square to the head"
    code = sense_code("head_reach", 702.4, 2.4)
    assert sentence(code, 2.4, "mm", 1, 700.0) == "2.4 mm forward of the reference"


def test_opposite_directions_have_different_words() -> None:
    for table in (OF_DEVIATION, OF_VALUE):
        for key, (positive, negative, none) in table.items():
            # Lengths without a direction of their own have one code.
            different = len({positive, negative, none})
            assert len({SENSES[positive], SENSES[negative], SENSES[none]}) == different, key


def test_a_deviation_that_rounds_to_nothing_keeps_its_side() -> None:
    assert sentence("head_forward", 0.004, "mm", 2, 1.0) == "under 0.01 mm forward of the reference"


def test_a_twist_against_a_nominal_that_is_not_zero_says_so() -> None:
    told = sentence("clockwise_from_behind", 0.2, "deg", 1, 0.5)
    assert told.endswith(", against the reference")
