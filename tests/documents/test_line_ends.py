"""What no line's end may part."""

import pytest
from markupsafe import Markup

from app.documents.line_ends import kept_together, printed


@pytest.mark.parametrize(
    ("words", "kept"),
    [
        ("a limit of 2 mm", "a limit of 2~mm"),
        ("P > 0.9999; U ± < 0.01 mm, 91 %", "P >~0.9999; U ±~<~0.01~mm, 91~%"),
        ("† Limits. †† Limits.", "†~Limits. ††~Limits."),
        ("18048 km, 20 ppm, 20 °C", "18048~km, 20~ppm, 20~°C"),
        ("at 3 mmol, in 2 kmh", "at 3 mmol, in 2 kmh"),
        ("5 November", "5 November"),
    ],
)
def test_a_number_keeps_its_unit_and_a_sign_what_it_belongs_to(words: str, kept: str) -> None:
    assert kept_together(words) == kept.replace("~", "\N{NO-BREAK SPACE}")


def test_what_is_drawn_and_what_is_no_text_stays_as_it_is() -> None:
    drawn = Markup("<svg>2 mm</svg>")
    assert printed(drawn) is drawn
    assert printed(2.5) == 2.5
    assert printed("2 mm") == "2\N{NO-BREAK SPACE}mm"
