"""The event log as the owner reads it: newest first, by job, person or day. Reads only."""

import json
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from typing import Literal
from zoneinfo import ZoneInfo

from sqlalchemy import Select, or_
from sqlalchemy.orm import Session

from app.errors import NotFound
from app.records.columns import UTC
from app.records.scope import scoped
from app.records.tables import ApiToken, Event, Person, PersonalValue
from app.services import shop
from app.services.audit_check import ChainReport, readable, verify
from app.services.event_names import NAMED, jobs_of, marks_of_job, names_of
from app.services.permissions import Actor, require

MOST_LINES = 40
LARGEST_POSITION = 2**31 - 1

State = Literal["kept", "erased", "missing"]


@dataclass(frozen=True, slots=True)
class PersonalFact:
    """A personal value beside an event."""

    name: str
    state: State
    """`erased`: emptied at somebody's wish; `missing`: the log does not hold together there."""
    value: object = None
    """None unless it is kept."""


@dataclass(frozen=True, slots=True)
class EventView:
    """One event, in marks and codes; `EventPage.names` tells what the marks are called."""

    position: int
    digest: str
    at: datetime | None
    """None where the event cannot be read any more."""
    actor: str = ""
    what: str = ""
    subject: str = ""
    job: str | None = None
    """Number of the job that it speaks of."""
    public: Mapping[str, object] = field(default_factory=dict)
    personal: tuple[PersonalFact, ...] = ()


@dataclass(frozen=True, slots=True)
class EventPage:
    events: tuple[EventView, ...]
    names: Mapping[str, str]
    """By mark; empty where it was erased."""
    older: bool
    """There are events before the last of these."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What the log is filtered by; what is empty filters nothing."""

    job: str = ""
    person: str = ""
    """The mark of whoever acted, or whose sign-in the event speaks of."""
    day: date | None = None
    """By the shop's own clock."""


@dataclass(frozen=True, slots=True)
class Checked:
    """Whether the log is whole, and where a digest stands in it that was noted elsewhere."""

    report: ChainReport
    noted: EventView | None
    """The event that has the noted digest; None without one."""

    @property
    def noted_stands(self) -> bool:
        """All up to the noted event is as it was when it was noted."""
        if self.noted is None:
            return False
        return all(fault.position > self.noted.position for fault in self.report.breaks)


def listing(session: Session, actor: Actor, asked: Asked, before: int | None = None) -> EventPage:
    """The newest events that were asked for, of those before a position when it is told."""
    require(actor, "audit.read")
    every = _asked_for(session, actor, asked)
    if before is not None:
        every = every.where(Event.position < min(before, LARGEST_POSITION))
    newest = every.order_by(Event.position.desc()).limit(MOST_LINES + 1)
    return _page(session, actor, newest)


def one(session: Session, actor: Actor, position: int) -> EventPage:
    """A single event. Raises NotFound `no_such_event`."""
    require(actor, "audit.read")
    sought = position if 0 < position <= LARGEST_POSITION else 0
    found = _page(session, actor, scoped(session, actor, Event).where(Event.position == sought))
    if not found.events:
        raise NotFound("no_such_event", None, met=position)
    return found


def actors(session: Session, actor: Actor) -> tuple[tuple[str, str], ...]:
    """Mark and name of everybody who may have acted: people, then programs by their tokens."""
    require(actor, "audit.read")
    people = scoped(session, actor, Person).order_by(Person.sign_in_key)
    tokens = scoped(session, actor, ApiToken).order_by(ApiToken.name)
    return (
        *((f"person:{row.id}", row.name) for row in session.scalars(people)),
        *((f"token:{row.id}", row.name) for row in session.scalars(tokens)),
    )


def check(session: Session, actor: Actor, noted: str = "") -> Checked:
    """What `jigbook audit verify` tells, and the event with the digest that was noted."""
    require(actor, "audit.read")
    report = verify(session, actor)
    digest = "".join(noted.split()).lower()[:64]
    with_it = scoped(session, actor, Event).where(Event.hash == digest)
    found = _page(session, actor, with_it.limit(1)).events if digest else ()
    return Checked(report, found[0] if found else None)


def _asked_for(session: Session, actor: Actor, asked: Asked) -> Select[Event]:
    every = scoped(session, actor, Event)
    if asked.job:
        every = every.where(Event.subject.in_(marks_of_job(session, actor, asked.job)))
    if asked.person:
        every = every.where(or_(Event.actor == asked.person, Event.subject == asked.person))
    if asked.day is not None:
        zone = ZoneInfo(shop.read(session, actor).time_zone)
        begins, ends = (
            datetime.combine(day, time(), zone).astimezone(UTC)
            for day in (asked.day, asked.day + timedelta(days=1))
        )
        every = every.where(Event.at >= begins, Event.at < ends)
    return every


def _page(session: Session, actor: Actor, found: Select[Event]) -> EventPage:
    """The events of a query for one more than a page holds, with the names they speak of."""
    rows = session.execute(found.with_only_columns(Event.id, Event.position, Event.hash)).all()
    shown = rows[:MOST_LINES]
    ids = [row.id for row in shown]
    events = readable(session, scoped(session, actor, Event), Event, ids)
    beside = _beside(session, actor, ids)
    jobs = jobs_of(session, actor, {event.subject for event in events if event is not None})
    views = tuple(
        EventView(row.position, row.hash, None)
        if event is None
        else _view(event, jobs.get(event.subject), beside[event.id])
        for row, event in zip(shown, events, strict=True)
    )
    names = names_of(session, actor, {mark for view in views for mark in _marks_in(view)})
    return EventPage(views, names, len(rows) > len(shown))


def _view(event: Event, job: str | None, beside: Mapping[str, PersonalValue]) -> EventView:
    public = told(event.public)
    by_number = public.get("job")
    return EventView(
        position=event.position,
        digest=event.hash,
        at=event.at,
        actor=event.actor,
        what=event.what,
        subject=event.subject,
        job=job or (by_number if isinstance(by_number, str) else None),
        public=public,
        personal=tuple(_fact(name, beside.get(name)) for name in sorted(told(event.personal))),
    )


def _fact(name: str, value: PersonalValue | None) -> PersonalFact:
    if value is None:
        return PersonalFact(name, "missing")
    if value.erased_at is not None or value.value is None:
        return PersonalFact(name, "erased")
    try:
        return PersonalFact(name, "kept", json.loads(value.value))
    except ValueError:
        return PersonalFact(name, "missing")


def _beside(
    session: Session, actor: Actor, ids: Sequence[int]
) -> Mapping[int, dict[str, PersonalValue]]:
    """The personal values of these events, by event and name."""
    found: dict[int, dict[str, PersonalValue]] = defaultdict(dict)
    every = scoped(session, actor, PersonalValue)
    of_these = every.where(PersonalValue.event_id.in_(ids))
    value_ids = list(session.scalars(of_these.with_only_columns(PersonalValue.id)))
    for value in readable(session, every, PersonalValue, value_ids):
        if value is not None:
            found[value.event_id][value.name] = value
    return found


def _marks_in(view: EventView) -> Iterator[str]:
    """What an event speaks of by mark or by id."""
    yield from (view.actor, view.subject)
    for name, value in view.public.items():
        if name in NAMED and isinstance(value, int):
            yield f"{name}:{value}"
        if view.what == "machine.changed_hands" and name in ("from", "to"):
            yield f"customer:{value}"


def told(text: str) -> dict[str, object]:
    """The values of an event; none where it was altered past reading."""
    try:
        read = json.loads(text)
    except ValueError:
        return {}
    return read if isinstance(read, dict) else {}
