"""Links to all claims of one insurer, and the list behind them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import NotFound
from app.records.scope import OfShop, scoped
from app.records.tables import (
    Certificate,
    Claim,
    ClaimLink,
    Insurer,
    Job,
    JobEntry,
    Machine,
    Shop,
)
from app.services import audit, claims, insurers
from app.services.claims import LinkView, Target
from app.services.distrusted_signers import Marked, marked, standing
from app.services.lookup import CANCELLED, CLOSING, GIVEN_BACK, by_id
from app.services.permissions import Actor, require
from app.services.photo_sharing import shared_counts
from app.services.register import data_of

ISSUED = ("valid", "superseded", "withdrawn")
MOST_LISTED = 500


@dataclass(frozen=True, slots=True)
class NewInsurerLink:
    """A link just made; the token is shown once and cannot be shown again."""

    id: int
    token: str
    insurer: str
    expires_at: datetime


@dataclass(frozen=True, slots=True)
class InsurerClaim:
    """One line of the list: a job of the insurer's, with its newest certificate."""

    job_number: str
    claim_number: str
    machine: str
    received_at: datetime
    certificate: str | None
    kind: str | None
    status: str | None
    """`valid`, `superseded`, `withdrawn`; None before the first certificate."""
    status_since: datetime | None
    finding: str | None
    """What that certificate says was found, whatever became of it."""
    cancelled: bool
    photos: int
    """How many go with it, and are shown with its certificate."""


@dataclass(frozen=True, slots=True)
class InsurerClaims:
    """All claims of one insurer, newest first."""

    shop: str
    phone: str
    email: str
    """By which the shop is asked; each empty where none is on record."""
    insurer: str
    expires_at: datetime
    claims: tuple[InsurerClaim, ...]
    more: bool
    """There are older ones, which are not listed."""


def create_link(
    session: Session,
    actor: Actor,
    insurer_id: int,
    now: datetime,
    *,
    note: str,
    valid_days: int | None = None,
    token: str | None = None,
) -> NewInsurerLink:
    """Make a link to all claims of an insurer, those to come included, until it ends.

    token: as for a link to one job. Raises NotFound `no_such_insurer`; BadInput as there.
    """
    require(actor, "insurer_links.write")
    insurer = insurers.insurer_row(session, actor, insurer_id)
    row, token = claims.made(
        session, actor, Target(insurer_id=insurer.id), now, note, valid_days, token
    )
    said = claims.created(row, now)
    audit.record(session, actor, "claim_link.created", f"insurer:{insurer.id}", now, said)
    return NewInsurerLink(row.id, token, insurer.name, row.expires_at)


def revoke(
    session: Session, actor: Actor, insurer_id: int, link_id: int, now: datetime
) -> LinkView:
    """Revoke a link to the insurer's claims at once. Raises NotFound."""
    require(actor, "insurer_links.write")
    row = by_id(session, actor, ClaimLink, link_id, "no_such_claim_link")
    if row.insurer_id != insurer_id:
        raise NotFound("no_such_claim_link", None, met=link_id)
    return claims.ended(session, actor, row, now)


def revoke_any(session: Session, actor: Actor, link_id: int, now: datetime) -> LinkView:
    """Revoke a link at once, whatever it leads to; who may is as for each of them.

    Raises NotFound `no_such_claim_link`.
    """
    require(actor, "claim_links.write")
    row = by_id(session, actor, ClaimLink, link_id, "no_such_claim_link")
    if row.insurer_id is None:
        return claims.revoke(session, actor, link_id, now)
    return revoke(session, actor, row.insurer_id, link_id, now)


def job_of(session: Session, shop: OfShop | int, link: ClaimLink, number: str) -> Job:
    """The job of this number among the insurer's. Raises NotFound `no_such_job`, the same for
    jobs of others and for none at all."""
    query = scoped(session, shop, Job).join(Claim, Claim.id == Job.claim_id)
    wanted = query.where(Job.number == number, Claim.insurer_id == link.insurer_id)
    job = session.scalars(wanted).one_or_none() if link.insurer_id is not None else None
    if job is None:
        raise NotFound("no_such_job", None, met=number[:40])
    return job


def list_of(session: Session, link: ClaimLink, shop: Shop) -> InsurerClaims:
    """What an open link to an insurer's claims shows."""
    insurers_rows = scoped(session, link.shop_id, Insurer).where(Insurer.id == link.insurer_id)
    insurer = session.scalars(insurers_rows).one()
    query = (
        scoped(session, link.shop_id, Job)
        .join(Claim, Claim.id == Job.claim_id)
        .where(Claim.insurer_id == insurer.id)
        .order_by(Job.id.desc())
        .limit(MOST_LISTED + 1)
    )
    jobs = session.scalars(query).all()
    return InsurerClaims(
        shop=shop.name,
        phone=shop.phone,
        email=shop.email,
        insurer=insurer.name,
        expires_at=link.expires_at,
        claims=lines_of(session, link.shop_id, jobs[:MOST_LISTED]),
        more=len(jobs) > MOST_LISTED,
    )


@dataclass(frozen=True, slots=True)
class Beside:
    """What stands beside the jobs, by id."""

    claims: Mapping[int, str]
    machines: Mapping[int, Machine]
    newest: Mapping[int, Certificate]
    distrusted: Mapping[str, Marked]
    """Signers that are trusted no more, by their fingerprints."""
    closed: Mapping[int, str]
    photos: Mapping[int, int]
    """How many photos go with each job's claim."""


def lines_of(session: Session, shop: OfShop | int, jobs: Sequence[Job]) -> tuple[InsurerClaim, ...]:
    """The list, with a handful of queries however long it is."""
    ids = [job.id for job in jobs]
    of_claims = scoped(session, shop, Claim).where(Claim.id.in_([job.claim_id for job in jobs]))
    machines = scoped(session, shop, Machine).where(
        Machine.id.in_([job.machine_id for job in jobs])
    )
    certificates = scoped(session, shop, Certificate).where(
        Certificate.job_id.in_(ids), Certificate.status.in_(ISSUED)
    )
    entries = scoped(session, shop, JobEntry).where(
        JobEntry.job_id.in_(ids), JobEntry.kind.in_(CLOSING)
    )
    beside = Beside(
        claims={one.id: one.claim_number for one in session.scalars(of_claims)},
        machines={one.id: one for one in session.scalars(machines)},
        # The last of each job stays: rows come in the order of their ids.
        newest={o.job_id: o for o in session.scalars(certificates.order_by(Certificate.id))},
        distrusted=marked(session, shop),
        closed={o.job_id: o.kind for o in session.scalars(entries.order_by(JobEntry.id))},
        photos=shared_counts(session, shop, ids),
    )
    return tuple(line_of(job, beside) for job in jobs)


def line_of(job: Job, beside: Beside) -> InsurerClaim:
    """One job of the list."""
    newest, machine = beside.newest.get(job.id), beside.machines[job.machine_id]
    status, since = standing(newest, beside.distrusted) if newest else (None, None)
    return InsurerClaim(
        job_number=job.number,
        claim_number=beside.claims.get(job.claim_id or 0, ""),
        machine=f"{machine.make} {machine.model}, {machine.frame_number}",
        received_at=job.received_at,
        certificate=newest.number if newest else None,
        kind=newest.kind if newest else None,
        status=status,
        status_since=since,
        finding=str(data_of(newest).get("finding", "")) or None if newest else None,
        cancelled=beside.closed.get(job.id) in (CANCELLED, GIVEN_BACK),
        photos=beside.photos.get(job.id, 0) if newest else 0,
    )
