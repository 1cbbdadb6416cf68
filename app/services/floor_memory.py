"""What was worked out for a version of a draft, remembered for a while: nothing of it changes
under the same version."""

from collections import OrderedDict
from collections.abc import Callable, Hashable
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from threading import Lock
from typing import Generic, TypeVar

from sqlalchemy import bindparam, func, or_, select
from sqlalchemy.orm import Session

from app.errors import Conflict, NotFound
from app.records.prepared import Prepared
from app.records.scope import for_given_shop, pin
from app.records.session import after_commit
from app.records.tables import Draft, DraftState, Job, JobEntry, VisualCheckItem
from app.services.lookup import CLOSING, LARGEST_ID, REOPENED, job_row
from app.services.permissions import Actor
from app.wording.translation import catalogue

MOST_REMEMBERED = 64
STANDS = "stands_of_drafts"
"""Where a session keeps what it asked for."""
Found = TypeVar("Found")


class Memory(Generic[Found]):
    """The newest of what was worked out, by key; shared by all threads of the process."""

    def __init__(self) -> None:
        self._found: OrderedDict[Hashable, Found] = OrderedDict()
        self._lock = Lock()

    def get(self, key: Hashable) -> Found | None:
        with self._lock:
            found = self._found.get(key)
            if found is not None:
                self._found.move_to_end(key)
            return found

    def put(self, key: Hashable, found: Found) -> None:
        with self._lock:
            self._found[key] = found
            while len(self._found) > MOST_REMEMBERED:
                self._found.popitem(last=False)

    def recalled(self, session: Session, key: Hashable, work: Callable[[], Found]) -> Found:
        """What is remembered, else worked out. What a writing session sees may never come to be,
        and what has no mark yet has no key: neither is remembered."""
        found = None if key is None else self.get(key)
        if found is None:
            found = work()
            if key is not None and not session.info.get("writable"):
                self.put(key, found)
        return found

    def put_after_commit(self, session: Session, key: Hashable, found: Found) -> None:
        """Remembers what a writing session leaves behind, as soon as it is true."""
        after_commit(session, partial(self.put, key, found))


@dataclass(frozen=True, slots=True)
class Stand:
    """How a draft and its job stand: all that is asked for each time, by one query."""

    version: int
    mark: str | None
    """By chance and new with each change; None before the first."""
    reference_revision_id: int | None
    instrument_id: int | None
    authorised_at: datetime | None
    looked_at: int
    """How many items of the visual check were answered."""
    closing: str | None
    """What last closed or reopened the job."""
    closed_as: str | None
    """What became of the draft; None while it is open."""
    live_step: str | None
    """Where points go that an instrument sends."""

    def key(self, *more: Hashable) -> Hashable:
        """What the draft is after its last change, with the job's reference, instrument and order;
        None where there is nothing to know it by.

        A version alone would not do: records that were restored have it again with other points.
        """
        if not self.mark:
            return None
        ordered = self.authorised_at is not None
        job = (self.reference_revision_id, self.instrument_id, ordered)
        return (self.mark, self.version, *job, *more)

    def key_of_view(self) -> Hashable:
        """The same for all that the steps show: the visual check too, and the language."""
        return self.key(self.looked_at, catalogue())

    @property
    def rests(self) -> bool:
        """The job is closed: nothing is added until it is opened again."""
        return self.closing not in (None, REOPENED)

    def require_open(self, number: str) -> None:
        """number: of the job. Raises Conflict `job_closed`, `draft_not_open`."""
        if self.rests:
            raise Conflict("job_closed", None, job=number, status=self.closing)
        if self.closed_as is not None:
            raise Conflict("draft_not_open", None, state=self.closed_as)


_DRAFT, _JOB, _STATE = Draft.__table__.c, Job.__table__.c, DraftState.__table__.c
_ITEM, _ENTRY = VisualCheckItem.__table__.c, JobEntry.__table__.c
_LOOKED_AT = (
    select(func.count(func.distinct(_ITEM.item)))
    .where(_ITEM.job_id == _JOB.id)
    .correlate(Job.__table__)
    .scalar_subquery()
)
_CLOSING = (
    select(_ENTRY.kind)
    .where(_ENTRY.job_id == _JOB.id, or_(*[_ENTRY.kind == kind for kind in CLOSING]))
    .order_by(_ENTRY.id.desc())
    .limit(1)
    .correlate(Job.__table__)
    .scalar_subquery()
)
_OF_DRAFT = (
    _DRAFT.shop_id == bindparam("shop_id"),
    _DRAFT.id == bindparam("draft_id"),
    _JOB.number == bindparam("number"),
)
_JOB_OF_DRAFT = (_JOB.id == _DRAFT.job_id) & (_JOB.shop_id == _DRAFT.shop_id)
_STAND = Prepared(
    for_given_shop(
        select(
            _DRAFT.version,
            _STATE.mark,
            _JOB.reference_revision_id,
            _JOB.instrument_id,
            _JOB.authorised_at,
            _LOOKED_AT,
            _CLOSING,
            _DRAFT.closed_as,
            _STATE.live_step,
        )
        .join_from(Draft.__table__, Job.__table__, _JOB_OF_DRAFT)
        .outerjoin(DraftState.__table__, _STATE.draft_id == _DRAFT.id)
        .where(*_OF_DRAFT)
    )
)
_RECORDS = for_given_shop(select(Job, Draft).join_from(Draft, Job, _JOB_OF_DRAFT).where(*_OF_DRAFT))


def stand(session: Session, actor: Actor, number: str, draft_id: int) -> Stand:
    """How the draft stands. Raises NotFound `no_such_job`, `no_such_draft`.

    A session that only reads sees one state of the records, so that it asks once.
    """
    kept: dict[tuple[str, int], Stand] = session.info.setdefault(STANDS, {})
    if (number, draft_id) in kept:
        return kept[number, draft_id]
    rows = _STAND.asked(session, _given(session, actor, number, draft_id))
    if not rows:
        raise _not_found(session, actor, number, draft_id)
    found = Stand(*rows[0])
    if not session.info.get("writable"):
        kept[number, draft_id] = found
    return found


def records(session: Session, actor: Actor, number: str, draft_id: int) -> tuple[Job, Draft]:
    """The records themselves, with one query. Raises NotFound `no_such_job`, `no_such_draft`."""
    given = _given(session, actor, number, draft_id)
    row = session.execute(_RECORDS, given).one_or_none()
    if row is None:
        raise _not_found(session, actor, number, draft_id)
    return row[0], row[1]


def _given(session: Session, actor: Actor, number: str, draft_id: int) -> dict[str, object]:
    known = draft_id if 0 < draft_id <= LARGEST_ID else 0
    return {"shop_id": pin(session, actor), "number": number, "draft_id": known}


def _not_found(session: Session, actor: Actor, number: str, draft_id: int) -> NotFound:
    """Raises NotFound by itself where there is no such job either."""
    job_row(session, actor, number)
    return NotFound("no_such_draft", None, met=draft_id)
