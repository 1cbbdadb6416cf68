"""Claim links: the adjuster's view of one job, without login, by a secret address.

The token is 256 random bits; only its SHA-256 is stored. A link expires (30 days unless told),
can be revoked, and every opening is logged for the owner.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from app.documents.content import CertificateContent
    from app.services.certificates import CertificateFile, CertificateView
    from app.services.permissions import Actor

VALID_DAYS = 30


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
    """`page` or `pdf`."""
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
    claim: str
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
    valid_days: int = VALID_DAYS,
) -> NewLink:
    """Make a link to the claim view of a job. Raises BadInput when not 1 to 365 days."""
    raise NotImplementedError


def links(
    session: Session, actor: Actor, now: datetime, job_number: str | None = None
) -> tuple[LinkView, ...]:
    """The links of a job, or of the shop, newest first."""
    raise NotImplementedError


def revoke(session: Session, actor: Actor, link_id: int, now: datetime) -> LinkView:
    """Revoke a link at once. Raises NotFound; revoking twice changes nothing."""
    raise NotImplementedError


def accesses(session: Session, actor: Actor, link_id: int) -> tuple[AccessView, ...]:
    """Who opened the link and when, newest first."""
    raise NotImplementedError


def open_link(session: Session, token: str, now: datetime, *, address: str) -> ClaimView:
    """Open the claim view (nobody is signed in) and log it; needs a writing session.

    address: where the request came from. Raises NotFound with code `claim_link_unknown`,
    `claim_link_expired` (fact `expired_at`) or `claim_link_revoked` (fact `revoked_at`).
    """
    raise NotImplementedError


def open_file(
    session: Session, token: str, number: str, now: datetime, *, address: str
) -> CertificateFile:
    """The signed PDF of a certificate that the link shows, logged; raises as `open_link`."""
    raise NotImplementedError
