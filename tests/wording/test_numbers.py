"""Numbers as a person reads them."""

import pytest

from app.wording.numbers import limits, percent, places, plain, probability, size, spread


@pytest.mark.parametrize(
    ("p", "shown"),
    [
        (1.0, "> 0.9999"),
        (0.99995, "> 0.9999"),
        (0.9999, "0.9999"),
        (0.95, "0.95"),
        (0.99949999, "0.9995"),
        (0.0001, "0.0001"),
        (1e-9, "< 0.0001"),
        (0.0, "< 0.0001"),
    ],
)
def test_a_probability_is_never_shown_as_1_or_0(p: float, shown: str) -> None:
    assert probability(p) == shown


@pytest.mark.parametrize(
    ("lower", "upper", "shown"),
    [
        (-0.3, 0.3, "± 0.3°"),
        (-0.2, 0.5, "0.2° below to 0.5° above"),
        (0.0, 0.5, "nominal to 0.5° above"),
        (-0.5, 0.0, "0.5° below to nominal"),
        (0.1, 0.5, "0.1° above to 0.5° above"),
        (None, 0.5, "at most 0.5° above"),
        (None, -0.5, "at least 0.5° below"),
        (None, 0.0, "not above nominal"),
        (-0.5, None, "at most 0.5° below"),
        (0.5, None, "at least 0.5° above"),
        (0.0, None, "not below nominal"),
        (None, None, "no limit"),
    ],
)
def test_limits_are_said_in_words(lower: float | None, upper: float | None, shown: str) -> None:
    assert limits(lower, upper, "deg") == shown


def test_a_value_has_as_many_places_as_its_uncertainty_bears_and_two_at_most() -> None:
    shown = {u: size(-12.3456, "mm", places(u)) for u in (14.0, 1.4, 0.14, 0.014, 0.0, None)}
    assert list(shown.values()) == [
        "12 mm", "12.3 mm", "12.35 mm", "12.35 mm", "12.35 mm", "12.35 mm",
    ]  # fmt: skip


def test_a_spread_below_the_last_place_is_no_zero() -> None:
    assert spread(0.098, "deg") == "± 0.10°"
    assert spread(0.001, "mm") == "± < 0.01 mm"
    assert spread(0.0, "mm") == "± 0.00 mm"


@pytest.mark.parametrize(
    ("number", "shown"),
    [(0.3, "0.3"), (20.0, "20"), (1200.5, "1200.5"), (-0.0, "0"), (1e-9, "0"), (0.1 + 0.2, "0.3")],
)
def test_a_plain_number_has_no_exponent_and_no_idle_zeros(number: float, shown: str) -> None:
    assert plain(number) == shown


def test_a_share_is_a_whole_percentage() -> None:
    assert percent(0.554) == "55 %"
