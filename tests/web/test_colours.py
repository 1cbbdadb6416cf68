"""Inks on paper, light and dark: readings in sunlight want 7:1 (WCAG 2.2, 1.4.6 enhanced)."""

import re

import pytest

from app import resources

READINGS = ("ink", "muted", "within", "outside", "undecided", "action")
"""What numbers, units and verdicts are written in."""
ON_PAPER, ON_TINT, OF_LINES = 7.0, 4.5, 3.0
"""Readings on paper; words on the tinted ground of a notice (1.4.3); lines that tell (1.4.11)."""


def luminance(colour: str) -> float:
    """WCAG 2.2, relative luminance, of `#rrggbb`."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """WCAG 2.2, contrast ratio."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_contrast_agrees_with_the_ends_that_the_standard_names() -> None:
    """WCAG 2.2: from 1:1 to 21:1; grey #767676 on white is the usual example of 4.5:1 (from
    memory)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#123456", "#123456") == pytest.approx(1.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


def inks() -> dict[str, dict[str, str]]:
    """The colours of the style sheet, for light and for dark."""
    found = {}
    for dress, sheet in (("light", "app.css"), ("dark", "dark.css")):
        text = (resources.static() / sheet).read_text(encoding="utf-8")
        (block,) = re.findall(r":root \{(.*?)\}", text, re.DOTALL)
        found[dress] = dict(re.findall(r"--(\w+): (#[0-9a-f]{6});", block))
    return found


@pytest.mark.parametrize("dress", ["light", "dark"])
def test_readings_can_be_read_in_sunlight(dress: str) -> None:
    ink = inks()[dress]
    for name in READINGS:
        assert contrast(ink[name], ink["paper"]) >= ON_PAPER, name
        assert contrast(ink[name], ink["tint"]) >= ON_TINT, name
    assert contrast(ink["reference"], ink["paper"]) >= OF_LINES


def test_a_dark_page_has_every_ink_of_a_light_one() -> None:
    light, dark = inks()["light"], inks()["dark"]
    assert set(light) == set(dark)
    assert len(light) >= 10
