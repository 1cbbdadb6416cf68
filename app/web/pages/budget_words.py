"""Where the uncertainty of each characteristic comes from, and what would reduce it."""

from dataclasses import dataclass

from app.metrology.rounding import rounded
from app.schemas.result import CharacteristicOut, ResultOut
from app.web.pages.result_words import key_of
from app.wording import numbers, sources
from app.wording.sections import sorted_into
from app.wording.sources import Part


@dataclass(frozen=True, slots=True)
class Share:
    """How much of a variance comes from one source."""

    source: str
    percent: str
    width: str


@dataclass(frozen=True, slots=True)
class Budget:
    """Where the uncertainty of one characteristic comes from, the largest source first."""

    name: str
    shares: tuple[Share, ...]
    reduce: str
    """What would make the largest source smaller."""


@dataclass(frozen=True, slots=True)
class BudgetGroup:
    """The budgets of one section."""

    title: str
    budgets: tuple[Budget, ...]


@dataclass(frozen=True, slots=True)
class Advice:
    """What would reduce the uncertainty of several characteristics at once."""

    source: str
    reduce: str
    characteristics: str


def budgets(result: ResultOut) -> tuple[BudgetGroup, ...]:
    """The budgets of all characteristics that have an uncertainty, section by section."""
    found = [one for one in result["characteristics"] if one["budget"]]
    return tuple(
        BudgetGroup(section.title, tuple(map(budget, inside)))
        for section, inside in sorted_into(found, key_of)
    )


def budget(one: CharacteristicOut) -> Budget:
    """That of one characteristic."""
    parts = sources.largest_first(sources.parts_of(one))
    return Budget(one["name"], tuple(map(share, parts)), sources.reduce(parts[0].source))


def share(part: Part) -> Share:
    """One source with its part of the whole."""
    return Share(
        sources.name(part.source), numbers.percent(part.share), rounded(part.share * 100.0, 1)
    )


def advice(result: ResultOut) -> tuple[Advice, ...]:
    """What would reduce the uncertainty, once for each source that is the largest of one."""
    return tuple(
        Advice(one.source, one.reduce, one.named)
        for one in sources.advice(
            (one["name"], sources.parts_of(one))
            for one in result["characteristics"]
            if one["budget"]
        )
    )
