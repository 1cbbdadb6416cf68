"""Marks of the event log, such as `person:3`, as names that stand on record now.

The log names nobody by name; whoever was erased since has none any more.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from typing import Any

from sqlalchemy.orm import Session

from app.records.scope import scoped
from app.records.tables import (
    ApiToken,
    Certificate,
    CheckBar,
    ClaimLink,
    Customer,
    Instrument,
    Insurer,
    Job,
    Machine,
    Person,
    Photo,
    Reference,
    ShopRecord,
    Tablet,
)
from app.services.lookup import LARGEST_ID
from app.services.permissions import Actor

_KINDS: Mapping[str, tuple[type[ShopRecord], Callable[[Any], str]]] = {
    "person": (Person, lambda row: row.name),
    "token": (ApiToken, lambda row: row.name),
    "tablet": (Tablet, lambda row: row.name),
    "customer": (Customer, lambda row: row.name),
    "insurer": (Insurer, lambda row: row.name),
    "instrument": (Instrument, lambda row: row.name),
    "check_bar": (CheckBar, lambda row: row.name),
    "claim_link": (ClaimLink, lambda row: row.recipient),
    "reference": (Reference, lambda row: f"{row.make} {row.model}"),
    "machine": (Machine, lambda row: f"{row.make} {row.model}, {row.frame_number}"),
}
NAMED = frozenset(_KINDS)
"""Kinds of marks that stand for a row with a name."""


def names_of(session: Session, actor: Actor, marks: Iterable[str]) -> dict[str, str]:
    """The names of those marks that stand for a row with a name; empty where it was erased."""
    wanted: dict[str, set[int]] = defaultdict(set)
    for kind, identity in map(_parts, marks):
        if kind in NAMED and identity:
            wanted[kind].add(identity)
    found = {}
    for kind, ids in wanted.items():
        model, told = _KINDS[kind]
        for row in session.scalars(scoped(session, actor, model).where(model.id.in_(ids))):
            found[f"{kind}:{row.id}"] = told(row)
    return found


def jobs_of(session: Session, actor: Actor, marks: Iterable[str]) -> dict[str, str]:
    """Numbers of the jobs that these marks belong to, by mark."""
    every = set(marks)
    found = {mark: mark.partition(":")[2] for mark in every if mark.startswith("job:")}
    numbers = {mark.partition(":")[2] for mark in every if mark.startswith("certificate:")}
    of_certificates = scoped(session, actor, Certificate).where(Certificate.number.in_(numbers))
    rows: dict[str, int | None] = {
        f"certificate:{row.number}": row.job_id for row in session.scalars(of_certificates)
    }
    for kind, model in (("claim_link", ClaimLink), ("photo", Photo)):
        ids = {identity for one, identity in map(_parts, every) if one == kind}
        each = scoped(session, actor, model).where(model.id.in_(ids))
        job_ids = each.with_only_columns(model.id, model.job_id)
        rows |= {f"{kind}:{row_id}": job_id for row_id, job_id in session.execute(job_ids)}
    jobs = scoped(session, actor, Job).where(Job.id.in_({one for one in rows.values() if one}))
    called = {job.id: job.number for job in session.scalars(jobs)}
    return found | {mark: called[job] for mark, job in rows.items() if job in called}


def marks_of_job(session: Session, actor: Actor, number: str) -> list[str]:
    """Every mark by which an event speaks of this job: its own, its certificates, its links and
    its photos. Its own alone where there is no such job."""
    marks = [f"job:{number}"]
    job = session.scalars(scoped(session, actor, Job).where(Job.number == number)).one_or_none()
    if job is None:
        return marks
    of_it = scoped(session, actor, Certificate).where(Certificate.job_id == job.id)
    numbers = session.scalars(of_it.with_only_columns(Certificate.number))
    marks += [f"certificate:{one}" for one in numbers]
    for kind, model in (("claim_link", ClaimLink), ("photo", Photo)):
        rows = scoped(session, actor, model).where(model.job_id == job.id)
        ids = session.scalars(rows.with_only_columns(model.id))
        marks += [f"{kind}:{identity}" for identity in ids]
    return marks


def _parts(mark: str) -> tuple[str, int]:
    """Kind and id of a mark; 0 where what follows the colon is no id."""
    kind, _colon, rest = mark.partition(":")
    sound = rest.isascii() and rest.isdecimal() and len(rest) <= len(str(LARGEST_ID))
    identity = int(rest) if sound else 0
    return kind, identity if identity <= LARGEST_ID else 0
