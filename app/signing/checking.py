"""The strict rule: exactly one signature, over the entire file, intact, by a trusted signer.

A certificate is signed once and never touched again. So anything after the signature, even a
blank line that a general checker lets pass, means that the file is not what the shop gave out.
"""

import io
import logging
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from asn1crypto.x509 import Certificate  # type: ignore[import-untyped]
from pyhanko.keys import load_certs_from_pemder_data
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.fields import MDPPerm
from pyhanko.sign.general import find_unique_cms_attribute
from pyhanko.sign.validation import validate_pdf_signature
from pyhanko.sign.validation.pdf_embedded import EmbeddedPdfSignature
from pyhanko.sign.validation.status import (
    PdfSignatureStatus,
    SignatureCoverageLevel,
    TimestampSignatureStatus,
)
from pyhanko_certvalidator import ValidationContext

from app.signing.signed_data import from_gap, signature_is_exact, stamp_is_exact, stamp_of
from app.signing.trust import Trust

LARGEST_FILE = 50_000_000
HEX_STRING = re.compile(rb"<(?:[0-9A-F]+|[0-9a-f]+)>")
"""In one case throughout: else a changed letter could go unseen."""


@dataclass(frozen=True, slots=True)
class Stamp:
    """The time stamp that the signature carries."""

    at: datetime
    by: str
    trusted: bool
    """Whether an authority for time stamps that we trust vouches for it."""


@dataclass(frozen=True, slots=True)
class Check:
    """The answer to: is this file unaltered and signed by whom we trust?"""

    unaltered: bool
    why_not: str | None
    """Code: `too_large`, `unreadable`, `not_signed`, `several_signatures`, `not_whole_file`,
    `altered`, `changes_allowed`, `not_trusted`, `not_this_shop`, `signer_distrusted`,
    `signer_expired`, `signer_not_yet_valid`."""
    signed_by: str | None = None
    signed_at: datetime | None = None
    """As the signer states it."""
    signer_sha256: str | None = None
    authority_sha256: str | None = None
    """Of the trusted authority under which it was signed; None where none of them vouches."""
    stamp: Stamp | None = None


class Altered(Exception):
    """The rule is broken; the code says how."""


def check(pdf: bytes, authorities: Sequence[bytes], now: datetime) -> Check:
    """`check_against` with only authorities to trust, PEM texts."""
    return check_against(pdf, Trust(tuple(authorities)), now)


def check_against(pdf: bytes, trust: Trust, now: datetime) -> Check:
    """Apply the strict rule. Never raises, whatever the file holds.

    now: the moment at which the signer's certificate must be valid, unless a trusted time stamp
    shows that the signature was there while it was.
    """
    logging.getLogger("pyhanko").setLevel(logging.CRITICAL)
    logging.getLogger("pyhanko_certvalidator").setLevel(logging.CRITICAL)
    if len(pdf) > LARGEST_FILE:
        return Check(unaltered=False, why_not="too_large")
    try:
        embedded = only_signature(pdf)
        check_gap(pdf, embedded, trust)
        check_digest(embedded)
        return answer(embedded, trust, now)
    except Altered as broken:
        return Check(unaltered=False, why_not=str(broken))
    except Exception:
        # The reader of foreign files raises what it likes; whatever it is, the file is not ours.
        return Check(unaltered=False, why_not="unreadable")


def only_signature(pdf: bytes) -> EmbeddedPdfSignature:
    """The one signature of the file."""
    reader = PdfFileReader(io.BytesIO(pdf), strict=True)
    signatures: list[EmbeddedPdfSignature] = reader.embedded_signatures
    if not signatures:
        raise Altered("not_signed")
    if len(signatures) > 1:
        raise Altered("several_signatures")
    return signatures[0]


def check_gap(pdf: bytes, embedded: EmbeddedPdfSignature, trust: Trust) -> None:
    """All but the signature itself is signed, and the gap holds nothing but the signature.

    The gap is one string of hexadecimal digits: the signature's bytes in their one form, then
    zeros.
    """
    ranges = [int(value) for value in embedded.byte_range]
    if len(ranges) != 4 or ranges[0] != 0 or ranges[2] + ranges[3] != len(pdf):
        raise Altered("not_whole_file")
    gap = pdf[ranges[1] : ranges[2]]
    content = from_gap(gap) if HEX_STRING.fullmatch(gap) else None
    if content is None or not signature_is_exact(content, known(trust.authorities)):
        raise Altered("altered")
    stamp = stamp_of(content)
    if stamp is not None and not stamp_is_exact(stamp, known(trust.stampers)):
        raise Altered("altered")


def check_digest(embedded: EmbeddedPdfSignature) -> None:
    """The signed ranges have the digest that is signed; the rest need not be looked at if not."""
    signed = find_unique_cms_attribute(embedded.signer_info["signed_attrs"], "message_digest")
    if embedded.compute_digest() != signed.native:
        raise Altered("altered")


def known(pems: Sequence[bytes]) -> frozenset[bytes]:
    """Certificates as DER, to be compared."""
    return frozenset(one.dump() for one in certificates_in(pems))


def certificates_in(pems: Sequence[bytes]) -> list[Certificate]:
    """The certificates of PEM texts."""
    return [one for pem in pems for one in load_certs_from_pemder_data(pem)]


def validated(
    embedded: EmbeddedPdfSignature, trust: Trust, now: datetime, signed_by: datetime | None = None
) -> PdfSignatureStatus:
    """What the library finds, with only the given authorities trusted and no network.

    signed_by: the moment for the signer's certificate, where it is another than that for the
    time stamp.
    """
    return validate_pdf_signature(
        embedded,
        context_at(trust.authorities, signed_by or now),
        context_at(trust.stampers, now),
    )


def context_at(pems: Sequence[bytes], moment: datetime) -> ValidationContext:
    """These authorities, at that moment."""
    return ValidationContext(
        trust_roots=certificates_in(pems),
        moment=moment,
        allow_fetching=False,
        revocation_mode="soft-fail",
    )


def answer(embedded: EmbeddedPdfSignature, trust: Trust, now: datetime) -> Check:
    """The strict rule on what was found."""
    status = validated(embedded, trust, now)
    stamp = status.timestamp_validity
    why_not = broken_by(embedded, status) or doubt_of(embedded, status, trust, now)
    names = status.signing_cert.subject.native
    return Check(
        unaltered=why_not is None,
        why_not=why_not,
        signed_by=str(names.get("common_name", "")),
        signed_at=status.signer_reported_dt,
        signer_sha256=status.signing_cert.sha256.hex(),
        authority_sha256=authority_in(status),
        stamp=stamp_words(stamp) if stamp else None,
    )


def authority_in(status: PdfSignatureStatus) -> str | None:
    """Fingerprint of the authority at which the chain of certificates ends."""
    path = status.validation_path if status.trusted else None
    return None if path is None or path.first is None else str(path.first.sha256.hex())


def stamp_words(stamp: TimestampSignatureStatus) -> Stamp:
    """Who states what time."""
    names = stamp.signing_cert.subject.native
    return Stamp(stamp.timestamp, str(names.get("common_name", "")), bool(stamp.trusted))


def broken_by(embedded: EmbeddedPdfSignature, status: PdfSignatureStatus) -> str | None:
    """What of the file is not as it was signed."""
    stamp = status.timestamp_validity
    if status.coverage != SignatureCoverageLevel.ENTIRE_FILE:
        return "not_whole_file"
    if not (status.intact and status.valid) or (stamp and not (stamp.intact and stamp.valid)):
        return "altered"
    return None if embedded.docmdp_level == MDPPerm.NO_CHANGES else "changes_allowed"


def doubt_of(
    embedded: EmbeddedPdfSignature, status: PdfSignatureStatus, trust: Trust, now: datetime
) -> str | None:
    """What speaks against the signer of a file that is as it was signed."""
    held = status.signing_cert
    stamp = status.timestamp_validity
    stated = within(held, status.signer_reported_dt)
    if not status.trusted and not validated(embedded, trust, now, stated).trusted:
        return "not_trusted"
    if trust.signers and held.sha256.hex() not in trust.signers:
        return "not_this_shop"
    if not stamped_before(stamp, trust.distrusted_since(held.sha256.hex())):
        return "signer_distrusted"
    if not status.trusted:
        if stamp is None or not stamp.trusted:
            return "signer_expired" if now > held.not_valid_after else "signer_not_yet_valid"
        if not validated(embedded, trust, now, stamp.timestamp).trusted:
            return "signer_expired"
    return None


def stamped_before(stamp: TimestampSignatureStatus | None, since: datetime | None) -> bool:
    """Whether the signer is trusted, or a trusted stamp is older than the doubt."""
    if since is None:
        return True
    return stamp is not None and bool(stamp.trusted) and bool(stamp.timestamp < since)


def within(held: Certificate, stated: datetime | None) -> datetime:
    """The moment that the signer states, or the nearest at which the certificate was valid."""
    first: datetime = held.not_valid_before
    last: datetime = held.not_valid_after
    return min(max(stated or first, first), last)
