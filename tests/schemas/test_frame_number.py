"""Frame numbers: characters are checked, the check digit is only ever a warning."""

import pytest

from app.schemas.frame_number import check_digit, read_frame_number


def test_spaces_dashes_stars_and_small_letters_are_no_part_of_the_number() -> None:
    assert read_frame_number(" *zzz-aa00 b1.c234567* ").number == "ZZZAA00B1C234567"


@pytest.mark.parametrize(
    ("text", "code", "place"),
    [
        ("JZZAA00O0XA000001", "frame_number_letter", 8),
        ("JZZAA00I0XA000001", "frame_number_letter", 8),
        ("JZZAA00Q0XA000001", "frame_number_letter", 8),
        ("JZZAAÄ000XA000001", "frame_number_character", 6),
        ("ЖZZAA0000XA000001", "frame_number_character", 1),
        ("JZZAA0000XA00000١", "frame_number_character", 17),
        ("JZZAA\x000000XA00001", "frame_number_character", 6),
    ],
)
def test_a_character_that_no_frame_number_holds_is_refused_by_its_place(
    text: str, code: str, place: int
) -> None:
    (problem,) = read_frame_number(text).problems
    assert (problem.code, problem.facts["places"]) == (code, str(place))


@pytest.mark.parametrize("text", ["", "   ", "ABC", "A" * 26, "1" * 1_000_000])
def test_a_length_that_no_frame_number_has_is_refused(text: str) -> None:
    (problem,) = read_frame_number(text).problems
    assert problem.code == "frame_number_length"


def test_letters_o_and_q_are_taken_in_older_numbers_of_other_lengths() -> None:
    read = read_frame_number("QO4-1234567")
    assert read.problems == ()
    assert [w.code for w in read.warnings] == ["frame_number_not_17"]


def test_all_that_is_odd_is_pointed_out_at_once() -> None:
    """One sign too few, an O for a zero, and a sign that no number holds."""
    read = read_frame_number("JZZAAO000XA0001é")
    found = [(one.code, one.facts.get("places")) for one in (*read.problems, *read.warnings)]
    assert found == [
        ("frame_number_character", "16"),
        ("frame_number_not_17", None),
        ("frame_number_letter", "6"),
    ]


def test_a_check_digit_is_not_asked_of_machines_built_elsewhere() -> None:
    """ISO 3779 asks for none: position 9 is then whatever the maker put there."""
    assert read_frame_number("ZZZAA0000XA000001").warnings == ()
    assert [w.code for w in read_frame_number("1ZZAA0000XA000001").warnings] == [
        "frame_number_check_digit"
    ]


def test_a_check_digit_belongs_to_17_characters_alone() -> None:
    with pytest.raises(ValueError, match="17 characters"):
        check_digit("1ZZ")
    with pytest.raises(ValueError, match="without I, O and Q"):
        check_digit("1ZZAA0000XA00000O")
