"""What a person types finds what another person wrote."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.records.search_text import LONGEST, closed_up, comparable, search_text, words_in


@pytest.mark.parametrize(
    ("typed", "written"),
    [
        ("Ase", "Åse"), ("åse", "ASE"), ("strasse", "Hauptstraße 5"), ("MULLER", "Müller"),
        ("łódź", "ŁÓDŹ"), ("ﬁat", "Fiat"), ("νικοσ", "ΝΊΚΟΣ"), ("two  words", "two\twords"),
    ],
)  # fmt: skip
def test_case_and_marks_do_not_matter(typed: str, written: str) -> None:
    assert comparable(typed) in comparable(written)


@pytest.mark.parametrize(
    ("typed", "written"),
    [
        ("monster", "Mønster"), ("MØNSTER", "Monster"), ("aero", "Ærø"), ("lodz", "Łódź"),
        ("strasse", "Straße"), ("dord", "Đorđ"), ("okim", "O'Kim"), ("kim", "O'Kim"),
    ],
)  # fmt: skip
def test_letters_are_found_by_those_of_a_keyboard_without_them(typed: str, written: str) -> None:
    assert any(f" {word}" in search_text(written) for word in words_in(typed))


@pytest.mark.parametrize("typed", ["ab-12 cd", "AB12CD", "(ab 12 cd)", "b12cd"])
def test_plates_and_numbers_are_found_with_and_without_spaces_and_dashes(typed: str) -> None:
    kept = search_text("Kim", None, marks=("AB-12 CD",))
    assert kept == " kim ab 12 ab12 cd ab12cd "
    assert f"{closed_up(typed)} " in kept


@settings(max_examples=100, deadline=None, derandomize=True)
@given(st.text(max_size=60))
def test_what_is_comparable_stays_as_it_is(written: str) -> None:
    once = comparable(written)
    assert comparable(once) == once


def test_a_search_text_fits_its_column() -> None:
    assert len(search_text("x" * 20_000)) == LONGEST
    assert search_text(None, "", " - ") == ""
