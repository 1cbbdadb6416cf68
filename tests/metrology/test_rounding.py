"""Display rounding: the value takes the digits of its uncertainty."""

import pytest

from app.metrology.rounding import decimal_places, rounded


@pytest.mark.parametrize(
    ("uncertainty", "significant", "places"),
    [
        (0.098, 2, 3),
        (0.05, 1, 2),
        (0.44, 2, 2),
        (1.3, 2, 1),
        (13.0, 2, 0),
        (130.0, 2, 0),
        (0.0996, 2, 2),
        (0.00994, 2, 4),
        (0.096, 1, 1),
        (9.99, 2, 0),
        (1e-12, 2, 6),
        (0.0, 2, 6),
    ],
)
def test_decimals_from_an_uncertainty(uncertainty: float, significant: int, places: int) -> None:
    assert decimal_places(uncertainty, significant) == places


@pytest.mark.parametrize(
    ("value", "places", "text"),
    [
        (-0.112, 2, "-0.11"),
        (2.345, 2, "2.34"),
        (2.355, 2, "2.36"),
        (-0.0004, 2, "0.00"),
        (1234.5, 0, "1234"),
        (1e-7, 3, "0.000"),
        (4.0, 1, "4.0"),
    ],
)
def test_rounded_text(value: float, places: int, text: str) -> None:
    assert rounded(value, places) == text
