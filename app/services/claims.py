"""Claim links: the adjuster's view of one job, without login, by a secret address.

The token is 256 random bits; only its SHA-256 is stored. A link expires (after the shop's usual
time unless told), can be revoked, and every opening is logged for the owner. What opens behind
a link stands in `claim_opening`.
"""

import hashlib
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from app.errors import BadInput, Problem
from app.records.scope import scoped
from app.records.tables import ClaimAccess, ClaimLink, Job, Shop
from app.services import audit
from app.services.lookup import by_id, job_row, names
from app.services.permissions import Actor, require
from app.services.words import line

LONGEST_DAYS = 365
HINT_LETTERS = 6
REFUSED = "refused"


@dataclass(frozen=True, slots=True)
class NewLink:
    """A link just made; the token is shown once and cannot be shown again."""

    id: int
    token: str
    job_number: str
    expires_at: datetime


@dataclass(frozen=True, slots=True)
class LinkView:
    id: int
    job_number: str
    note: str
    """For whom it was made."""
    hint: str
    """The first letters of the token, to tell links apart."""
    created_at: datetime
    created_by: str
    expires_at: datetime
    revoked_at: datetime | None
    state: str
    """`open`, `expired`, `revoked`."""
    openings: int
    refused: int
    """How often it was tried after its end."""
    last_opened_at: datetime | None


@dataclass(frozen=True, slots=True)
class AccessView:
    """One opening of a link, or a try after its end."""

    at: datetime
    what: str
    """`viewed`, `downloaded` or `refused`."""
    address: str


def create_link(
    session: Session,
    actor: Actor,
    job_number: str,
    now: datetime,
    *,
    note: str = "",
    valid_days: int | None = None,
) -> NewLink:
    """Make a link to the claim view of a job, for the shop's usual number of days unless told.

    Raises NotFound; BadInput (`too_small`, `too_large`) unless 1 to 365 days.
    """
    require(actor, "claim_links.write")
    job = job_row(session, actor, job_number)
    days = usual_days(session, actor) if valid_days is None else valid_days
    if not 1 <= days <= LONGEST_DAYS:
        code, limit = ("too_small", 1) if days < 1 else ("too_large", LONGEST_DAYS)
        raise BadInput([Problem(code, "valid_days", {"met": days, "limit": limit})])
    token = secrets.token_urlsafe(32)
    row = ClaimLink(
        shop_id=actor.shop_id,
        job_id=job.id,
        token_hash=digest_of(token),
        hint=token[:HINT_LETTERS],
        recipient=line(note, "note") if note.strip() else "",
        created_by_id=actor.person_id,
        created_at=now,
        expires_at=now + timedelta(days=days),
    )
    session.add(row)
    session.flush()
    said: dict[str, audit.Value] = {"link": row.id, "days": days}
    audit.record(session, actor, "claim_link.created", f"job:{job_number}", now, said)
    return NewLink(row.id, token, job_number, row.expires_at)


def usual_days(session: Session, actor: Actor) -> int:
    """For how many days the shop's links are open."""
    return session.scalars(scoped(session, actor, Shop)).one().claim_link_days


def digest_of(token: str) -> str:
    """What is stored of a token."""
    return hashlib.sha256(token.encode()).hexdigest()


def links(
    session: Session, actor: Actor, now: datetime, job_number: str | None = None
) -> tuple[LinkView, ...]:
    """The links of a job, or of the shop, newest first."""
    require(actor, "claim_links.read")
    query = scoped(session, actor, ClaimLink)
    if job_number is not None:
        query = query.where(ClaimLink.job_id == job_row(session, actor, job_number).id)
    rows = session.scalars(query.order_by(ClaimLink.id.desc())).all()
    people = names(session, actor, [row.created_by_id for row in rows])
    return tuple(view_of(session, actor, row, people, now) for row in rows)


def view_of(
    session: Session,
    actor: Actor,
    row: ClaimLink,
    people: Mapping[int | None, str],
    now: datetime,
) -> LinkView:
    """A link as the shop sees it."""
    job = by_id(session, actor, Job, row.job_id, "no_such_job")
    tried = openings_of(session, actor, row)
    opened = [one for one in tried if one.what != REFUSED]
    return LinkView(
        id=row.id,
        job_number=job.number,
        note=row.recipient,
        hint=row.hint,
        created_at=row.created_at,
        created_by=people.get(row.created_by_id, ""),
        expires_at=row.expires_at,
        revoked_at=row.revoked_at,
        state=state_of(row, now),
        openings=len(opened),
        refused=len(tried) - len(opened),
        last_opened_at=opened[0].at if opened else None,
    )


def state_of(row: ClaimLink, now: datetime) -> str:
    """`open`, `expired`, `revoked`."""
    if row.revoked_at is not None:
        return "revoked"
    return "expired" if now >= row.expires_at else "open"


def openings_of(session: Session, actor: Actor, row: ClaimLink) -> tuple[AccessView, ...]:
    """The openings of a link, newest first."""
    rows = scoped(session, actor, ClaimAccess).where(ClaimAccess.claim_link_id == row.id)
    found = session.scalars(rows.order_by(ClaimAccess.id.desc()))
    return tuple(AccessView(one.at, one.what, one.address) for one in found)


def revoke(session: Session, actor: Actor, link_id: int, now: datetime) -> LinkView:
    """Revoke a link at once. Raises NotFound; revoking twice changes nothing."""
    require(actor, "claim_links.write")
    row = by_id(session, actor, ClaimLink, link_id, "no_such_claim_link")
    if row.revoked_at is None:
        row.revoked_at, row.revoked_by_id = now, actor.person_id
        session.flush()
        subject = f"claim_link:{row.id}"
        audit.record(session, actor, "claim_link.revoked", subject, now)
    people = names(session, actor, [row.created_by_id])
    return view_of(session, actor, row, people, now)


def accesses(session: Session, actor: Actor, link_id: int) -> tuple[AccessView, ...]:
    """Who opened the link and when, newest first. Raises NotFound."""
    require(actor, "claim_links.read")
    return openings_of(
        session, actor, by_id(session, actor, ClaimLink, link_id, "no_such_claim_link")
    )
