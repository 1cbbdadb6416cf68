"""Where no line may end: a number and its unit stay together, and a sign and what it belongs to."""

import re

NO_BREAK = "\N{NO-BREAK SPACE}"
BEFORE_UNIT = re.compile(r"(?<=\d) (?=(?:mm|km|ppm|°C|%)(?!\w))")
AFTER_SIGN = re.compile(r"(?<=[<>±†‡]) (?=\S)")


def kept_together(text: str) -> str:
    """The text with spaces that no line ends at before a unit and behind a sign."""
    return AFTER_SIGN.sub(NO_BREAK, BEFORE_UNIT.sub(NO_BREAK, text))


def printed(value: object) -> object:
    """The same of what a template prints, where it is text; what is drawn or marked up stays."""
    return kept_together(value) if type(value) is str else value
