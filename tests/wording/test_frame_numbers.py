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
    assert "I, O and Q are not used" in explained("OOOOOOOOOOOOOOOOO")[1]
    assert explained("JZZIAA000XA000O0I")[1:] == (
        "The frame number holds “I, O”, place 4 (I), 15 (O), 17 (I); I, O and Q are not used in "
        "numbers of 17 characters (ISO 3779): read it again: what looks like I is 1, what looks "
        "like O or Q is 0.",
    )
    both = explained("JZZQAA000XAÄ00Ö00")[1:]
    assert [one.split(";")[0] for one in both] == [
        "The frame number holds “Q”, place 4",
        "The frame number holds “Ä, Ö”, place 12 (Ä), 15 (Ö)",
    ]
    wrong = explained("11111111211111111")
    assert "1 belongs there" in wrong[1]
