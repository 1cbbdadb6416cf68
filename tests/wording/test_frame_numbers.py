"""The check of a frame number in sentences."""

from app.wording.frame_numbers import explained


def test_nothing_is_said_of_nothing() -> None:
    assert explained("  ") == ()


def test_a_number_with_its_check_digit() -> None:
    """49 CFR 565.15(c): seventeen ones sum to 89, whose remainder by 11 is 1."""
    said = explained("111 1111-11111111 11")
    assert said[0] == "Read as 11111111111111111."
    assert said[-1] == "Its check digit, at place 9, fits."


def test_a_number_from_elsewhere_needs_none() -> None:
    said = explained("ZZZTEST00A1000017")
    assert len(said) == 3
    assert "outside North America" in said[-1]


def test_what_is_odd_is_said_as_everywhere_else() -> None:
    assert "17 are usual" in explained("AB 123")[1]
    assert "never holds I, O or Q" in explained("OOOOOOOOOOOOOOOOO")[1]
    wrong = explained("11111111211111111")
    assert "1 belongs there" in wrong[1]
