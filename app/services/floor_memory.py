"""What was worked out for a version of a draft, remembered for a while: nothing of it changes
under the same version."""

from collections import OrderedDict
from collections.abc import Callable, Hashable
from dataclasses import dataclass, replace
from datetime import datetime
from threading import Lock
from typing import Any, Generic, TypeVar

from sqlalchemy import Row, Select, bindparam, event, func, select
from sqlalchemy.orm import Session

from app.errors import Conflict, NotFound
from app.records.scope import for_given_shop, pin
from app.records.tables import Draft, DraftState, Job, JobEntry, VisualCheckItem
from app.services.draft_changes import require_draft_open
from app.services.floor_told import STATES
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
        event.listen(session, "after_commit", lambda _session: self.put(key, found), once=True)


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
    .where(_ENTRY.job_id == _JOB.id, _ENTRY.kind.in_(CLOSING))
    .order_by(_ENTRY.id.desc())
    .limit(1)
    .correlate(Job.__table__)
    .scalar_subquery()
)
_STAND = for_given_shop(
    select(
        _DRAFT.version,
        _STATE.mark,
        _JOB.reference_revision_id,
        _JOB.instrument_id,
        _JOB.authorised_at,
        _LOOKED_AT,
        _CLOSING,
    )
    .join_from(
        Draft.__table__,
        Job.__table__,
        (_JOB.id == _DRAFT.job_id) & (_JOB.shop_id == _DRAFT.shop_id),
    )
    .outerjoin(DraftState.__table__, _STATE.draft_id == _DRAFT.id)
    .where(
        _DRAFT.shop_id == bindparam("shop_id"),
        _DRAFT.id == bindparam("draft_id"),
        _JOB.number == bindparam("number"),
    )
)
_RECORDS = for_given_shop(
    select(Draft, Job, DraftState, _LOOKED_AT, _CLOSING)
    .join_from(Draft, Job, (Job.id == Draft.job_id) & (Job.shop_id == Draft.shop_id))
    .outerjoin(DraftState, DraftState.draft_id == Draft.id)
    .where(
        Draft.shop_id == bindparam("shop_id"),
        Draft.id == bindparam("draft_id"),
        Job.number == bindparam("number"),
    )
)


def stand(session: Session, actor: Actor, number: str, draft_id: int) -> Stand:
    """How the draft stands. Raises NotFound `no_such_job`, `no_such_draft`.

    A session that only reads sees one state of the records, so that it asks once.
    """
    kept: dict[tuple[str, int], Stand] = session.info.setdefault(STANDS, {})
    if (number, draft_id) in kept:
        return kept[number, draft_id]
    found = Stand(*_asked(session, actor, _STAND, number, draft_id))
    if not session.info.get("writable"):
        kept[number, draft_id] = found
    return found


def _asked(
    session: Session,
    actor: Actor,
    statement: Select[*tuple[Any, ...]],
    number: str,
    draft_id: int,
) -> Row[*tuple[Any, ...]]:
    given = {
        "shop_id": pin(session, actor),
        "number": number,
        "draft_id": draft_id if 0 < draft_id <= LARGEST_ID else 0,
    }
    session.flush()
    found = session.execute(statement, given).one_or_none()
    if found is None:
        job_row(session, actor, number)
        raise NotFound("no_such_draft", None, met=draft_id)
    return found


@dataclass(frozen=True, slots=True)
class Met:
    """The records of a draft and its job, with how they stood before anything was changed."""

    job: Job
    draft: Draft
    stand: Stand

    def require_open(self) -> None:
        """Raises Conflict `job_closed`, `draft_not_open`."""
        if self.stand.closing not in (None, REOPENED):
            raise Conflict("job_closed", None, job=self.job.number, status=self.stand.closing)
        require_draft_open(self.draft)

    def key_under(self, mark: str) -> Hashable:
        """The key of what the steps show after a change that has just made this mark."""
        changed = replace(self.stand, mark=mark, version=self.draft.version)
        return changed.key_of_view()


def met(session: Session, actor: Actor, number: str, draft_id: int) -> Met:
    """Raises NotFound `no_such_job`, `no_such_draft`."""
    draft, job, state, looked_at, closing = _asked(session, actor, _RECORDS, number, draft_id)
    if state is not None:
        session.info.setdefault(STATES, {})[draft.id] = state
    found = Stand(
        draft.version,
        state.mark if state else None,
        job.reference_revision_id,
        job.instrument_id,
        job.authorised_at,
        looked_at,
        closing,
    )
    return Met(job, draft, found)
