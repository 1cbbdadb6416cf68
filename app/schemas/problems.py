"""Pydantic's errors as problems of our own: codes, fields and short facts, nothing echoed whole.

What was sent may be a megabyte, a NaN or another script: a fact holds at most a short piece of
it, and never a number that JSON cannot carry.
"""

from collections.abc import Iterable, Mapping, Sequence
from math import isfinite
from typing import Any

from pydantic import ValidationError

from app.errors import BadInput, Fact, Problem
from app.schemas.sent import NAME_PATTERN

MOST_PROBLEMS = 100
LONGEST_PIECE = 40

_TYPES_NEEDED: dict[str, str] = {
    "float_type": "number",
    "int_type": "whole_number",
    "int_from_float": "whole_number",
    "string_type": "text",
    "bool_type": "true_or_false",
    "list_type": "list",
    "tuple_type": "list",
    "dict_type": "object",
    "model_type": "object",
    "model_attributes_type": "object",
    "date_type": "day",
    "datetime_type": "moment",
    "bytes_type": "text",
    "int_parsing": "whole_number",
    "int_parsing_size": "whole_number",
    "bool_parsing": "true_or_false",
    "float_parsing": "number",
}

_CODES: dict[str, str] = {
    "missing": "missing",
    "extra_forbidden": "unknown_key",
    "finite_number": "not_finite",
    "greater_than": "too_small",
    "greater_than_equal": "too_small",
    "less_than": "too_large",
    "less_than_equal": "too_large",
    "string_too_long": "text_too_long",
    "string_too_short": "text_empty",
    "string_unicode": "not_text",
    "too_long": "too_many",
    "too_short": "too_few",
    "literal_error": "not_one_of",
    "enum": "not_one_of",
    "timezone_aware": "time_without_zone",
    "invalid_key": "not_a_name",
    "json_invalid": "not_json",
    "json_type": "not_json",
}

_LIMITS = {"gt", "ge", "lt", "le", "max_length", "min_length"}


def piece(value: object) -> Fact:
    """Return a short, printable piece of `value` that JSON can carry."""
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, int | float):
        if isinstance(value, float) and not isfinite(value):
            return str(value)
        return value if abs(value) < 1e16 else _large(value)
    if isinstance(value, str):
        return shortened(value)
    return type(value).__name__


def _large(value: float) -> str:
    try:
        return f"{float(value):g}"
    except OverflowError:
        return "> 1e308" if value > 0 else "< -1e308"


def shortened(text: str, longest: int = LONGEST_PIECE) -> str:
    """Return `text` on one line, at most `longest` characters, all of them printable."""
    head = "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in text[:longest])
    return head + "…" if len(text) > longest else head


def bad_input(error: ValidationError) -> BadInput:
    """Make the error to raise from a failed validation; its code is the first problem's."""
    return refused(problems_from(error.errors(include_url=False)))


def refused(problems: Sequence[Problem]) -> BadInput:
    return BadInput(problems, problems[0].code)


def problems_from(
    errors: Iterable[Mapping[str, Any]], skip: Sequence[str] = ("body", "query", "path")
) -> list[Problem]:
    """Turn Pydantic's or FastAPI's error dictionaries into problems, at most `MOST_PROBLEMS`.

    `skip` names first parts of a location that say where the body stood, not which field.
    """
    found = [problem for error in errors for problem in _problems_of(error, skip)]
    # Pydantic counts only the sound entries of a list: one wrong entry alone is not too few.
    found = [one for one in found if one.code != "too_few" or not _has_part(one.field, found)]
    if len(found) > MOST_PROBLEMS:
        more = Problem("more_problems", "", {"met": len(found) - MOST_PROBLEMS})
        return [*found[:MOST_PROBLEMS], more]
    return found


def _has_part(field: str, problems: Sequence[Problem]) -> bool:
    return any(problem.field.startswith(f"{field}.") for problem in problems)


def _problems_of(error: Mapping[str, Any], skip: Sequence[str]) -> list[Problem]:
    parts = [str(part) for part in error["loc"] if part != "[key]"]
    if parts and parts[0] in skip:
        parts = parts[1:]
    prefix = ".".join(shortened(part) for part in parts)
    context: Mapping[str, Any] = error.get("ctx") or {}
    if error["type"] == "jigbook":
        return [_placed(problem, prefix) for problem in context["ours"]]
    return [_translated(error, prefix, context)]


def _placed(problem: Problem, prefix: str) -> Problem:
    field = ".".join(part for part in (prefix, _short_path(problem.field)) if part)
    facts = {
        key: value if key == "allowed" else piece(value) for key, value in problem.facts.items()
    }
    return Problem(problem.code, field, facts)


def _short_path(path: str) -> str:
    return ".".join(shortened(part) for part in path.split("."))


def _translated(error: Mapping[str, Any], field: str, context: Mapping[str, Any]) -> Problem:
    kind, met = error["type"], error.get("input")
    if kind in _TYPES_NEEDED:
        # Python reads 1 and four hundred zeros as a whole number that no float can hold.
        if kind == "float_type" and isinstance(met, int) and not isinstance(met, bool):
            return Problem("not_finite", field, {})
        return Problem("wrong_type", field, {"met": piece(met), "needed": _TYPES_NEEDED[kind]})
    if kind == "string_pattern_mismatch":
        is_name = str(context.get("pattern", "")).startswith(NAME_PATTERN[:-2])
        return Problem("not_a_name" if is_name else "not_printable", field, {"met": piece(met)})
    if kind.startswith("datetime_"):
        return Problem("not_a_moment", field, {"met": piece(met)})
    if kind.startswith("date_"):
        return Problem("not_a_day", field, {"met": piece(met)})
    if isinstance(met, str):
        # Behind a validator of ours Pydantic measures a text as it measures a list.
        kind = {"too_long": "string_too_long", "too_short": "string_too_short"}.get(kind, kind)
    code = _CODES.get(kind, "wrong_value")
    return Problem(code, field, _facts(code, met, context))


def _facts(code: str, met: object, context: Mapping[str, Any]) -> dict[str, Fact]:
    facts: dict[str, Fact] = {}
    if code in {"too_small", "too_large", "not_one_of", "wrong_value", "not_a_name", "not_finite"}:
        facts["met"] = piece(met)
    if code == "not_one_of":
        facts["allowed"] = tuple(_allowed(str(context.get("expected", ""))))
    if code in {"too_many", "text_too_long"}:
        facts["met"] = context.get("actual_length") or _length(met)
    for name in _LIMITS & context.keys():
        facts["limit"] = piece(context[name])
        facts["limit_itself"] = name not in {"gt", "lt"}
    return facts


def _length(value: object) -> int | None:
    return len(value) if isinstance(value, str | list | tuple | dict) else None


def _allowed(expected: str) -> list[str]:
    """Take "'left', 'middle' or 'right'" apart."""
    return [part.strip().strip("'") for part in expected.replace(" or ", ", ").split(",") if part]
