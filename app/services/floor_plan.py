"""The plan of a draft, worked out once for each of its versions and remembered for a while."""

from collections import OrderedDict
from collections.abc import Callable
from threading import Lock

from app.records.tables import Draft, Job
from app.schemas.planning import PlanOut

MOST_REMEMBERED = 64
Key = tuple[int, int, int, int | None, int | None]

_remembered: OrderedDict[Key, PlanOut] = OrderedDict()
_lock = Lock()


def worked_out(job: Job, draft: Draft, work: Callable[[], PlanOut]) -> PlanOut:
    """The plan of this version; asked for only where nobody asked before."""
    found = known(job, draft)
    if found is not None:
        return found
    made = work()
    with _lock:
        _remembered[_key(job, draft)] = made
        while len(_remembered) > MOST_REMEMBERED:
            _remembered.popitem(last=False)
    return made


def known(job: Job, draft: Draft) -> PlanOut | None:
    """The plan of this version where it was worked out already."""
    with _lock:
        return _remembered.get(_key(job, draft))


def _key(job: Job, draft: Draft) -> Key:
    return (job.shop_id, draft.id, draft.version, job.reference_revision_id, job.instrument_id)
