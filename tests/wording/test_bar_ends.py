"""The words at the ends of a tolerance bar say the same as the sentence of the sense."""

import pytest

from app.chassis.senses import OF_DEVIATION
from app.wording.bar_ends import ENDS, ends
from app.wording.senses import SENSES

ONLY_A_SIZE = {"face_squareness", "bore_runout"}
OTHER_FORMS = {"back": {"back", "rearward"}}
"""A short word at the bar and what the sentence may say instead."""


def test_everything_with_a_direction_has_ends() -> None:
    assert set(ENDS) == set(OF_DEVIATION) - ONLY_A_SIZE


@pytest.mark.parametrize("family", sorted(ENDS))
def test_each_end_is_told_by_the_words_of_its_sense(family: str) -> None:
    row = OF_DEVIATION[family]
    left, right, mirrored = ENDS[family]
    positive, negative = (left, right) if mirrored else (right, left)
    for words, code in ((positive, row.positive), (negative, row.negative)):
        said = set(SENSES[code].replace(",", "").split())
        for word in words.split():
            assert said & OTHER_FORMS.get(word, {word}), (words, SENSES[code])


@pytest.mark.parametrize("family", sorted(ENDS))
def test_left_stands_at_the_left(family: str) -> None:
    left, right, _mirrored = ENDS[family]
    assert "left" not in right.split()
    assert "right" not in left.split()


def test_named_keys_take_the_ends_of_their_family() -> None:
    assert ends("control.engine_front.y") == ENDS["head_offset"]
    assert ends("pair_roll.tail") == ENDS["pair_roll"]
    assert ends("bore_runout") == ("", "", False)
