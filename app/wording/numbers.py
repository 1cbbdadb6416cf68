"""Numbers as a person reads them: as many places as their uncertainty bears, never a minus."""

from app.metrology.rounding import decimal_places, rounded
from app.wording.translation import _

MOST_PLACES = 2
"""0.01 mm and 0.01° are finer than any decision about a chassis."""
LOWEST_SHOWN = 0.0001
HIGHEST_SHOWN = 0.9999

_UNITS = {"deg": "°", "mm": " mm", "": ""}


def places(expanded_uncertainty: float | None) -> int:
    """Return to how many decimal places a value with this uncertainty is shown."""
    if not expanded_uncertainty:
        return MOST_PLACES
    return min(MOST_PLACES, decimal_places(expanded_uncertainty))


def size(value: float, unit: str, decimals: int = MOST_PLACES) -> str:
    """Return the size of `value` with its unit: `0.11°`, `2.4 mm`; the direction is told apart."""
    return rounded(abs(value), decimals) + _UNITS[unit]


def exact(value: float, unit: str) -> str:
    """Return the size of a value as it was entered, no place more or less: `560 mm`, `0.25°`."""
    return plain(abs(value)) + _UNITS[unit]


def spread(expanded_uncertainty: float, unit: str, decimals: int = MOST_PLACES) -> str:
    """Return an expanded uncertainty: `± 0.10°`, `± < 0.01 mm` for less than the last place."""
    shown = rounded(expanded_uncertainty, decimals)
    if expanded_uncertainty > 0 and not float(shown):
        return f"± < {rounded(10.0**-decimals, decimals)}{_UNITS[unit]}"
    return f"± {shown}{_UNITS[unit]}"


def limits(lower: float | None, upper: float | None, unit: str) -> str:
    """Return allowed deviations from nominal in words: `± 0.3°`, `2 mm below to 3 mm above`."""
    if lower is None and upper is None:
        return _("no limit")
    if lower is not None and upper is not None:
        if lower == -upper:
            return f"± {plain(upper)}{_UNITS[unit]}"
        return _("{low} to {high}").format(low=_place(lower, unit), high=_place(upper, unit))
    return _lowest(lower, unit) if lower is not None else _highest(upper or 0.0, unit)


def _lowest(lower: float, unit: str) -> str:
    if lower == 0:
        return _("not below nominal")
    text = _("at least {place}") if lower > 0 else _("at most {place}")
    return text.format(place=_place(lower, unit))


def _highest(upper: float, unit: str) -> str:
    if upper == 0:
        return _("not above nominal")
    text = _("at most {place}") if upper > 0 else _("at least {place}")
    return text.format(place=_place(upper, unit))


def _place(limit: float, unit: str) -> str:
    if limit == 0:
        return _("nominal")
    shown = plain(abs(limit)) + _UNITS[unit]
    return (_("{size} above") if limit > 0 else _("{size} below")).format(size=shown)


def probability(p: float) -> str:
    """Return a probability that is never shown as 0 or 1."""
    if p > HIGHEST_SHOWN:
        return f"> {HIGHEST_SHOWN}"
    if p < LOWEST_SHOWN:
        return f"< {LOWEST_SHOWN}"
    return plain(float(rounded(p, 4)))


def percent(share: float) -> str:
    return f"{rounded(100.0 * share, 0)} %"


def plain(number: float) -> str:
    """Return a number as short as it can be said, without an exponent: `0.3`, `20`, `1200.5`."""
    shown = rounded(number, 6).rstrip("0").rstrip(".") if number % 1 else rounded(number, 0)
    return shown or "0"
