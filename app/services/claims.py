"""Claim links: the adjuster's view of one job, without login, by a secret address.

The token is 256 random bits; only its SHA-256 is stored. A link expires (after the shop's usual
time unless told), can be revoked, and every use is logged for the owner (`claim_access`). What
opens behind a link stands in `claim_opening`; links to all claims of an insurer are made in
`insurer_links`.
"""

import hashlib
import secrets
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from app.errors import BadInput, NotFound, Problem
from app.records.scope import scoped
from app.records.tables import ClaimAccess, ClaimLink, Insurer, Job, Shop
from app.services import audit
from app.services.lookup import by_id, job_row, names
from app.services.permissions import Actor, require
from app.services.words import line

LONGEST_DAYS = 365
HINT_LETTERS = 6
REFUSED = "refused"
PAGES = ("viewed", "listed")
"""What the log calls the page of a job, and the list of an insurer's claims."""
MOST_SHOWN = 500
"""Uses of links on one page."""


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
    """Empty for a link to all claims of an insurer."""
    insurer: str
    """Whose claims it lists; empty for a link to one job."""
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
    """How often its page or list was opened, as far back as uses are kept."""
    fetched: int
    """How many files and single photos were fetched."""
    refused: int
    """How often it was tried after its end."""
    last_opened_at: datetime | None
    insurer_id: int | None = None


@dataclass(frozen=True, slots=True)
class AccessView:
    """One use of a link, or a try after its end."""

    at: datetime
    what: str
    """`viewed`, `listed`, `photo`, `downloaded`, `data`, `bundle`, `refused`."""
    address: str
    """The network that it came from."""
    subject: str = ""
    """Number of the job or certificate, or the photo, that was asked for."""
    link_id: int = 0


@dataclass(frozen=True, slots=True)
class Target:
    """What a link opens: one job, or all claims of an insurer."""

    job_id: int | None = None
    insurer_id: int | None = None


def create_link(
    session: Session,
    actor: Actor,
    job_number: str,
    now: datetime,
    *,
    note: str,
    valid_days: int | None = None,
    token: str | None = None,
) -> NewLink:
    """Make a link to the claim view of a job, for the shop's usual number of days unless told.

    note: for whom it is. token: the secret of its address, for callers that must know it again;
    else it is drawn. Raises NotFound; BadInput: `link_for_nobody` without a note, `too_small` and
    `too_large` unless 1 to 365 days.
    """
    require(actor, "claim_links.write")
    target = Target(job_id=job_row(session, actor, job_number).id)
    row, token = made(session, actor, target, now, note, valid_days, token)
    said = created(row, now)
    audit.record(session, actor, "claim_link.created", f"job:{job_number}", now, said)
    return NewLink(row.id, token, job_number, row.expires_at)


def made(
    session: Session,
    actor: Actor,
    target: Target,
    now: datetime,
    note: str,
    valid_days: int | None,
    token: str | None = None,
) -> tuple[ClaimLink, str]:
    """The row of a new link, and its token. Raises BadInput."""
    days = usual_days(session, actor) if valid_days is None else valid_days
    if problems := [*against_recipient(note), *against_days(days)]:
        raise BadInput(problems)
    token = token or secrets.token_urlsafe(32)
    row = ClaimLink(
        shop_id=actor.shop_id,
        job_id=target.job_id,
        insurer_id=target.insurer_id,
        token_hash=digest_of(token),
        hint=token[:HINT_LETTERS],
        recipient=line(note, "note"),
        created_by_id=actor.person_id,
        created_at=now,
        expires_at=now + timedelta(days=days),
    )
    session.add(row)
    session.flush()
    return row, token


def against_recipient(note: str) -> Iterator[Problem]:
    """A link that nobody is named for could not be told apart from others later."""
    if not note.strip():
        yield Problem("link_for_nobody", "note")


def against_days(days: int) -> Iterator[Problem]:
    """For how long a link may be open."""
    if not 1 <= days <= LONGEST_DAYS:
        code, limit = ("too_small", 1) if days < 1 else ("too_large", LONGEST_DAYS)
        yield Problem(code, "valid_days", {"met": days, "limit": limit})


def created(row: ClaimLink, now: datetime) -> dict[str, audit.Value]:
    """What the event of a new link says."""
    return {"link": row.id, "days": (row.expires_at - now).days}


def usual_days(session: Session, actor: Actor) -> int:
    """For how many days the shop's links are open."""
    return session.scalars(scoped(session, actor, Shop)).one().claim_link_days


def digest_of(token: str) -> str:
    """What is stored of a token."""
    return hashlib.sha256(token.encode()).hexdigest()


def links(
    session: Session,
    actor: Actor,
    now: datetime,
    job_number: str | None = None,
    insurer_id: int | None = None,
) -> tuple[LinkView, ...]:
    """The links of a job, to an insurer's claims, or all of the shop, newest first.

    Those of a job are seen by all who may make and revoke them.
    """
    require(actor, "claim_links.read" if job_number is None else "claim_links.write")
    query = scoped(session, actor, ClaimLink)
    if job_number is not None:
        query = query.where(ClaimLink.job_id == job_row(session, actor, job_number).id)
    if insurer_id is not None:
        query = query.where(ClaimLink.insurer_id == insurer_id)
    return views_of(session, actor, session.scalars(query.order_by(ClaimLink.id.desc())).all(), now)


def link(session: Session, actor: Actor, link_id: int, now: datetime) -> LinkView:
    """One link. Raises NotFound `no_such_claim_link`."""
    require(actor, "claim_links.read")
    row = by_id(session, actor, ClaimLink, link_id, "no_such_claim_link")
    return views_of(session, actor, [row], now)[0]


@dataclass(frozen=True, slots=True)
class Known:
    """What links point to, by id, and how they were used."""

    jobs: Mapping[int, str]
    insurers: Mapping[int, str]
    people: Mapping[int | None, str]
    uses: Mapping[int, Sequence[ClaimAccess]]


def views_of(
    session: Session, actor: Actor, rows: Sequence[ClaimLink], now: datetime
) -> tuple[LinkView, ...]:
    """Links as the shop sees them, with a handful of queries however many they are."""
    jobs = scoped(session, actor, Job).where(Job.id.in_({row.job_id for row in rows}))
    ids = {row.insurer_id for row in rows}
    insurers = scoped(session, actor, Insurer).where(Insurer.id.in_(ids))
    known = Known(
        jobs={one.id: one.number for one in session.scalars(jobs)},
        insurers={one.id: one.name for one in session.scalars(insurers)},
        people=names(session, actor, [row.created_by_id for row in rows]),
        uses=uses_of(session, actor, [row.id for row in rows]),
    )
    return tuple(view_of(row, known, now) for row in rows)


def uses_of(session: Session, actor: Actor, ids: Iterable[int]) -> dict[int, list[ClaimAccess]]:
    """The uses of links by their ids, newest first."""
    found: dict[int, list[ClaimAccess]] = {one: [] for one in ids}
    rows = scoped(session, actor, ClaimAccess).where(ClaimAccess.claim_link_id.in_(found))
    for row in session.scalars(rows.order_by(ClaimAccess.id.desc())):
        found[row.claim_link_id].append(row)
    return found


def view_of(row: ClaimLink, known: Known, now: datetime) -> LinkView:
    """A link as the shop sees it."""
    tried = known.uses[row.id]
    opened = [one for one in tried if one.what in PAGES]
    refused = sum(one.what == REFUSED for one in tried)
    return LinkView(
        id=row.id,
        job_number=known.jobs.get(row.job_id or 0, ""),
        insurer=known.insurers.get(row.insurer_id or 0, ""),
        note=row.recipient,
        hint=row.hint,
        created_at=row.created_at,
        created_by=known.people.get(row.created_by_id, ""),
        expires_at=row.expires_at,
        revoked_at=row.revoked_at,
        state=state_of(row, now),
        openings=len(opened),
        fetched=len(tried) - len(opened) - refused,
        refused=refused,
        last_opened_at=opened[0].at if opened else None,
        insurer_id=row.insurer_id,
    )


def state_of(row: ClaimLink, now: datetime) -> str:
    """`open`, `expired`, `revoked`."""
    if row.revoked_at is not None:
        return "revoked"
    return "expired" if now >= row.expires_at else "open"


def revoke(session: Session, actor: Actor, link_id: int, now: datetime) -> LinkView:
    """Revoke the link to a job at once. Raises NotFound; revoking twice changes nothing."""
    require(actor, "claim_links.write")
    row = by_id(session, actor, ClaimLink, link_id, "no_such_claim_link")
    if row.job_id is None:
        raise NotFound("no_such_claim_link", None, met=link_id)
    return ended(session, actor, row, now)


def ended(session: Session, actor: Actor, row: ClaimLink, now: datetime) -> LinkView:
    """The link, dead from now on."""
    if row.revoked_at is None:
        row.revoked_at, row.revoked_by_id = now, actor.person_id
        session.flush()
        audit.record(session, actor, "claim_link.revoked", f"claim_link:{row.id}", now)
    return views_of(session, actor, [row], now)[0]


def accesses(
    session: Session,
    actor: Actor,
    link_id: int | None = None,
    limit: int = MOST_SHOWN,
    offset: int = 0,
) -> tuple[AccessView, ...]:
    """Who used a link and when, newest first; without an id the newest uses of all links.

    Raises NotFound `no_such_claim_link`.
    """
    require(actor, "claim_links.read")
    rows = scoped(session, actor, ClaimAccess)
    if link_id is not None:
        row = by_id(session, actor, ClaimLink, link_id, "no_such_claim_link")
        rows = rows.where(ClaimAccess.claim_link_id == row.id)
    found = session.scalars(rows.order_by(ClaimAccess.id.desc()).limit(limit).offset(offset))
    return tuple(
        AccessView(one.at, one.what, one.address, one.subject, one.claim_link_id) for one in found
    )
