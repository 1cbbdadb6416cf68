"""A mail to the adjuster as a file: the bundle attached, to be looked over and sent by hand.

The program sends nothing itself. The file names no sender, and carries the mark by which mail
programs open it as a draft of the person who opens it.
"""

import re
from dataclasses import dataclass
from datetime import datetime
from email.message import EmailMessage
from email.policy import SMTP

from sqlalchemy.orm import Session

from app.errors import Conflict
from app.records.scope import scoped
from app.records.tables import Certificate, Claim, Insurer, Job, Shop
from app.services.archive import Archive
from app.services.bundles import bundle
from app.services.permissions import Actor, require
from app.services.photo_sharing import shared_of
from app.services.press import Press
from app.services.register import content_of, row_of, views_of
from app.wording import claim_message as words
from app.wording import claims, moments

MOST_BYTES = 15_000_000
"""Of the zip. Many mail services take no more than 20 to 25 MB (common practice, no source), and
an attachment grows by more than a third on its way."""
SEVEN_BIT = SMTP.clone(cte_type="7bit")
"""Every mail program of any age takes it."""
ADDRESS = re.compile(
    r"[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+(\.[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+)*"
    r"@[A-Za-z0-9-]+(\.[A-Za-z0-9-]+)*"
)
"""A plain address (RFC 5322, 3.4.1, dot-atom form). What was typed in is no address for sure."""


@dataclass(frozen=True, slots=True)
class MessageFile:
    """The mail, and what its file is called."""

    filename: str
    content: bytes


def message(
    session: Session, actor: Actor, number: str, now: datetime, *, press: Press
) -> MessageFile:
    """The mail about a certificate, with its bundle attached, for who may give its link away.

    It is addressed where the adjuster's or the insurer's address is on record. Raises NotFound;
    Conflict: `certificate_has_no_file`, and `message_too_large` where photos make it so.
    """
    require(actor, "claim_links.write")
    made = bundle(session, actor, number, now, press=press)
    with made.archive as archive:
        content = bytes_of(archive, number)
    row = row_of(session, actor, number)
    job = session.scalars(scoped(session, actor, Job).where(Job.id == row.job_id)).one()
    claim = claim_of(session, actor, job)
    mail = EmailMessage(policy=SEVEN_BIT)
    mail["Subject"] = words.subject(row.kind, number, claim.claim_number if claim else "")
    to = recipient(session, actor, claim)
    if to:
        mail["To"] = to
    mail["X-Unsent"] = "1"
    mail.set_content(body_of(session, actor, row, now, press))
    mail.add_attachment(content, maintype="application", subtype="zip", filename=made.filename)
    # Drawn from the certificate: the same moment gives the same bytes.
    mail.set_boundary(f"{number}.{(row.content_sha256 or '')[:32]}")
    return MessageFile(f"{number}.eml", mail.as_bytes())


def bytes_of(archive: Archive, number: str) -> bytes:
    """All of the zip. Raises Conflict `message_too_large`."""
    if archive.size > MOST_BYTES:
        facts = {"met_mb": megabytes(archive.size), "limit_mb": megabytes(MOST_BYTES)}
        raise Conflict("message_too_large", None, number=number, **facts)
    return b"".join(archive.pieces())


def megabytes(size: int) -> str:
    """A size as people read it."""
    return f"{size / 1e6:.1f}"


def claim_of(session: Session, actor: Actor, job: Job) -> Claim | None:
    """The claim of a job, as it is on record now."""
    claims = scoped(session, actor, Claim).where(Claim.id == job.claim_id)
    return session.scalars(claims).one_or_none()


def recipient(session: Session, actor: Actor, claim: Claim | None) -> str:
    """The adjuster's address, else the insurer's; empty where neither is on record."""
    if claim is None:
        return ""
    insurers = scoped(session, actor, Insurer).where(Insurer.id == claim.insurer_id)
    insurer = session.scalars(insurers).one_or_none()
    known = (claim.adjuster_email, insurer.email if insurer else "")
    return next((one for one in known if ADDRESS.fullmatch(one)), "")


def body_of(session: Session, actor: Actor, row: Certificate, now: datetime, press: Press) -> str:
    """What the mail says."""
    view = views_of(session, actor, [row])[0]
    shop = session.scalars(scoped(session, actor, Shop)).one()
    with moments.told_in(shop.time_zone):
        since = moments.moment_with_zone(view.status_since)
        told = claims.standing(view.status, view.replaced_by, since)
        moment = moments.moment_with_zone(now)
    return words.body(
        number=view.number,
        kind=view.kind,
        machine=view.machine,
        moment=moment,
        standing=told,
        finding=content_of(row).finding_sentence if view.status == "valid" else "",
        photos=len(shared_of(session, actor, row.job_id)),
        address=press.check_address(view.number),
        shop=shop.name,
    )
