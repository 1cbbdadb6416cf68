"""What was worked out for a version of a draft, remembered for a while: nothing of it changes
under the same version."""

from collections import OrderedDict
from collections.abc import Callable, Hashable
from threading import Lock
from typing import Generic, TypeVar

from sqlalchemy.orm import Session

from app.errors import NotFound
from app.records.scope import scoped
from app.records.tables import Draft, DraftState, Job
from app.services.lookup import LARGEST_ID
from app.services.permissions import Actor

MOST_REMEMBERED = 64
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
        if key is None or session.info.get("writable"):
            return work()
        found = self.get(key)
        if found is None:
            found = work()
            self.put(key, found)
        return found


def found_with_mark(
    session: Session, actor: Actor, job: Job, draft_id: int
) -> tuple[Draft, str | None]:
    """A draft, and the mark of its last change. Raises NotFound `no_such_draft`."""
    rows = (
        scoped(session, actor, Draft)
        .add_columns(DraftState.mark)
        .outerjoin(DraftState, DraftState.draft_id == Draft.id)
        .where(Draft.id == draft_id, Draft.job_id == job.id)
    )
    found = session.execute(rows).one_or_none() if 0 < draft_id <= LARGEST_ID else None
    if found is None:
        raise NotFound("no_such_draft", None, met=draft_id)
    draft, mark = found
    return draft, mark


def key_of(job: Job, draft: Draft, mark: str | None, *more: Hashable) -> Hashable:
    """What a draft is after its last change, with the job's reference and instrument. A version
    alone would not do: records that were restored have it again with other points."""
    if not mark:
        return None
    return (mark, draft.version, job.reference_revision_id, job.instrument_id, *more)
