"""Numbers that people and instruments write as text: 412.5 and 412,5, never a guess.

1,234.5 or two decimal marks are refused: a wrong guess would change a reading a thousandfold.
"""

import re
from math import isfinite

_PLAIN = re.compile(r"[+-]?([0-9]{1,30}([.,][0-9]{1,30})?|[.,][0-9]{1,30})([eE][+-]?[0-9]{1,3})?")


class NotANumber(ValueError):
    """The text is not one number with at most one decimal mark."""


class NotFinite(ValueError):
    """The text is a number that stands for no finite quantity."""


def number_from(text: str) -> float:
    """Return the number in `text`; raises NotANumber, or NotFinite for inf, nan and 1e999."""
    stripped = text.strip()
    if stripped.lower().lstrip("+-") in {"nan", "inf", "infinity"}:
        raise NotFinite(stripped)
    if not _PLAIN.fullmatch(stripped):
        raise NotANumber(stripped)
    value = float(stripped.replace(",", "."))
    if not isfinite(value):
        raise NotFinite(stripped)
    return value
