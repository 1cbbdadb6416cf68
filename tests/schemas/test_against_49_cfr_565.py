"""Frame numbers against 49 CFR 565.15(c), tables III to VI; numbers in tests/published."""

from collections.abc import Callable
from typing import Any

import pytest

from app.schemas.frame_number import (
    LETTER_VALUES,
    NEVER_USED,
    WEIGHTS,
    check_digit,
    read_frame_number,
    weighted_sum,
)

Published = Callable[[str, str], dict[str, Any]]


def test_letter_values_and_weights_agree_with_tables_iii_and_iv(published: Published) -> None:
    given = published("frame_numbers", "vin-tables")["inputs"]
    assert given["letter_values"] == LETTER_VALUES
    assert tuple(given["weights_positions_1_17"]) == WEIGHTS
    assert set(given["never_used"]) == set(NEVER_USED)


@pytest.mark.parametrize("case", ["vin-cfr-table-vi", "vin-check-x", "vin-all-ones"])
def test_worked_samples_have_their_printed_sum_and_check_digit(
    case: str, published: Published
) -> None:
    """Table VI of the rule, and two samples that are widely reproduced."""
    found = published("frame_numbers", case)
    vin, answer = found["inputs"]["vin"], found["published"]
    assert str(weighted_sum(vin)) == answer["sum"]
    assert check_digit(vin) == answer["check"] == vin[8]
    assert read_frame_number(vin).warnings == ()


def test_a_remainder_of_10_is_written_x(published: Published) -> None:
    found = published("frame_numbers", "vin-remainder-10-variant")
    assert check_digit(found["inputs"]["vin"]) == found["published"]["check"] == "X"


def test_one_wrong_character_is_warned_about_and_not_refused(published: Published) -> None:
    found = published("frame_numbers", "vin-one-character-wrong")
    read = read_frame_number(found["inputs"]["vin"])
    assert str(weighted_sum(read.number)) == found["published"]["sum"]
    assert read.problems == ()
    assert [w.code for w in read.warnings] == ["frame_number_check_digit"]
    assert read.warnings[0].facts["needed"] == found["published"]["expected_check"]
