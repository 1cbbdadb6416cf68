"""Numbers that were typed behind an option."""

from app.errors import Fact, Problem
from app.schemas.number_text import NotANumber, NotFinite, number_from
from app.schemas.problems import refused, shortened


def number(text: str, option: str) -> float:
    """Return the number; raises BadInput that names the option when it is none."""
    try:
        return number_from(text)
    except NotFinite:
        raise refused([Problem("not_finite", option, {"met": shortened(text)})]) from None
    except NotANumber:
        raise refused([Problem("not_a_number", option, {"met": shortened(text)})]) from None


def whole_number(text: str | None, option: str, lowest: int, highest: int) -> int | None:
    """Return the whole number, None where none was given; raises BadInput out of the range."""
    if text is None:
        return None
    value = number(text, option)
    if not (value.is_integer() and lowest <= value <= highest):
        facts: dict[str, Fact] = {"met": shortened(text), "lowest": lowest, "highest": highest}
        raise refused([Problem("whole_number_out_of_range", option, facts)])
    return int(value)
