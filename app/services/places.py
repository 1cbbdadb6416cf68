"""Which machine stands where, by the records. A place that is taken is told, and never refused:
some hold two machines."""

from collections import defaultdict
from collections.abc import Mapping

from sqlalchemy.orm import Session

from app.records.scope import scoped
from app.records.tables import Job
from app.services.job_search import Asked
from app.services.job_views import JobView
from app.services.lookup import closing_entry, stands_here
from app.services.permissions import Actor, require

LATELY = 20
"""Jobs at a place, the newest: who came before them has left."""


def taken(session: Session, actor: Actor) -> Mapping[str, tuple[str, ...]]:
    """By the place in small letters, the numbers of the jobs whose machines stand there."""
    require(actor, "jobs.read")
    found: dict[str, list[str]] = defaultdict(list)
    for job in Asked(session, actor, "", None).open_ones():
        if job.storage_place:
            found[job.storage_place.casefold()].append(job.number)
    return {place: tuple(sorted(numbers)) for place, numbers in found.items()}


def neighbours(session: Session, actor: Actor, job: JobView) -> tuple[str, ...]:
    """The other jobs whose machines stand at the place of this one, while it stands there."""
    require(actor, "jobs.read")
    if not job.storage_place or (job.closed and not job.still_here):
        return ()
    rows = scoped(session, actor, Job).where(
        Job.storage_place == job.storage_place, Job.number != job.number
    )
    lately = session.scalars(rows.order_by(Job.id.desc()).limit(LATELY)).all()
    here = (one.number for one in lately if stands_here(closing_entry(session, actor, one)))
    return tuple(sorted(here))
