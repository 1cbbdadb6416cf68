"""Checking a certificate file: is it unaltered, and is it still in force. Two answers.

Nobody needs to be signed in. The strict rule lies in `signing.checking`; whether a certificate
is in force is what the register says now, found by the SHA-256 of the file.
"""

import hashlib
from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import NotFound
from app.records.scope import scoped
from app.records.tables import Certificate, CertificateFile
from app.services.people import only_shop
from app.services.press import Press
from app.services.register import CertificateView, Kind, Status, row_of, views_of
from app.signing.authority import FOLDER, authority_pem, fingerprint

KNOWN_DIGITS = 4
"""Of the frame number, outsiders with only a certificate's number see this many at the end."""


@dataclass(frozen=True, slots=True)
class RegisterEntry:
    """What the register tells an outsider of one certificate."""

    number: str
    kind: Kind
    status: Status
    machine: str
    """Make, model and frame number; only its last letters for who does not hold the file."""
    finding: str
    issued_at: datetime | None
    status_since: datetime
    status_reason: str | None
    replaced_by: str | None
    pdf_sha256: str | None
    data_sha256: str | None


@dataclass(frozen=True, slots=True)
class Verification:
    """Two answers, kept apart."""

    unaltered: bool
    why_not: str | None
    """Code when not unaltered: `too_large`, `unreadable`, `not_signed`, `several_signatures`,
    `not_whole_file`, `altered`, `not_trusted`."""
    signed_by: str | None
    """Common name in the signer's certificate."""
    signed_at: datetime | None
    signer_sha256: str | None
    pdf_sha256: str
    in_register: bool
    entry: RegisterEntry | None
    in_force: bool
    """Unaltered, in this register, and `valid` there."""


def verify(
    session: Session | None,
    pdf: bytes,
    now: datetime,
    *,
    press: Press,
    authority: bytes | None = None,
) -> Verification:
    """Check a file against this shop's authority and register; a bad file is an answer.

    session: None where there is no register to ask. authority: PEM text of the certificate to
    trust instead of the shop's own; BadInput (`not_a_certificate`) when it is none. Raises
    Unavailable: `no_authority` when there is neither,
    `worker_too_slow` for a file made to take for ever.
    """
    trusted = authority_pem(press.data_dir / FOLDER) if authority is None else authority
    fingerprint(trusted)
    checked = press.examine(pdf, [trusted], now)
    digest = hashlib.sha256(pdf).hexdigest()
    entry = entry_of_file(session, digest) if session is not None and checked.unaltered else None
    return Verification(
        unaltered=checked.unaltered,
        why_not=checked.why_not,
        signed_by=checked.signed_by,
        signed_at=checked.signed_at,
        signer_sha256=checked.signer_sha256,
        pdf_sha256=digest,
        in_register=entry is not None,
        entry=entry,
        in_force=entry is not None and entry.status == "valid",
    )


def entry_of_file(session: Session, digest: str) -> RegisterEntry | None:
    """The register's entry of the file with this SHA-256, if it is in this register."""
    try:
        shop_id = only_shop(session)
    except NotFound:
        return None
    files = scoped(session, shop_id, CertificateFile).where(CertificateFile.sha256 == digest)
    file = session.scalars(files).one_or_none()
    if file is None:
        return None
    rows = scoped(session, shop_id, Certificate).where(Certificate.id == file.certificate_id)
    return entry_from(views_of(session, shop_id, [session.scalars(rows).one()])[0])


def register_entry(session: Session, number: str) -> RegisterEntry:
    """What `/verify/{number}` shows to anybody who knows the number.

    Raises NotFound `no_such_certificate`; `issuing` and `void` are told as such.
    """
    shop_id = only_shop(session)
    view = views_of(session, shop_id, [row_of(session, shop_id, number)])[0]
    entry = entry_from(view)
    return replace(entry, machine=shortened(entry.machine))


def entry_from(view: CertificateView) -> RegisterEntry:
    """What an outsider may see of a line of the register."""
    return RegisterEntry(
        number=view.number,
        kind=view.kind,
        status=view.status,
        machine=view.machine,
        finding=view.finding,
        issued_at=view.issued_at,
        status_since=view.status_since,
        status_reason=view.status_reason,
        replaced_by=view.replaced_by,
        pdf_sha256=view.pdf_sha256,
        data_sha256=view.data_sha256,
    )


def shortened(machine: str) -> str:
    """The machine with only the end of its frame number: enough to compare, not to copy."""
    name, comma, number = machine.rpartition(", ")
    return f"{name}{comma}…{number[-KNOWN_DIGITS:]}" if comma else machine
