"""Opening a claim link: what an adjuster sees behind it. Nobody is signed in.

A link leads to one job, or to the list of an insurer's claims and from there to each of them.
Every use passes through `claim_access.admitted`, which lets in, slows down and writes down.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from app.documents.content import CertificateContent, Line
from app.errors import NotFound
from app.records.scope import scoped
from app.records.session import Database
from app.records.tables import Certificate, Claim, ClaimLink, Job, Shop
from app.services.bundles import Bundle, bundle_of
from app.services.certificate_visual_check import closed_since
from app.services.claim_access import Asked, admitted, link_of
from app.services.insurer_links import ISSUED, InsurerClaims, job_of, list_of
from app.services.photo_sharing import SharedPhoto, shared_of
from app.services.photos_signed import Signed, of_certificate
from app.services.press import Press
from app.services.register import (
    CertificateView,
    FileView,
    content_of,
    data_of,
    file_of,
    machine_words,
    views_of,
)
from app.services.visual_checks import HoldView, holds_of
from app.wording import jobs as words


@dataclass(frozen=True, slots=True)
class ClaimCertificate:
    """A certificate as the adjuster sees it: its line of the register and its own words."""

    view: CertificateView
    content: CertificateContent
    required_missing: bool
    """Whether something that is required was not measured."""
    holds: tuple[Line, ...]
    """In its own words, and what became since of those that were open then."""


@dataclass(frozen=True, slots=True)
class ClaimView:
    """What the claim page shows: all issued certificates of the job, newest first."""

    job_number: str
    claim_number: str
    shop: str
    phone: str
    email: str
    """By which the shop is asked; each empty where none is on record."""
    machine: str
    """Empty until there is a certificate."""
    expires_at: datetime
    certificates: tuple[ClaimCertificate, ...]
    """`valid`, `superseded` and `withdrawn` ones; each says which it is."""
    photos: tuple[SharedPhoto, ...]
    """Those that the shop has chosen for the claim."""
    signed: Signed | None
    """The newest certificate, and which of the photos it does not show."""
    in_list: bool
    """Opened from the list of an insurer's claims."""


@dataclass(frozen=True, slots=True)
class DataView:
    """The data that a certificate carries, byte for byte."""

    filename: str
    content: bytes


def open_link(
    database: Database, token: str, now: datetime, *, address: str
) -> ClaimView | InsurerClaims:
    """Open what the link leads to, and log it; a link that has ended is logged as refused.

    address: where the request came from. Raises NotFound with code `claim_link_unknown`,
    `claim_link_expired` (fact `expired_at`) or `claim_link_revoked` (fact `revoked_at`);
    TooManyTries after many that led nowhere, or many of this link.
    """
    asked = Asked("viewed", of_insurer="listed")
    link_id = admitted(database, token, now, asked, address, lambda _session, _link: None)
    with database.read() as session:
        link = link_of(session, token, link_id)
        if link.insurer_id is not None:
            return list_of(session, link, shop_of(session, link))
        return view_of(session, link, job_behind(session, link))


def open_claim(
    database: Database, token: str, number: str, now: datetime, *, address: str
) -> ClaimView:
    """Open one job of the list behind an insurer's link; raises as `open_link`, and NotFound
    `no_such_job` for every job that is not in the list."""

    def finds(session: Session, link: ClaimLink) -> Job:
        return job_of(session, link.shop_id, link, number)

    link_id = admitted(database, token, now, Asked("viewed", number), address, finds)
    with database.read() as session:
        link = link_of(session, token, link_id)
        return view_of(session, link, finds(session, link))


def open_file(
    database: Database, token: str, number: str, now: datetime, *, address: str
) -> FileView:
    """The signed PDF of a certificate that the link shows, logged; raises as `open_link`, and
    NotFound `no_such_certificate`."""
    link_id = admit_to(database, token, number, now, "downloaded", address)
    with database.read() as session:
        link = link_of(session, token, link_id)
        return file_of(session, link.shop_id, shown(session, link, number))


def open_data(
    database: Database, token: str, number: str, now: datetime, *, address: str
) -> DataView:
    """The data that such a certificate carries; raises as `open_file`."""
    link_id = admit_to(database, token, number, now, "data", address)
    with database.read() as session:
        row = shown(session, link_of(session, token, link_id), number)
        return DataView(f"{row.number}.json", (row.content or "").encode())


def open_bundle(
    database: Database, token: str, number: str, now: datetime, *, press: Press, address: str
) -> Bundle:
    """All of such a certificate in one file; raises as `open_file`."""
    link_id = admit_to(database, token, number, now, "bundle", address)
    with database.read() as session:
        link = link_of(session, token, link_id)
        return bundle_of(session, link.shop_id, shown(session, link, number), press, now)


def admit_to(
    database: Database, token: str, number: str, now: datetime, what: str, address: str
) -> int:
    """The link, if it is open and shows this certificate."""

    def finds(session: Session, link: ClaimLink) -> Certificate:
        return shown(session, link, number)

    return admitted(database, token, now, Asked(what, number), address, finds)


def job_behind(session: Session, link: ClaimLink) -> Job:
    """The one job that a link leads to."""
    return session.scalars(scoped(session, link.shop_id, Job).where(Job.id == link.job_id)).one()


def shown(session: Session, link: ClaimLink, number: str) -> Certificate:
    """The certificate of this number, if the link shows it. Raises NotFound."""
    query = scoped(session, link.shop_id, Certificate).where(
        Certificate.number == number, Certificate.status.in_(ISSUED)
    )
    if link.insurer_id is None:
        query = query.where(Certificate.job_id == link.job_id)
    else:
        of_insurer = query.join(Job, Job.id == Certificate.job_id)
        claims = of_insurer.join(Claim, Claim.id == Job.claim_id)
        query = claims.where(Claim.insurer_id == link.insurer_id)
    if link.certificate_id is not None:
        query = query.where(Certificate.id == link.certificate_id)
    row = session.scalars(query).one_or_none()
    if row is None:
        raise NotFound("no_such_certificate", None, met=number[:40])
    return row


def shop_of(session: Session, link: ClaimLink) -> Shop:
    """The shop that made the link."""
    return session.scalars(scoped(session, link.shop_id, Shop)).one()


def view_of(session: Session, link: ClaimLink, job: Job) -> ClaimView:
    """What an open link shows of a job."""
    issued = certificates_of(session, link, job)
    views = views_of(session, link.shop_id, issued)
    claims = scoped(session, link.shop_id, Claim).where(Claim.id == job.claim_id)
    claim = session.scalars(claims).one_or_none()
    shop, holds = shop_of(session, link), holds_of(session, link, job)
    photos = shared_of(session, link.shop_id, job.id) if issued else ()
    return ClaimView(
        job_number=job.number,
        claim_number=claim.claim_number if claim else "",
        shop=shop.name,
        phone=shop.phone,
        email=shop.email,
        machine=machine_words(data_of(issued[0])) if issued else "",
        expires_at=link.expires_at,
        certificates=tuple(seen(view, row, holds) for view, row in zip(views, issued, strict=True)),
        photos=photos,
        signed=of_certificate(issued[0], photos) if issued else None,
        in_list=link.insurer_id is not None,
    )


def seen(view: CertificateView, row: Certificate, holds: Sequence[HoldView]) -> ClaimCertificate:
    """A certificate as it was signed, with what the records say since; holds: all of the job."""
    content = content_of(row)
    return ClaimCertificate(
        view, content, is_missing(data_of(row)), holds_since(content, row, holds)
    )


def holds_since(
    content: CertificateContent, row: Certificate, holds: Sequence[HoldView]
) -> tuple[Line, ...]:
    """The holds of a certificate in its own words, and what became since of those open then.

    It names none of them by number, but in the order in which they stood: open ones first, each
    part by its age. Where that does not fit the records, its own words stand alone.
    """
    said, signed_at = content.visual_check.holds, row.issued_at
    if signed_at is None:
        return said
    of_then = [one for one in holds if one.opened_at <= signed_at]
    in_order = sorted(
        of_then, key=lambda one: (one.closed_at is not None and one.closed_at <= signed_at, one.id)
    )
    if [line.label for line in said] != [words.item(one.item) for one in in_order]:
        return said
    return tuple(
        Line(line.label, closed_since(one, signed_at) or line.value)
        for line, one in zip(said, in_order, strict=True)
    )


def is_missing(data: Mapping[str, Any]) -> bool:
    """Whether the certified result lacks something that is required."""
    return bool(data["measurement"]["result"]["finding"]["missing"])


def certificates_of(session: Session, link: ClaimLink, job: Job) -> list[Certificate]:
    """The certificates of a job that a link shows, newest first."""
    query = scoped(session, link.shop_id, Certificate).where(
        Certificate.job_id == job.id, Certificate.status.in_(ISSUED)
    )
    if link.certificate_id is not None:
        query = query.where(Certificate.id == link.certificate_id)
    return list(session.scalars(query.order_by(Certificate.id.desc())))
