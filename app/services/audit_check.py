"""Whether the event log is whole: what `jigbook audit verify` and the owner's page tell."""

import json
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TypeVar

from sqlalchemy import Select
from sqlalchemy.orm import InstrumentedAttribute, Session

from app.records.chain import START, event_hash, value_digest
from app.records.scope import OfShop, scoped
from app.records.tables import Event, EventHead, PersonalValue, ShopRecord
from app.services.audit import ERASED
from app.services.photo_check import AddedPhotos

Record = TypeVar("Record", bound=ShopRecord)
Order = InstrumentedAttribute[int]

FAULTS = (
    "missing",
    "altered",
    "end_missing",
    "personal_missing",
    "personal_altered",
    "personal_erased_unlogged",
    "photo_missing",
    "photo_altered",
)


@dataclass(frozen=True, slots=True)
class Break:
    """Where the log does not hold together, and how: a code of `FAULTS`."""

    position: int
    code: str
    name: str | None = None


@dataclass(frozen=True, slots=True)
class ChainReport:
    events: int
    head: str
    """The newest hash: noted elsewhere, it shows later that nothing was rebuilt."""
    breaks: tuple[Break, ...]
    erased_values: int

    @property
    def whole(self) -> bool:
        return not self.breaks


def verify(session: Session, shop: OfShop | int) -> ChainReport:
    """Walk the shop's whole log, and the photos it speaks of; report every break. Reads only."""
    walk = _Walk()
    for event in _rows(session, scoped(session, shop, Event), Event, Event.position):
        walk.step(event)
    head = session.scalars(scoped(session, shop, EventHead)).one_or_none()
    if (walk.position, walk.hash) != ((head.position, head.hash) if head else (0, START)):
        walk.breaks.append(Break(walk.position + 1, "end_missing"))
    every = scoped(session, shop, PersonalValue)
    found = _rows(session, every, PersonalValue, PersonalValue.event_id)
    values = [value for value in found if value is not None]
    walk.breaks.extend(walk.personal_breaks(values))
    walk.breaks.extend(Break(*fault) for fault in walk.photos.faults(session, shop, walk.erasings))
    erased = sum(value.erased_at is not None for value in values)
    return ChainReport(walk.count, walk.hash, tuple(walk.breaks), erased)


def _rows(
    session: Session, every: Select[Record], model: type[Record], order: Order
) -> Iterator[Record | None]:
    """The rows in order, some hundreds at a time; None for one that cannot be read any more."""
    ids = list(session.scalars(every.with_only_columns(model.id).order_by(order, model.id)))
    for chunk in (ids[start : start + 500] for start in range(0, len(ids), 500)):
        yield from readable(session, every, model, chunk)


def readable(
    session: Session, every: Select[Record], model: type[Record], ids: Sequence[int]
) -> list[Record | None]:
    """The rows with these ids in that order; None for one that cannot be read any more."""
    try:
        found = {row.id: row for row in session.scalars(every.where(model.id.in_(ids)))}
    except ValueError:
        return [_readable(session, model, row_id) for row_id in ids]
    return [found.get(row_id) for row_id in ids]


def _readable(session: Session, model: type[Record], row_id: int) -> Record | None:
    try:
        return session.get(model, row_id)
    except ValueError:
        return None


class _Walk:
    """What is known after each event: where the chain stands, what the personal values must be."""

    def __init__(self) -> None:
        self.count = 0
        self.position = 0
        self.hash = START
        self.breaks: list[Break] = []
        self.expected: dict[int, tuple[int, dict[str, dict[str, str]]]] = {}
        self.erasings: set[tuple[str, datetime]] = set()
        self.photos = AddedPhotos()

    def step(self, event: Event | None) -> None:
        self.count += 1
        if event is None:
            self.position += 1
            self.breaks.append(Break(self.position, "altered"))
            return
        if event.position != self.position + 1:
            self.breaks.append(Break(self.position + 1, "missing"))
        if event.previous_hash != self.hash or event.hash != event_hash(event):
            self.breaks.append(Break(event.position, "altered"))
        self.position, self.hash = event.position, event.hash
        self.expected[event.id] = (event.position, _marks(event))
        self.photos.step(event)
        if event.what == ERASED:
            self.erasings.add((event.subject, event.at))

    def personal_breaks(self, values: list[PersonalValue]) -> Iterator[Break]:
        found: dict[int, dict[str, PersonalValue]] = defaultdict(dict)
        for value in values:
            found[value.event_id][value.name] = value
        for event_id, (position, marks) in self.expected.items():
            beside = found[event_id]
            for name in sorted(marks.keys() | beside.keys()):
                code = self._fault(marks.get(name), beside.get(name))
                if code:
                    yield Break(position, code, name)

    def _fault(self, mark: dict[str, str] | None, value: PersonalValue | None) -> str | None:
        if value is None:
            return "personal_missing"
        if mark is None or mark.get("about") != value.about:
            return "personal_altered"
        if value.erased_at is not None:
            logged = (value.about, value.erased_at) in self.erasings
            emptied = value.salt is None and value.value is None
            return None if logged and emptied else "personal_erased_unlogged"
        digest = value_digest(value.salt or "", value.name, value.value or "")
        return None if digest == mark.get("digest") else "personal_altered"


def _marks(event: Event) -> dict[str, dict[str, str]]:
    """What the event says of its personal values; nothing when it was altered past reading."""
    try:
        marks = json.loads(event.personal)
    except ValueError:
        return {}
    return marks if isinstance(marks, dict) else {}
