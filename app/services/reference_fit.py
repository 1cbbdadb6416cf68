"""Whether a reference is of the machine that a job is about, by make, model and year."""

import re
from collections.abc import Sequence
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import BadInput, Fact, Problem
from app.records.scope import scoped
from app.records.tables import JobEntry
from app.services import jobs, references
from app.services.job_facts import REFERENCE_FIXED
from app.services.job_views import JobView
from app.services.lookup import open_job
from app.services.machines import MachineView
from app.services.permissions import Actor, require
from app.services.references import ReferenceView, RevisionView
from app.services.search import MOST_ROWS
from app.services.words import words
from app.wording.jobs import machine as in_words

_YEARS = re.compile(r"(\d{4})\s*(?:([-\u2013])\s*(\d{4})?)?")


def differing(machine: MachineView, reference: RevisionView) -> tuple[str, ...]:
    """In what a reference is not of this machine: `make`, `model`, `year`; nothing where it is.

    A year is held against it only where both are known and the years read as one does, such as
    `2019`, `2019-2022` or `2019-`.
    """
    names = ((machine.make, reference.make), (machine.model, reference.model))
    found = [
        code
        for code, (own, other) in zip(("make", "model"), names, strict=True)
        if _plain(own) != _plain(other or "")
    ]
    if machine.year is not None and _is_outside(machine.year, reference.years or ""):
        found.append("year")
    return tuple(found)


def candidates(
    session: Session, actor: Actor, machine: MachineView, sought: str = ""
) -> tuple[ReferenceView, ...]:
    """References that fit the search: those of the machine first, then by name.

    The order is the same whenever it is asked for.
    """
    require(actor, "references.read")
    found = references.find(session, actor, sought, limit=MOST_ROWS)
    if not sought:
        named = f"{machine.make} {machine.model}"
        own = references.find(session, actor, named, limit=MOST_ROWS)
        ids = {one.id for one in own}
        found = (*own, *(one for one in found if one.id not in ids))
    return tuple(sorted(found, key=lambda one: _distance(machine, one)))


def year_decides(machine: MachineView, found: Sequence[ReferenceView]) -> bool:
    """Whether the machine's year is not known and would choose between several of its model."""
    own = [one for one in found if not differing(machine, one.latest)]
    return machine.year is None and len(own) > 1


def choose(
    session: Session,
    actor: Actor,
    number: str,
    reference_id: int,
    because: str,
    now: datetime,
    revision: int | None = None,
) -> JobView:
    """Fixes a revision, the latest unless told; of another machine with the reason why it holds.

    Raises BadInput `reference_of_another` without such a reason, and as `jobs.fix_reference` does.
    """
    require(actor, "jobs.choose_reference")
    open_job(session, actor, number)
    job = jobs.read(session, actor, number)
    named = references.read(session, actor, reference_id).name
    chosen = references.read_revision(session, actor, reference_id, revision)
    standing = job.reference is not None and job.reference.id == chosen.id
    if not differing(job.machine, chosen):
        return jobs.fix_reference(session, actor, number, reference_id, now, revision)
    if not because and not standing:
        machine = in_words(job.machine.make, job.machine.model, job.machine.year)
        facts: dict[str, Fact] = {"met": named, "machine": machine}
        raise BadInput([Problem("reference_of_another", "because", facts)], "reference_of_another")
    why = words(because, "because") if because else ""
    return jobs.fix_reference(session, actor, number, reference_id, now, revision, why)


def why_another(session: Session, actor: Actor, job: JobView) -> str | None:
    """Why the job's reference is not of its machine: empty where no reason was given, None where
    it is of this machine."""
    require(actor, "jobs.read")
    if job.reference is None or not differing(job.machine, job.reference):
        return None
    rows = scoped(session, actor, JobEntry).where(
        JobEntry.job_id == job.id, JobEntry.kind == REFERENCE_FIXED
    )
    newest = session.scalars(rows.order_by(JobEntry.id.desc())).first()
    return newest.words if newest else ""


def _plain(text: str) -> str:
    return " ".join(text.split()).casefold()


def _is_outside(year: int, years: str) -> bool:
    read = _YEARS.fullmatch(years.strip())
    if read is None:
        return False
    first, dash, last = read.groups()
    return year < int(first) or year > int(last or (9999 if dash else first))


def _distance(machine: MachineView, one: ReferenceView) -> int:
    """0 for one of this machine, 1 for one of other years, 2 for one of another machine."""
    other = differing(machine, one.latest)
    return 0 if not other else 1 if other == ("year",) else 2
