"""Claim links: the adjuster's view of one job, without login, by a secret address.

The token is 256 random bits; only its SHA-256 is stored. A link expires (after the shop's usual
time unless told), can be revoked, and every opening is logged for the owner.
"""

import hashlib
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from app.documents.content import CertificateContent
from app.errors import BadInput, NotFound, Problem
from app.records.scope import across_shops, pin, scoped
from app.records.tables import Certificate, ClaimAccess, ClaimLink, Job, Shop
from app.services import audit
from app.services.lookup import by_id, job_row, names
from app.services.permissions import Actor, require
from app.services.register import (
    CertificateView,
    FileView,
    content_of,
    data_of,
    file_of,
    machine_words,
    views_of,
)
from app.services.words import line

LONGEST_DAYS = 365
SHOWN = ("valid", "superseded", "withdrawn")
HINT_LETTERS = 6
LONGEST_ADDRESS = 100


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
    last_opened_at: datetime | None


@dataclass(frozen=True, slots=True)
class AccessView:
    """One opening of a link."""

    at: datetime
    what: str
    """`viewed` or `downloaded`."""
    address: str


@dataclass(frozen=True, slots=True)
class ClaimCertificate:
    """A certificate as the adjuster sees it: its line of the register and its own words."""

    view: CertificateView
    content: CertificateContent


@dataclass(frozen=True, slots=True)
class ClaimView:
    """What the claim page shows: all issued certificates of the job, newest first."""

    job_number: str
    shop: str
    machine: str
    """Empty until there is a certificate."""
    expires_at: datetime
    certificates: tuple[ClaimCertificate, ...]
    """`valid`, `superseded` and `withdrawn` ones; each says which it is."""


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
    opened = openings_of(session, actor, row)
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


def open_link(session: Session, token: str, now: datetime, *, address: str) -> ClaimView:
    """Open the claim view (nobody is signed in) and log it; needs a writing session.

    address: where the request came from. Raises NotFound with code `claim_link_unknown`,
    `claim_link_expired` (fact `expired_at`) or `claim_link_revoked` (fact `revoked_at`).
    """
    link = opened(session, token, now, "viewed", address)
    shown = shown_certificates(session, link)
    shop = session.scalars(scoped(session, link.shop_id, Shop)).one()
    job = session.scalars(scoped(session, link.shop_id, Job).where(Job.id == link.job_id)).one()
    views = views_of(session, link.shop_id, shown)
    return ClaimView(
        job_number=job.number,
        shop=shop.name,
        machine=machine_words(data_of(shown[0])) if shown else "",
        expires_at=link.expires_at,
        certificates=tuple(
            ClaimCertificate(view, content_of(row)) for view, row in zip(views, shown, strict=True)
        ),
    )


def open_file(
    session: Session, token: str, number: str, now: datetime, *, address: str
) -> FileView:
    """The signed PDF of a certificate that the link shows, logged; raises as `open_link`."""
    link = opened(session, token, now, "downloaded", address)
    row = next((one for one in shown_certificates(session, link) if one.number == number), None)
    if row is None:
        raise NotFound("no_such_certificate", None, met=number[:40])
    return file_of(session, link.shop_id, row)


def opened(session: Session, token: str, now: datetime, what: str, address: str) -> ClaimLink:
    """The link of a token, its opening logged. Raises NotFound."""
    query = across_shops(ClaimLink).where(ClaimLink.token_hash == digest_of(token))
    link = session.scalars(query).one_or_none()
    if link is None:
        raise NotFound("claim_link_unknown")
    pin(session, link.shop_id)
    if link.revoked_at is not None:
        day = link.revoked_at.date().isoformat()
        raise NotFound("claim_link_revoked", None, revoked_at=day)
    if now >= link.expires_at:
        raise NotFound("claim_link_expired", None, expired_at=link.expires_at.date().isoformat())
    session.add(
        ClaimAccess(
            shop_id=link.shop_id,
            claim_link_id=link.id,
            at=now,
            what=what,
            address=address[:LONGEST_ADDRESS],
        )
    )
    session.flush()
    return link


def shown_certificates(session: Session, link: ClaimLink) -> list[Certificate]:
    """The certificates that a link shows, newest first."""
    query = scoped(session, link.shop_id, Certificate).where(
        Certificate.job_id == link.job_id, Certificate.status.in_(SHOWN)
    )
    if link.certificate_id is not None:
        query = query.where(Certificate.id == link.certificate_id)
    return list(session.scalars(query.order_by(Certificate.id.desc())))
