"""Frame numbers (VIN): their characters, and the check digit where the rule applies.

Letter values, weights and the rule: 49 CFR 565.15(c), tables III to VI. ISO 3779 asks for 17
characters without I, O and Q, and for no check digit: most markets put what they like into
position 9. So a check digit that does not fit is only ever a warning.
"""

import string
from dataclasses import dataclass

from app.errors import Fact, Problem
from app.schemas.problems import shortened

LENGTH = 17
NEARLY = 2
"""A number by so few characters longer or shorter is rather one of 17 that was misread."""
SHORTEST = 4
LONGEST = 25
CHECK_POSITION = 9
NEVER_USED = "IOQ"
WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
LETTER_VALUES = {
    "A": 1, "B": 2, "C": 3, "D": 4, "E": 5, "F": 6, "G": 7, "H": 8,
    "J": 1, "K": 2, "L": 3, "M": 4, "N": 5, "P": 7, "R": 9,
    "S": 2, "T": 3, "U": 4, "V": 5, "W": 6, "X": 7, "Y": 8, "Z": 9,
}  # fmt: skip
BUILT_WHERE_RULE_APPLIES = "12345"
"""First characters of machines built in North America. Machines built elsewhere for that market
carry a check digit too, but the number does not tell which they are."""
SEPARATORS = " -*./\t"
"""Stamped or typed between groups of characters; they belong to no number."""
_CHARACTERS = frozenset(string.ascii_uppercase + string.digits)


@dataclass(frozen=True, slots=True)
class FrameNumber:
    number: str
    """As it is kept: upper case, without separators."""
    problems: tuple[Problem, ...]
    """Why it cannot be taken as read."""
    warnings: tuple[Problem, ...]
    """What is odd about it, and no reason to refuse it."""


def read_frame_number(text: str, field: str = "frame_number") -> FrameNumber:
    """Return the number in what was typed or read from the frame, with what is wrong with it."""
    number = "".join(c for c in text.upper() if c not in SEPARATORS)
    problems = tuple(_problems(number, field))
    return FrameNumber(number, problems, tuple(_warnings(number, field, sound=not problems)))


def check_digit(number: str) -> str:
    """Return the check digit that belongs to 17 characters (49 CFR 565.15(c)).

    Raises ValueError when `number` has another length, or letters that have no value.
    """
    if len(number) != LENGTH or not set(number) <= LETTER_VALUES.keys() | set(string.digits):
        raise ValueError("a check digit belongs to 17 characters without I, O and Q")
    remainder = weighted_sum(number) % 11
    return "X" if remainder == 10 else str(remainder)


def weighted_sum(number: str) -> int:
    return sum(
        weight * (LETTER_VALUES[c] if c in LETTER_VALUES else int(c))
        for weight, c in zip(WEIGHTS, number, strict=True)
    )


def _problems(number: str, field: str) -> list[Problem]:
    if not SHORTEST <= len(number) <= LONGEST:
        facts = {"met": len(number), "shortest": SHORTEST, "longest": LONGEST}
        return [Problem("frame_number_length", field, facts)]
    letters = _letters(number, field) if len(number) == LENGTH else []
    others = [(place, c) for place, c in enumerate(number, 1) if c not in _CHARACTERS]
    return letters + ([Problem("frame_number_character", field, _told(others))] if others else [])


def _letters(number: str, field: str) -> list[Problem]:
    """The letters that numbers of 17 characters never hold."""
    found = [(place, c) for place, c in enumerate(number, 1) if c in NEVER_USED]
    return [Problem("frame_number_letter", field, _told(found))] if found else []


def _told(found: list[tuple[int, str]]) -> dict[str, Fact]:
    """Which characters, and at which places; beside each place its own where they differ."""
    met = list(dict.fromkeys(c for _place, c in found))
    places = [f"{place} ({c})" if len(met) > 1 else str(place) for place, c in found]
    return {"met": shortened(", ".join(met)), "places": shortened(", ".join(places))}


def _warnings(number: str, field: str, *, sound: bool) -> list[Problem]:
    """All that is odd; the check digit only of a number that is `sound` otherwise."""
    if not SHORTEST <= len(number) <= LONGEST:
        return []
    if len(number) != LENGTH:
        mistyped = abs(len(number) - LENGTH) <= NEARLY
        letters = _letters(number, field) if mistyped else []
        return [Problem("frame_number_not_17", field, {"met": len(number)}), *letters]
    if not sound or number[0] not in BUILT_WHERE_RULE_APPLIES:
        return []
    met, needed = number[CHECK_POSITION - 1], check_digit(number)
    if met == needed:
        return []
    return [Problem("frame_number_check_digit", field, {"met": met, "needed": needed})]
