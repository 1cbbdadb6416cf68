"""An error in three parts: what was met, what is needed, what to do."""

from collections.abc import Mapping
from typing import Any, NamedTuple

from app.errors import Fact
from app.wording.numbers import plain
from app.wording.translation import _, later


class Explanation(NamedTuple):
    """Three clauses that make one sentence: "met; needed: action"."""

    met: str
    needed: str
    action: str

    @property
    def sentence(self) -> str:
        return f"{self.met}; {self.needed}: {self.action}"


Table = Mapping[str, Explanation]
"""From code to the three clauses, not yet translated, with the facts' names in braces."""

FACT_WORDS: dict[str, str] = {
    "number": later("a number"),
    "whole_number": later("a whole number"),
    "text": later("a text"),
    "true_or_false": later("true or false"),
    "list": later("a list"),
    "object": later("an object with keys"),
    "day": later("a day as text, such as 2026-03-02"),
    "moment": later("a time as text, such as 2026-03-02T09:40:00+01:00"),
}
"""Words that stand in facts as codes."""


def filled(clauses: Explanation, facts: Mapping[str, Fact]) -> Explanation:
    """Return the clauses translated, with the facts in their places."""
    spoken = spoken_facts(facts)
    return Explanation(
        _(clauses.met).format_map(spoken),
        _(clauses.needed).format_map(spoken),
        _(clauses.action).format_map(spoken),
    )


def spoken_facts(facts: Mapping[str, Fact]) -> dict[str, str]:
    """Return the facts as a person reads them."""
    return _Spoken({name: shown(name, value) for name, value in facts.items()})


class _Spoken(dict[str, str]):
    """A fact that was not given is shown as a dash rather than hide the rest of the sentence."""

    def __missing__(self, name: str) -> str:
        return "–"


def shown(name: str, value: Fact) -> str:
    """Return a fact as a person reads it; what was met as a text stands in quotation marks."""
    if value is None:
        return _("nothing")
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return _number(name, float(value))
    if isinstance(value, tuple):
        return ", ".join(value)
    if value in FACT_WORDS and name == "needed":
        return _(FACT_WORDS[value])
    return f"“{value}”" if name == "met" else value


def _number(name: str, value: float) -> str:
    if name.endswith("_deg") and abs(value) >= 1.0:
        return plain(round(value, 1))
    if name.endswith(("_mm", "_deg")):
        return plain(round(value, 3) if abs(value) >= 0.001 else value)
    if name.endswith("ratio"):
        return plain(round(value, 2) if abs(value) >= 0.01 else value)
    return plain(value) if value == 0 or 1e-6 <= abs(value) < 1e9 else f"{value:.1e}"


def place(field: str) -> str:
    """Return where in what was sent a field stands: `points.3.x` is "point 4, x"."""
    words: list[str] = []
    parts = field.split(".") if field else []
    while parts:
        first = parts.pop(0)
        if first in ("points", "rows") and parts and parts[0].isdigit():
            number = int(parts.pop(0))
            text = _("point {n}") if first == "points" else _("row {n}")
            words.append(text.format(n=number + 1 if first == "points" else number))
        elif first.isdigit() and words:
            words[-1] += " " + _("no. {n}").format(n=int(first) + 1)
        else:
            words.append(first)
    return ", ".join(words) if words else _("what was sent")


def facts_of(field: str | None, facts: Mapping[str, Fact]) -> dict[str, Any]:
    """Return the facts with `where`, the field in words, beside them."""
    return {**facts, "where": place(field or "")}
