"""Numbers that were typed on a page: 412.5 and 412,5, and nothing that could mean two things."""

import re
from collections.abc import Callable, Iterable, Mapping

from app.errors import BadInput, Problem
from app.schemas.number_text import NotANumber, NotFinite, number_from
from app.schemas.problems import shortened
from app.web.forms import Value

MOST_DECIMALS = 3
READING = re.compile(r"[+-]?[0-9]{1,7}([.,](?P<decimals>[0-9]{1,30}))?")
THOUSANDS = re.compile(r"[+-]?([1-9]|[12][0-9]),[0-9]{3}")
"""1,234 may be 1.234 mm or 1.2 m. 146,894 cannot: nothing on a machine is 146 m away."""


def numbers_in(
    values: Mapping[str, Value], names: Iterable[str], where: str = ""
) -> dict[str, object]:
    """The values with these texts turned into numbers; empty ones are left out.

    Raises BadInput with every text that is no number; `where` goes before the names there.
    """
    return converted(values, names, where, number_of)


def readings_in(
    values: Mapping[str, Value], names: Iterable[str], where: str = ""
) -> dict[str, object]:
    """As `numbers_in`, for readings of an instrument: stricter, since a slip is not seen later.

    At most three decimals, no exponent, and not 1,234: that could mean 1.234 or 1234.
    """
    return converted(values, names, where, reading_of)


def converted(
    values: Mapping[str, Value],
    names: Iterable[str],
    where: str,
    read: Callable[[str, str], float],
) -> dict[str, object]:
    """The values with the named ones read, or all that is wrong with them."""
    taken: dict[str, object] = dict(values)
    problems: list[Problem] = []
    for name in names:
        text = taken.pop(name, "")
        if not isinstance(text, str) or not text.strip():
            continue
        try:
            taken[name] = read(text.strip(), f"{where}{name}")
        except BadInput as error:
            problems += error.problems
    if problems:
        raise BadInput(problems, problems[0].code)
    return taken


def number_of(text: str, field: str) -> float:
    """A number with at most one decimal mark, comma or point."""
    try:
        return number_from(text)
    except NotFinite as error:
        raise wrong(Problem("not_finite", field, {"met": shortened(text)})) from error
    except NotANumber as error:
        raise wrong(Problem("not_a_number", field, {"met": shortened(text)})) from error


def reading_of(text: str, field: str) -> float:
    """A reading in millimetres."""
    value, match = number_of(text, field), READING.fullmatch(text)
    met = shortened(text)
    if match is None:
        raise wrong(Problem("not_a_number", field, {"met": met}))
    if len(match["decimals"] or "") > MOST_DECIMALS:
        raise wrong(Problem("too_many_decimals", field, {"met": met, "limit": MOST_DECIMALS}))
    if THOUSANDS.fullmatch(text):
        raise wrong(Problem("could_be_thousands", field, {"met": met}))
    return value


def wrong(problem: Problem) -> BadInput:
    """One text that cannot be taken."""
    return BadInput([problem], problem.code)
