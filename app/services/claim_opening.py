"""Opening a claim link: what the adjuster sees, and the log of who opened it.

Nobody is signed in. Each takes the `Database`: a try is counted and an opening written down in a
short unit of its own, so that both stay on record when the link is refused.
"""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.documents.content import CertificateContent
from app.errors import NotFound
from app.records.scope import across_shops, pin, scoped
from app.records.session import Database
from app.records.tables import Certificate, ClaimAccess, ClaimLink, Job, Shop
from app.services import throttle
from app.services.claims import REFUSED, digest_of, state_of
from app.services.people import only_shop
from app.services.register import (
    CertificateView,
    FileView,
    content_of,
    data_of,
    file_of,
    machine_words,
    views_of,
)

SHOWN = ("valid", "superseded", "withdrawn")
LONGEST_ADDRESS = 100


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


def open_link(database: Database, token: str, now: datetime, *, address: str) -> ClaimView:
    """Open the claim view and log it; a link that has ended is logged as refused.

    address: where the request came from. Raises NotFound with code `claim_link_unknown`,
    `claim_link_expired` (fact `expired_at`) or `claim_link_revoked` (fact `revoked_at`);
    TooManyTries after many that led nowhere.
    """
    link_id = admitted(database, token, now, "viewed", address)
    with database.read() as session:
        link = link_of(session, token, link_id)
        return view_of(session, link)


def open_file(
    database: Database, token: str, number: str, now: datetime, *, address: str
) -> FileView:
    """The signed PDF of a certificate that the link shows, logged; raises as `open_link`."""
    link_id = admitted(database, token, now, "downloaded", address)
    with database.read() as session:
        link = link_of(session, token, link_id)
        shown = shown_certificates(session, link)
        row = next((one for one in shown if one.number == number), None)
        if row is None:
            raise NotFound("no_such_certificate", None, met=number[:40])
        return file_of(session, link.shop_id, row)


def admitted(database: Database, token: str, now: datetime, what: str, address: str) -> int:
    """The id of the link, its opening logged. Raises NotFound after the try was written down."""
    client = throttle.network_of(address)
    with database.write() as session:
        shop_id = only_shop(session)
        throttle.count_try(session, shop_id, "claim", client, now)
        link = found(session, token)
        against = against_opening(link, now)
        if link is not None:
            log(session, link, now, REFUSED if against else what, address)
        if link is not None and against is None:
            throttle.give_back(session, shop_id, "claim", client)
            return link.id
    assert against is not None
    raise against


def against_opening(link: ClaimLink | None, now: datetime) -> NotFound | None:
    """Why the link opens nothing; None when it is open."""
    if link is None:
        return NotFound("claim_link_unknown")
    state = state_of(link, now)
    if state == "revoked" and link.revoked_at is not None:
        day = link.revoked_at.date().isoformat()
        return NotFound("claim_link_revoked", None, revoked_at=day)
    if state == "expired":
        return NotFound("claim_link_expired", None, expired_at=link.expires_at.date().isoformat())
    return None


def found(session: Session, token: str) -> ClaimLink | None:
    """The link of a token, whatever its state."""
    query = across_shops(ClaimLink).where(ClaimLink.token_hash == digest_of(token))
    link = session.scalars(query).one_or_none()
    if link is not None:
        pin(session, link.shop_id)
    return link


def link_of(session: Session, token: str, link_id: int) -> ClaimLink:
    """The link that was admitted, in another session."""
    link = found(session, token)
    if link is None or link.id != link_id:
        raise NotFound("claim_link_unknown")
    return link


def log(session: Session, link: ClaimLink, now: datetime, what: str, address: str) -> None:
    """Write down that the link was used."""
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


def view_of(session: Session, link: ClaimLink) -> ClaimView:
    """What an open link shows."""
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


def shown_certificates(session: Session, link: ClaimLink) -> list[Certificate]:
    """The certificates that a link shows, newest first."""
    query = scoped(session, link.shop_id, Certificate).where(
        Certificate.job_id == link.job_id, Certificate.status.in_(SHOWN)
    )
    if link.certificate_id is not None:
        query = query.where(Certificate.id == link.certificate_id)
    return list(session.scalars(query.order_by(Certificate.id.desc())))
