"""The list of the day: what waits for whom and since when, and who must be called."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import TypeVar

from sqlalchemy.orm import Session

from app.records.scope import scoped
from app.records.tables import Claim, Customer, Insurer, Job, Machine, ShopRecord
from app.services import calls_due, road, signed_for
from app.services.calls_due import CallDue, days_overdue
from app.services.job_facts import facts_of
from app.services.job_search import Asked
from app.services.permissions import Actor, require
from app.services.road_facts import Facts
from app.services.search import page

Row = TypeVar("Row", bound=ShopRecord)


@dataclass(frozen=True, slots=True)
class TodayLine:
    """One job, one line."""

    number: str
    status: str
    """One of `jobs.STATUSES`."""
    waits_for: str | None
    """`desk`, `technician`, `inspector`, or None when nothing is left to do."""
    next_step: str | None
    """One of `jobs.STEPS`."""
    measuring: str | None
    """Phase of the measurement that is being taken; None where none is."""
    since: datetime
    plate: str | None
    make: str
    model: str
    customer_name: str | None
    claim_number: str | None
    finding: str | None
    """Verdict of the job's last standing survey."""
    holds_open: int
    promised_on: date | None
    days_overdue: int
    """By how many days the promised day is past; 0 while it is not, or once it is certified."""
    sent_back: bool
    """The inspector wants something measured again or answered."""
    ordered: bool
    """Somebody gave the order, in words or by signing."""
    to_sign_anew: bool
    """What was signed reads otherwise by now."""
    outdated: str | None
    """Number of the certificate in force that no longer names the machine as the record does."""


@dataclass(frozen=True, slots=True)
class CallLine:
    """Somebody who must be called, with what the caller needs to know."""

    number: str
    call: CallDue
    name: str | None
    phone: str | None
    plate: str | None
    make: str
    model: str
    insurer_name: str | None


@dataclass(frozen=True, slots=True)
class Today:
    lines: tuple[TodayLine, ...]
    """What is overdue comes first, then what has waited longest; closed jobs last, newest first.
    Before all of them what has just the plate or number that was searched for."""
    total: int
    """How many there are before `limit` and `offset`."""
    waiting: tuple[tuple[str, int], ...]
    """Role and how many open jobs wait for it, under the same search."""
    overdue: int
    """How many open jobs are overdue, under the same search."""
    calls: tuple[CallLine, ...]
    """Who must be called about open jobs and about withdrawn certificates of machines that have
    left, under the same search; the gravest first, those who have a message last."""
    left_out: int
    """Jobs that fit the words, and are not shown because another one is just what was typed."""


@dataclass(frozen=True, slots=True)
class _Standing:
    """A job and the facts that its line rests on."""

    job: Job
    facts: Facts


@dataclass(frozen=True, slots=True)
class _Parts:
    """Jobs of which a plate or number is just what was typed, and which parts are listed: those,
    and the others."""

    exact: set[int]
    wanted: tuple[bool, ...]


def today(
    session: Session,
    actor: Actor,
    on: date,
    text: str = "",
    status: str | None = None,
    waits_for: str | None = None,
    include_closed: bool = False,
    widely: bool = False,
    limit: int = 100,
    offset: int = 0,
) -> Today:
    """The list of jobs; `text` searches number, plate, frame number, machine, customer, claim.

    `on` is the day that promised days are held against.
    Closed jobs are left out unless asked for, searched for by `status`, or found by `text`. Where
    a plate or number is just this text, jobs that only fit its words are left out unless asked
    for: `widely`.
    """
    require(actor, "jobs.read")
    limit, offset = page(limit, offset)
    asked = Asked(session, actor, text, status)
    exact = asked.exact_ones()
    narrow = exact if not widely else set()
    open_jobs = _standings(session, actor, _among(narrow, asked.open_ones()))
    left = _standings(session, actor, _among(narrow, asked.left_with_withdrawn()))
    waiting = Counter(filter(None, (road.waits_for(one.facts) for one in open_jobs)))
    kept = [
        one
        for one in open_jobs
        if status in (None, road.status(one.facts))
        and waits_for in (None, road.waits_for(one.facts))
    ]
    kept.sort(key=lambda one: (_promise_broken(one, on), road.since(one.facts), one.job.id))
    wants_closed = include_closed or bool(text.strip()) or status in ("cancelled", "handed_over")
    with_closed = wants_closed and waits_for is None
    parts = _Parts(exact, (True,) if narrow else (True, False))
    shown, total = _cut(asked, kept, parts, with_closed, limit, offset)
    return Today(
        lines=_lines(session, actor, shown, on),
        total=total,
        waiting=tuple(sorted(waiting.items())),
        overdue=sum(bool(days_overdue(one.facts, on)) for one in open_jobs),
        calls=_calls(session, actor, [*open_jobs, *left], on),
        left_out=asked.count() - len(exact) if narrow else 0,
    )


def _among(narrow: set[int], found: Iterable[Job]) -> list[Job]:
    """What is just what was typed, where anything is; else all."""
    return [job for job in found if not narrow or job.id in narrow]


def _promise_broken(one: _Standing, on: date) -> tuple[int, date]:
    """The overdue before all others, the longest promised first."""
    if one.facts.promised_on is None or not days_overdue(one.facts, on):
        return 1, date.max
    return 0, one.facts.promised_on


def _cut(
    asked: Asked,
    kept: Sequence[_Standing],
    parts: _Parts,
    with_closed: bool,
    limit: int,
    offset: int,
) -> tuple[list[_Standing], int]:
    """What is shown of the open and closed jobs, and how many there are: what is just what was
    typed comes before all else."""
    shown: list[_Standing] = []
    total = 0
    for just_this in parts.wanted:
        part = [one for one in kept if (one.job.id in parts.exact) is just_this]
        shown += part[max(0, offset - total) :][: limit - len(shown)]
        total += len(part)
        closed = asked.closed_count(just_this) if with_closed else 0
        if closed and len(shown) < limit:
            rows = asked.closed_ones(just_this, limit - len(shown), max(0, offset - total))
            shown += _standings(asked.session, asked.actor, rows)
        total += closed
    return shown, total


def _standings(session: Session, actor: Actor, rows: Iterable[Job]) -> list[_Standing]:
    jobs = list(rows)
    facts = facts_of(session, actor, jobs)
    return [_Standing(job, facts[job.id]) for job in jobs]


class _Around:
    """Machines, customers and claims of some jobs, each table read once."""

    def __init__(self, session: Session, actor: Actor, jobs: Sequence[Job]) -> None:
        def rows(model: type[Row], wanted: Iterable[int | None]) -> dict[int, Row]:
            return _by_id(session, actor, model, [one for one in wanted if one])

        self._machines = rows(Machine, (job.machine_id for job in jobs))
        self._customers = rows(Customer, (job.customer_id for job in jobs))
        self._claims = rows(Claim, (job.claim_id for job in jobs))
        self._insurers = rows(Insurer, (one.insurer_id for one in self._claims.values()))

    def machine(self, job: Job) -> Machine:
        return self._machines[job.machine_id]

    def customer(self, job: Job) -> Customer:
        return self._customers[job.customer_id]

    def claim(self, job: Job) -> Claim | None:
        return self._claims.get(job.claim_id or 0)

    def insurer(self, job: Job) -> Insurer | None:
        claim = self.claim(job)
        return self._insurers.get(claim.insurer_id or 0) if claim else None


def _lines(
    session: Session, actor: Actor, shown: Sequence[_Standing], on: date
) -> tuple[TodayLine, ...]:
    around = _Around(session, actor, [one.job for one in shown])
    still_here = [one.job for one in shown if not one.facts.closed]
    pairs = [(job, around.machine(job)) for job in still_here]
    changed = signed_for.changed_since(session, actor, pairs)
    return tuple(_line(one, around, on, one.job.id in changed) for one in shown)


def _calls(
    session: Session, actor: Actor, open_jobs: Sequence[_Standing], on: date
) -> tuple[CallLine, ...]:
    due = [(one.job, call) for one in open_jobs for call in calls_due.due(one.facts, on)]
    around = _Around(session, actor, [job for job, _ in due])
    lines = [
        _call(job, call, around)
        for job, call in due
        if call.whom != "customer" or around.customer(job).erased_at is None
    ]
    return tuple(sorted(lines, key=_how_urgent))


def _how_urgent(line: CallLine) -> tuple[bool, int, datetime, str]:
    """Whom nobody left a message comes first, then the gravest reason, then what is due longest."""
    return line.call.may_wait, line.call.weight, line.call.since, line.number


def _call(job: Job, call: CallDue, around: _Around) -> CallLine:
    machine, customer, claim = around.machine(job), around.customer(job), around.claim(job)
    insurer = around.insurer(job)
    if call.whom == "customer":
        name, phone = customer.name, customer.phone
    else:
        name = claim.adjuster if claim else ""
        phone = (claim.adjuster_phone if claim else "") or (insurer.phone if insurer else "")
    return CallLine(
        number=job.number,
        call=call,
        name=name or None,
        phone=phone or None,
        plate=machine.plate or None,
        make=machine.make,
        model=machine.model,
        insurer_name=insurer.name if insurer else None,
    )


def _by_id(
    session: Session, actor: Actor, model: type[Row], wanted: Sequence[int]
) -> dict[int, Row]:
    rows = scoped(session, actor, model).where(model.id.in_(wanted))
    return {row.id: row for row in session.scalars(rows)}


def _line(one: _Standing, around: _Around, on: date, changed: bool) -> TodayLine:
    surveys, claim = one.facts.surveys, around.claim(one.job)
    machine, customer = around.machine(one.job), around.customer(one.job)
    return TodayLine(
        number=one.job.number,
        status=road.status(one.facts),
        waits_for=road.waits_for(one.facts),
        next_step=road.next_step(one.facts),
        measuring=road.measuring(one.facts),
        since=road.since(one.facts),
        plate=machine.plate or None,
        make=machine.make,
        model=machine.model,
        customer_name=customer.name or None,
        claim_number=(claim.claim_number or None) if claim else None,
        finding=surveys[-1].finding if surveys else None,
        holds_open=one.facts.holds_open,
        promised_on=one.facts.promised_on,
        days_overdue=days_overdue(one.facts, on),
        sent_back=one.facts.sent_back is not None,
        ordered=one.job.authorised_at is not None,
        to_sign_anew=changed,
        outdated=one.facts.outdated.number if one.facts.outdated else None,
    )
