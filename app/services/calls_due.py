"""Who must be called about a job, and why: worked out from facts on record, like the road.

A call that reached somebody settles every reason that stood before it. A message left is told, and
the call stays due: nobody knows whether it was heard.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time

from app.services.road import is_certified, is_correcting
from app.services.road_facts import Facts

SETTLING = "reached"

REASONS = ("late", "ready", "hold", "finding", "wanted", "waits_here", "withdrawn")
"""The promised day is past; the machine may be fetched; a hold is open; something is outside its
tolerance; somebody in the shop asked for the call; the job is cancelled and its machine stands
here; a certificate was withdrawn, and none is in force."""


BY_WEIGHT = ("withdrawn", "hold", "late", "finding", "wanted", "ready", "waits_here")
"""The gravest first: somebody may be riding on a certificate that was withdrawn."""


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason for a call."""

    code: str
    """One of REASONS."""
    since: datetime
    words: str | None = None
    """What was asked for, when somebody asked for the call; why a certificate was withdrawn."""
    verdict: str | None = None
    """Of a machine that may be fetched: its last finding."""
    holds_open: int = 0


@dataclass(frozen=True, slots=True)
class CallDue:
    """Somebody who must be called about a job."""

    whom: str
    """`customer` or `adjuster`."""
    reasons: tuple[Reason, ...]
    tried_at: datetime | None
    """The last try that reached nobody, since the first of the reasons."""
    message_at: datetime | None = None
    """When a message was left last, since then."""

    @property
    def since(self) -> datetime:
        """Since when the call is due."""
        return min(reason.since for reason in self.reasons)

    @property
    def weight(self) -> int:
        """The place of its gravest reason in `BY_WEIGHT`."""
        return min(BY_WEIGHT.index(reason.code) for reason in self.reasons)

    @property
    def may_wait(self) -> bool:
        """A message was left; of a withdrawn certificate that is not enough."""
        return self.message_at is not None and self.weight > 0


def days_overdue(facts: Facts, on: date) -> int:
    """By how many days the promised day is past, while the machine is not ready; else 0."""
    if facts.promised_on is None or facts.closed or is_certified(facts):
        return 0
    return max(0, (on - facts.promised_on).days)


def due(facts: Facts, on: date) -> tuple[CallDue, ...]:
    """Everybody who must be called, the customer first; of a closed job the customer alone, whose
    machine stands here or whose certificate was withdrawn."""
    if facts.closed:
        one = _due(facts, "customer", on)
        return () if one is None else (one,)
    found = (_due(facts, whom, on) for whom in ("customer", "adjuster"))
    return tuple(one for one in found if one is not None)


def _due(facts: Facts, whom: str, on: date) -> CallDue | None:
    settled = max(
        (one.at for one in facts.calls if one.whom == whom and one.outcome == SETTLING),
        default=None,
    )
    reasons = tuple(
        one for one in _reasons(facts, whom, on) if settled is None or one.since > settled
    )
    if not reasons:
        return None
    first = min(reason.since for reason in reasons)
    return CallDue(
        whom,
        reasons,
        _last(facts, whom, "not_reached", first),
        _last(facts, whom, "message_left", first),
    )


def _last(facts: Facts, whom: str, outcome: str, first: datetime) -> datetime | None:
    found = (
        one.at
        for one in facts.calls
        if one.whom == whom and one.outcome == outcome and one.at >= first
    )
    return max(found, default=None)


def _reasons(facts: Facts, whom: str, on: date) -> Iterator[Reason]:
    if whom == "customer" and facts.withdrawn is not None:
        yield Reason("withdrawn", facts.withdrawn.at, facts.withdrawn.why or None)
    if facts.closed:
        if facts.still_here and facts.cancelled is not None:
            yield Reason("waits_here", facts.cancelled.at)
        return
    if whom == "customer":
        yield from _for_the_customer(facts, on)
    for one in facts.calls:
        if one.whom == whom and not one.outcome:
            yield Reason("wanted", one.at, one.words or None)


def _for_the_customer(facts: Facts, on: date) -> Iterator[Reason]:
    if facts.promised_on is not None and days_overdue(facts, on):
        # A call on the promised day itself has told them already.
        yield Reason("late", datetime.combine(facts.promised_on, time(), UTC))
    if is_certified(facts) and facts.certified is not None:
        verdict = facts.surveys[-1].finding if facts.surveys else None
        yield Reason("ready", facts.certified.at, None, verdict, facts.holds_open)
        return
    if facts.holds_open and facts.hold_moments:
        yield Reason("hold", max(facts.hold_moments))
    last = facts.surveys[-1] if facts.surveys else None
    if last is None or last.phase != "before" or is_correcting(facts):
        return
    if last.usable and last.finding == "outside":
        yield Reason("finding", last.done.at)
