"""Any error of the program, and any problem in what was sent, as an explanation in three parts."""

import importlib
from collections.abc import Mapping
from functools import cache

from app.errors import BadInput, Fact, JigbookError, Problem, RefusedToIssue
from app.wording.explanation import Explanation, Table, facts_of, filled
from app.wording.labels import characteristic, feature
from app.wording.numbers import size
from app.wording.translation import counted, later

TABLES = (
    "engine_refusals",
    "file_errors",
    "field_errors",
    "form_errors",
    "content_errors",
    "desk_errors",
    "record_errors",
    "floor_errors",
    "photo_errors",
    "instrument_errors",
    "people_errors",
    "certificate_errors",
    "installation_errors",
    "keeping_errors",
)
"""Modules of this room that hold a table."""

BARE = frozenset({"year", "clock_direction", "confidence"})
"""Fields whose numbers have no unit."""

UNKNOWN = Explanation(
    later("this was refused with the code {code}"),
    later("no explanation is on record for it"),
    later("tell the makers of Jigbook"),
)


@cache
def explanations() -> Table:
    """All tables in one. Read only when something is to be explained: a command that meets no
    error starts sooner without them."""
    modules = [importlib.import_module(f"app.wording.{name}") for name in TABLES]
    return {code: clauses for module in modules for code, clauses in module.TABLE.items()}


def explain(error: JigbookError | Problem) -> Explanation:
    """Return what was met, what is needed and what to do; for several problems, of the first."""
    if isinstance(error, Problem):
        return _explained(error.code, error.field, error.facts)
    problems = problems_of(error)
    if problems:
        return _with_number(explain(problems[0]), len(problems) - 1)
    facts = {"feature": error.feature, **error.facts, **_of_a_characteristic(error.facts)}
    return _explained(error.code, _field_of(error), facts)


def explain_all(error: JigbookError) -> list[tuple[Problem, Explanation]]:
    """Return every problem of an error with its explanation; one at least."""
    problems = problems_of(error) or (Problem(error.code, error.feature or "", error.facts),)
    if len(problems) == 1 and not problems_of(error):
        return [(problems[0], explain(error))]
    return [(problem, explain(problem)) for problem in problems]


def problems_of(error: JigbookError) -> tuple[Problem, ...]:
    if isinstance(error, BadInput):
        return error.problems
    return error.reasons if isinstance(error, RefusedToIssue) else ()


def _explained(code: str, field: str | None, facts: Mapping[str, Fact]) -> Explanation:
    variant = facts.get("reason") or facts.get("what")
    if facts.get("limit_itself") is False:
        variant = "past"
    code = without_unit(code, field or "")
    clauses = explanations().get(f"{code}:{variant}") or explanations().get(code, UNKNOWN)
    return filled(clauses, {**facts_of(field, facts), "code": code})


def without_unit(code: str, field: str) -> str:
    """The code as it stands in the tables for a field whose number has no unit to be checked."""
    bare = field.rpartition(".")[2] in BARE and code in ("too_small", "too_large")
    return f"{code}:bare" if bare else code


def _of_a_characteristic(facts: Mapping[str, Fact]) -> dict[str, Fact]:
    """Its name, and a difference in its unit, in words."""
    key, unit, difference = (facts.get(name) for name in ("key", "unit", "difference"))
    if not isinstance(key, str):
        return {}
    if not isinstance(unit, str) or not isinstance(difference, float):
        return {"characteristic": characteristic(key)}
    return {"characteristic": characteristic(key), "apart": size(difference, unit)}


def _field_of(error: JigbookError) -> str:
    """Return the point an engine's refusal speaks of as a field, else its feature in words."""
    point = error.facts.get("point")
    if isinstance(point, int):
        return f"points.{point - 1}"
    label = error.facts.get("label")
    words = feature(error.feature) if error.feature else ""
    return f"{words} {label}" if isinstance(label, str) else words


def _with_number(first: Explanation, others: int) -> Explanation:
    if not others:
        return first
    more = counted("(and {n} further problem)", "(and {n} further problems)", others)
    return Explanation(first.met, first.needed, f"{first.action} {more.format(n=others)}")
