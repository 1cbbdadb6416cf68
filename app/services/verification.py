"""Checking a certificate file: is it unaltered, and is it still in force. Two answers.

Nobody needs to be signed in. The strict rule lies in `signing.checking`; whether a certificate
is in force is what the register says now, found by the SHA-256 of the file. A file is looked at
outside of any session, and each address has only so many tries.
"""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import NotFound, Unavailable
from app.records.scope import scoped
from app.records.session import Database
from app.records.tables import Certificate, CertificateFile
from app.services import throttle
from app.services.certificate_asked import asked
from app.services.people import only_shop
from app.services.press import Press
from app.services.register import CertificateView, Kind, Status, row_of, views_of
from app.signing.authority import FOLDER, fingerprint
from app.signing.distrust import distrusted
from app.signing.trust import Trust, trust_of

ASKED_OF_REGISTER = ("signer_expired", "signer_distrusted")
"""Where a signature does not prove enough, the register's own copy may."""
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
    """Why it ended is for the shop and for who holds a claim link, not for everybody."""
    replaced_by: str | None
    pdf_sha256: str | None
    data_sha256: str | None
    time_stamp: str | None
    """`stamped`; `unreachable`: signed without, because none was to be had; None: none asked."""


@dataclass(frozen=True, slots=True)
class Verification:
    """Two answers, kept apart."""

    unaltered: bool
    why_not: str | None
    """Code when not unaltered, as in `signing.checking.Check`."""
    signed_by: str | None
    """Common name in the signer's certificate."""
    signed_at: datetime | None
    signer_sha256: str | None
    authority_sha256: str | None
    """Of the authority under which it was signed, where that is one that is trusted."""
    pdf_sha256: str
    in_register: bool
    """Whether the register holds this very file, byte for byte. Asked of what is unaltered, and
    where the signer's certificate has expired since, or is trusted no more, and no time stamp
    speaks for the file."""
    entry: RegisterEntry | None
    in_force: bool
    """Valid in this register, and either unaltered or kept by the shop."""
    stamped_at: datetime | None = None
    """As the signature's time stamp states, if it carries one."""
    stamped_by: str | None = None
    stamp_trusted: bool = False
    """Whether a trusted authority for time stamps vouches for it."""
    distrusted_since: datetime | None = None
    """From when on the shop trusts the signer no more; None for the others."""

    @property
    def kept_by_shop(self) -> bool:
        """Whether the register's own copy speaks for a file that its signature alone does not.

        Of a signer that is trusted no more only where it was issued before.
        """
        if self.unaltered or self.entry is None:
            return False
        issued = self.entry.issued_at
        return self.distrusted_since is None or (
            issued is not None and issued < self.distrusted_since
        )


def check_file(
    database: Database, pdf: bytes, now: datetime, *, press: Press, address: str
) -> Verification:
    """`verify` for whoever comes; only files that prove to be our own use up no tries.

    Raises also TooManyTries, and Unavailable `no_certificate_yet` (without saying where the
    shop keeps its keys) and `checks_busy`.
    """
    client = throttle.network_of(address)
    with database.write() as session:
        shop_id = only_shop(session)
        throttle.count_try(session, shop_id, "check", client, now)
    guilty = False
    try:
        found = verify(database, pdf, now, press=press)
        guilty = not (found.unaltered or found.in_register)
        return found
    except Unavailable as error:
        guilty = error.code == "worker_too_slow"
        if error.code == "no_authority":
            raise Unavailable("no_certificate_yet") from None
        raise
    finally:
        if not guilty:
            with database.write() as session:
                throttle.give_back(session, shop_id, "check", client)


def look_up(database: Database, number: str, now: datetime, *, address: str) -> RegisterEntry:
    """`register_entry` for whoever comes, of a number as people write it.

    Raises also TooManyTries: numbers are easily guessed.
    """
    with database.write() as session:
        shop_id, client = only_shop(session), throttle.network_of(address)
        throttle.count_try(session, shop_id, "number", client, now)
    with database.read() as session:
        return register_entry(session, asked(number).number)


def verify(
    database: Database | None,
    pdf: bytes,
    now: datetime,
    *,
    press: Press,
    authority: bytes | None = None,
    stampers: Sequence[bytes] = (),
) -> Verification:
    """Check a file against this shop's authority and register; a bad file is an answer.

    database: None where there is no register to ask. authority: PEM text of the certificate to
    trust instead of the shop's own; BadInput (`not_a_certificate`) when it is none. stampers: PEM
    texts of authorities for time stamps, beside those that the shop trusts. Raises
    Unavailable: `no_authority` when there is neither, and as `Press.examine`. Call it outside of
    any session: looking at a file may take seconds.
    """
    trust = trust_for(press, authority, stampers)
    checked = press.examine(pdf, trust, now)
    digest = hashlib.sha256(pdf).hexdigest()
    entry = None
    if database is not None and (checked.unaltered or checked.why_not in ASKED_OF_REGISTER):
        with database.read() as session:
            entry = entry_of_file(session, digest)
    found = Verification(
        unaltered=checked.unaltered,
        why_not=checked.why_not,
        signed_by=checked.signed_by,
        signed_at=checked.signed_at,
        signer_sha256=checked.signer_sha256,
        authority_sha256=checked.authority_sha256,
        pdf_sha256=digest,
        in_register=entry is not None,
        entry=entry,
        in_force=False,
        stamped_at=checked.stamp.at if checked.stamp else None,
        stamped_by=checked.stamp.by if checked.stamp else None,
        stamp_trusted=checked.stamp is not None and checked.stamp.trusted,
        distrusted_since=trust.distrusted_since(checked.signer_sha256),
    )
    taken = found.unaltered or found.kept_by_shop
    return replace(found, in_force=taken and entry is not None and entry.status == "valid")


def trust_for(press: Press, authority: bytes | None, stampers: Sequence[bytes]) -> Trust:
    """Whom to trust: the shop's keys of today and before, or the authority that is given."""
    for pem in (*stampers, *([authority] if authority is not None else [])):
        fingerprint(pem)
    if authority is not None:
        marked = distrusted(press.data_dir / FOLDER)
        return Trust((authority,), stampers=tuple(stampers), distrusted=marked)
    own = trust_of(press.data_dir / FOLDER)
    return replace(own, stampers=(*own.stampers, *stampers))


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
        replaced_by=view.replaced_by,
        pdf_sha256=view.pdf_sha256,
        data_sha256=view.data_sha256,
        time_stamp=view.time_stamp,
    )


def shortened(machine: str) -> str:
    """The machine with only the end of its frame number: enough to compare, not to copy."""
    name, comma, number = machine.rpartition(", ")
    return f"{name}{comma}…{number[-KNOWN_DIGITS:]}" if comma else machine
