"""The figures of the handling on a page: for information, no finding rests on them."""

from dataclasses import dataclass

from app.schemas.result import ResultOut
from app.wording import handling, labels, sections


@dataclass(frozen=True, slots=True)
class HandlingRow:
    """One figure."""

    name: str
    description: str
    sense: str
    uncertainty: str


@dataclass(frozen=True, slots=True)
class HandlingBlock:
    """All of them, and what they are worth."""

    title: str
    rows: tuple[HandlingRow, ...]
    caveat: str


def handling_of(result: ResultOut) -> HandlingBlock | None:
    """The figures of a result; None where there are none, as in results of earlier days."""
    rows = tuple(
        HandlingRow(one["name"], labels.description(key), one["sense"], handling.uncertainty(one))
        for key, one in handling.in_order(result.get("handling", {}))
    )
    return HandlingBlock(sections.handling_title(), rows, handling.caveat()) if rows else None
