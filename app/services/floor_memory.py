"""What was worked out for a version of a draft, remembered for a while: nothing of it changes
under the same version."""

from collections import OrderedDict
from collections.abc import Callable, Hashable
from dataclasses import dataclass
from functools import lru_cache
from threading import Lock
from typing import Any, Generic, TypeVar

from sqlalchemy import Select, bindparam, event, func, select
from sqlalchemy.orm import Session

from app.errors import Conflict, NotFound
from app.records.scope import pin
from app.records.tables import Draft, DraftState, Job, JobEntry, VisualCheckItem
from app.services.draft_changes import require_draft_open
from app.services.floor_told import STATES
from app.services.lookup import CLOSING, LARGEST_ID, REOPENED, job_row
from app.services.permissions import Actor

MOST_REMEMBERED = 64
MET = "drafts_met"
"""Where a session keeps the rows that it asked for."""
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
class Met:
    """Rows of a draft, its job and its state, how many items of the visual check were answered,
    and what last closed or reopened the job: all that is asked for each time, by one query."""

    job: Job
    draft: Draft
    state: DraftState | None
    looked_at: int
    closing: str | None

    def require_open(self) -> None:
        """Raises Conflict `job_closed`, `draft_not_open`."""
        if self.closing not in (None, REOPENED):
            raise Conflict("job_closed", None, job=self.job.number, status=self.closing)
        require_draft_open(self.draft)


def met(session: Session, actor: Actor, number: str, draft_id: int) -> Met:
    """Raises NotFound `no_such_job`, `no_such_draft`."""
    shop_id = pin(session, actor)
    kept = _kept(session)
    if (number, draft_id) in kept:
        return kept[number, draft_id]
    given = {"number": number, "draft_id": draft_id if 0 < draft_id <= LARGEST_ID else 0}
    found = session.execute(_rows(shop_id), given).one_or_none()
    if found is None:
        job_row(session, actor, number)
        raise NotFound("no_such_draft", None, met=draft_id)
    draft, job, state, count, closing = found
    if state is not None:
        session.info.setdefault(STATES, {})[draft.id] = state
    kept[number, draft_id] = Met(job, draft, state, count, closing)
    return kept[number, draft_id]


def _kept(session: Session) -> dict[tuple[str, int], Met]:
    """What the session was told before: it sees one state of the records until it writes itself."""
    kept: dict[tuple[str, int], Met] | None = session.info.get(MET)
    if kept is None:
        kept = session.info[MET] = {}
        event.listen(session, "after_flush", lambda _session, _context: kept.clear())
    return kept


@lru_cache(maxsize=16)
def _rows(shop_id: int) -> Select[Any]:
    """Made once a shop: making it takes longer than asking."""
    looked = (
        select(func.count(func.distinct(VisualCheckItem.item)))
        .where(VisualCheckItem.job_id == Job.id)
        .correlate(Job)
        .scalar_subquery()
    )
    closing = (
        select(JobEntry.kind)
        .where(JobEntry.job_id == Job.id, JobEntry.kind.in_(CLOSING))
        .order_by(JobEntry.id.desc())
        .limit(1)
        .correlate(Job)
        .scalar_subquery()
    )
    return (
        select(Draft, Job, DraftState, looked, closing)
        .join(Job, Job.id == Draft.job_id)
        .outerjoin(DraftState, DraftState.draft_id == Draft.id)
        .where(
            Draft.shop_id == shop_id,
            Draft.id == bindparam("draft_id"),
            Job.number == bindparam("number"),
        )
    )


def key_of(found: Met, *more: Hashable) -> Hashable:
    """What a draft is after its last change, with the job's reference, instrument and order.

    A version alone would not do: records that were restored have it again with other points.
    """
    if found.state is None or not found.state.mark:
        return None
    return key_under(found.state.mark, found.draft, found.job, *more)


def key_under(mark: str, draft: Draft, job: Job, *more: Hashable) -> Hashable:
    """The same for a mark that was just made."""
    ordered = job.authorised_at is not None
    return (mark, draft.version, job.reference_revision_id, job.instrument_id, ordered, *more)
