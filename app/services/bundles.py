"""All of one certificate in one file, to download or to send by mail.

It holds the signed PDF, the data that it carries, the photos that were chosen for the claim with
their captions, the authority's certificate and how to check all of that. It is made in a reading
session, photo by photo: nobody who writes has to wait for it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.records.scope import OfShop, scoped
from app.records.tables import Certificate, Shop
from app.services.archive import Archive, packed
from app.services.permissions import Actor, require
from app.services.photo_sharing import SharedPhoto, bytes_of, shared_of
from app.services.photos_signed import NO_ROOM, SINCE, Signed, of_certificate
from app.services.press import Press
from app.services.register import CertificateView, data_of, file_of, row_of, views_of
from app.services.signing_keys import authority_named, is_shops_own, stampers_pem
from app.signing.authority import fingerprint
from app.wording import how_to_check, moments, photos
from app.wording.how_to_check import AUTHORITY, Step
from app.wording.signing_key import proof
from app.wording.translation import _
from app.wording.verification import in_force

HOW_TO_CHECK = "how-to-check.txt"
CAPTIONS = "photos.txt"
STAMPERS = "time-stamp-authorities.pem"


@dataclass(frozen=True, slots=True)
class Bundle:
    """The zip, and what it is called."""

    filename: str
    archive: Archive


def bundle(session: Session, actor: Actor, number: str, now: datetime, *, press: Press) -> Bundle:
    """The bundle of a certificate for somebody of the shop.

    Raises NotFound; Conflict (`certificate_has_no_file`) while it is being issued, or void.
    """
    require(actor, "certificates.read")
    return bundle_of(session, actor, row_of(session, actor, number), press, now)


def bundle_of(
    session: Session, shop: OfShop | int, row: Certificate, press: Press, now: datetime
) -> Bundle:
    """The bundle of a certificate's row; `now` stands in what the register says of it."""
    made = packed(members(session, shop, row, press, now), row.issued_at or row.reserved_at)
    return Bundle(f"{row.number}.zip", made)


def members(
    session: Session, shop: OfShop | int, row: Certificate, press: Press, now: datetime
) -> Iterator[tuple[str, bytes]]:
    """Names and contents, always in this order under these names."""
    file = file_of(session, shop, row)
    view = views_of(session, shop, [row])[0]
    chosen = shared_of(session, shop, row.job_id)
    pem = authority_named(press, authority_of(row))
    yield file.filename, file.pdf
    yield f"{row.number}.json", (row.content or "").encode()
    for photo, content in bytes_of(session, shop, chosen):
        yield photo.name, content
    if chosen:
        yield CAPTIONS, captions(of_certificate(row, chosen), chosen).encode()
    yield AUTHORITY, pem
    stampers = stampers_pem(press) if row.time_stamp == "stamped" else None
    if stampers:
        yield STAMPERS, stampers
    zone = session.scalars(scoped(session, shop, Shop)).one().time_zone
    with moments.told_in(zone):
        steps = steps_for(view, pem, press, now)
    title = _("How to check certificate {number}").format(number=row.number)
    yield HOW_TO_CHECK, how_to_check.as_text(title, steps, proof(is_shops_own(press))).encode()


def steps_for(view: CertificateView, pem: bytes, press: Press, now: datetime) -> tuple[Step, ...]:
    """How to check it, for a page or a text file."""
    return how_to_check.of_certificate(
        f"{view.number}.pdf",
        view.pdf_sha256 or "",
        fingerprint(pem),
        standing(view, now),
        press.check_address(view.number),
    )


def steps_of(view: CertificateView, press: Press, named: str, now: datetime) -> tuple[Step, ...]:
    """The same for a page; `named`: SHA-256 of the authority that the certificate names."""
    return steps_for(view, authority_named(press, named), press, now)


def standing(view: CertificateView, now: datetime) -> str:
    """What the register says of it, and when it said so."""
    said = in_force(view.status, view.replaced_by, moments.moment_with_zone(view.status_since))
    when = moments.moment_with_zone(now)
    return _("{moment}: {standing}").format(moment=when, standing=said)


def authority_of(row: Certificate) -> str:
    """SHA-256 of the authority that the certificate names as its own."""
    content = data_of(row).get("content", {})
    return str(content.get("authority_sha256", ""))


def captions(signed: Signed, chosen: tuple[SharedPhoto, ...]) -> str:
    """The list of the photos, each with what it shows and its digest: first those that stand in
    the certificate, then those that do not, with the reason."""
    lines = [photos.with_certificate(signed.number), ""]
    for why in ("", SINCE, NO_ROOM):
        group = [one for one in chosen if signed.beside.get(one.id, "") == why]
        lines += [photos.standing(why), "", *captioned(group)] if group else []
    return "\n".join(lines)


def captioned(group: Sequence[SharedPhoto]) -> Iterator[str]:
    """Each photo with what it shows and its digest."""
    for one in group:
        said = ": ".join(filter(None, [photos.about(one.about), one.caption]))
        yield from (f"{one.name}  {said}", f"    SHA-256 {one.sha256}", "")
