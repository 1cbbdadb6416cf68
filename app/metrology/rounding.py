"""Rounding for display only; nothing rounded here is calculated with again."""

import math
from decimal import ROUND_HALF_EVEN, Decimal

MOST_DECIMALS = 6


def decimal_places(uncertainty: float, significant: int = 2) -> int:
    """Decimals to which a value is printed so that its uncertainty keeps `significant` digits.

    At most two digits are usual (JCGM 100:2008, 7.2.6). A carry counts: 0.0996 with two digits
    is 0.10, so two decimals. Without uncertainty (0): six.
    """
    if uncertainty == 0.0:
        return MOST_DECIMALS
    exponent = math.floor(math.log10(abs(uncertainty)))
    carried = round(abs(uncertainty) / 10.0**exponent, significant - 1) >= 10.0
    return min(MOST_DECIMALS, max(0, significant - 1 - exponent - int(carried)))


def rounded(value: float, decimals: int) -> str:
    """The value with that many decimals, ties to even, never a negative zero."""
    number = Decimal(repr(float(value))).quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_EVEN)
    return f"{abs(number) if number == 0 else number:f}"
