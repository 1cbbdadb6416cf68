"""Answers of a visual check as they are seen from outside: now, and when something was measured.

An answer is never changed; the newest of an item stands. What was seen once is told ever after,
with what was done since: plain arithmetic on answers, no session.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from app.schemas.visual_check import ITEMS


@dataclass(frozen=True, slots=True)
class SeenBefore:
    """Damage that was seen, and is answered otherwise by now."""

    place: str | None
    note: str | None
    at: datetime | None
    by: str | None
    since_seen: str | None
    """`replaced`, `repaired`, `no_damage`; None: nobody was asked."""
    since_words: str | None
    since_at: datetime | None
    """When it was answered otherwise first, and by whom."""
    since_by: str | None


@dataclass(frozen=True, slots=True)
class VisualCheckView:
    item: str
    """One of `schemas.visual_check.ITEMS`."""
    answer: str
    """`seen`, `not_seen`, `not_checked`."""
    place: str | None
    note: str | None
    checked_at: datetime | None
    """None: nobody has answered this item yet, and the answer is `not_checked`."""
    checked_by: str | None
    since_seen: str | None = None
    """Why what was seen is answered otherwise: `replaced`, `repaired`, `no_damage`."""
    since_words: str | None = None
    seen_before: SeenBefore | None = None
    """What was seen before this answer; None where that was never seen, or is seen still."""


@dataclass(frozen=True, slots=True)
class Beside:
    """The visual check beside one measurement: as it stood with it, and what came after."""

    seen: tuple[VisualCheckView, ...]
    """What was seen when it was submitted or before the next one was, and what is seen by now."""
    settled: tuple[VisualCheckView, ...]
    """What was seen before or then, and is answered otherwise now."""


def standing_of(answers: Sequence[VisualCheckView]) -> tuple[VisualCheckView, ...]:
    """The latest of these answers for every item, in the order of the list."""
    return tuple(_standing([one for one in answers if one.item == item], item) for item in ITEMS)


def as_of(answers: Sequence[VisualCheckView], moment: datetime) -> tuple[VisualCheckView, ...]:
    """The answers that stood at a moment. An item that nobody had answered by then has the first
    answer that came later: the machine was measured before somebody looked."""
    return standing_of([one for item in ITEMS for one in _until(answers, item, moment)])


def beside(
    answers: Sequence[VisualCheckView], moment: datetime, until: datetime | None = None
) -> Beside:
    """What the check says beside a measurement that was submitted at this moment; `until`: when
    the next one was. What was seen between the two was there when the first was made."""
    then, now = as_of(answers, moment), standing_of(answers)
    between = [
        one
        for one in answers
        if one.checked_at and one.checked_at > moment and (not until or one.checked_at <= until)
    ]
    found = {one.item: one for one in (*then, *between, *now) if one.answer == "seen"}
    return Beside(
        seen=tuple(found[item] for item in ITEMS if item in found),
        settled=tuple(one for one in now if one.seen_before is not None),
    )


def _until(
    answers: Iterable[VisualCheckView], item: str, moment: datetime
) -> list[VisualCheckView]:
    given = [one for one in answers if one.item == item]
    early = [one for one in given if one.checked_at is not None and one.checked_at <= moment]
    return early or given[:1]


def _standing(given: Sequence[VisualCheckView], item: str) -> VisualCheckView:
    if not given:
        return VisualCheckView(item, "not_checked", None, None, None, None)
    latest = given[-1]
    return latest if latest.answer == "seen" else replace(latest, seen_before=_seen_before(given))


def _seen_before(given: Sequence[VisualCheckView]) -> SeenBefore | None:
    """The last time that it was seen, with the answer that followed."""
    at = max((place for place, one in enumerate(given) if one.answer == "seen"), default=None)
    if at is None:
        return None
    seen, after = given[at], given[at + 1]
    return SeenBefore(
        place=seen.place,
        note=seen.note,
        at=seen.checked_at,
        by=seen.checked_by,
        since_seen=after.since_seen,
        since_words=after.since_words,
        since_at=after.checked_at,
        since_by=after.checked_by,
    )
