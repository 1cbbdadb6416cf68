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

from asn1crypto import parser  # type: ignore[import-untyped]
from asn1crypto.cms import ContentInfo  # type: ignore[import-untyped]
from asn1crypto.x509 import Certificate  # type: ignore[import-untyped]
from pyhanko.keys import load_certs_from_pemder_data
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.validation import validate_pdf_signature
from pyhanko.sign.validation.pdf_embedded import EmbeddedPdfSignature
from pyhanko.sign.validation.status import PdfSignatureStatus, SignatureCoverageLevel
from pyhanko_certvalidator import ValidationContext

LARGEST_FILE = 50_000_000
HEX_STRING = re.compile(rb"<(?:[0-9A-F]+|[0-9a-f]+)>")
"""In one case throughout: else a changed letter could go unseen."""


@dataclass(frozen=True, slots=True)
class Check:
    """The answer to: is this file unaltered and signed by one of these authorities?"""

    unaltered: bool
    why_not: str | None
    """Code: `too_large`, `unreadable`, `not_signed`, `several_signatures`, `not_whole_file`,
    `altered`, `not_trusted`."""
    signed_by: str | None = None
    signed_at: datetime | None = None
    """As the signer states it."""
    signer_sha256: str | None = None


class Altered(Exception):
    """The rule is broken; the code says how."""


def check(pdf: bytes, authorities: Sequence[bytes], now: datetime) -> Check:
    """Apply the strict rule. Never raises, whatever the file holds.

    authorities: PEM texts of the certificates that are trusted. now: the moment at which the
    signer's certificate must be valid.
    """
    logging.getLogger("pyhanko").setLevel(logging.CRITICAL)
    logging.getLogger("pyhanko_certvalidator").setLevel(logging.CRITICAL)
    if len(pdf) > LARGEST_FILE:
        return Check(unaltered=False, why_not="too_large")
    try:
        embedded = only_signature(pdf)
        roots = [one for pem in authorities for one in load_certs_from_pemder_data(pem)]
        check_gap(pdf, embedded)
        status = validated(embedded, roots, now)
        if status.trusted:
            check_company(embedded, roots)
    except Altered as broken:
        return Check(unaltered=False, why_not=str(broken))
    except Exception:
        # The reader of foreign files raises what it likes; whatever it is, the file is not ours.
        return Check(unaltered=False, why_not="unreadable")
    return answer(embedded, status)


def only_signature(pdf: bytes) -> EmbeddedPdfSignature:
    """The one signature of the file."""
    reader = PdfFileReader(io.BytesIO(pdf), strict=True)
    signatures: list[EmbeddedPdfSignature] = reader.embedded_signatures
    if not signatures:
        raise Altered("not_signed")
    if len(signatures) > 1:
        raise Altered("several_signatures")
    return signatures[0]


def check_gap(pdf: bytes, embedded: EmbeddedPdfSignature) -> None:
    """All but the signature itself is signed, and the gap holds nothing but the signature.

    The gap is one string of hexadecimal digits: the signature's bytes, then zeros.
    """
    ranges = [int(value) for value in embedded.byte_range]
    if len(ranges) != 4 or ranges[0] != 0 or ranges[2] + ranges[3] != len(pdf):
        raise Altered("not_whole_file")
    gap = pdf[ranges[1] : ranges[2]]
    if not HEX_STRING.fullmatch(gap):
        raise Altered("altered")
    content = bytes.fromhex(gap[1:-1].decode("ascii"))
    length = len(b"".join(parser.parse(content, strict=False)[3:]))
    signature, padding = content[:length], content[length:]
    if ContentInfo.load(signature).copy().dump(force=True) != signature or any(padding):
        raise Altered("altered")


def check_company(embedded: EmbeddedPdfSignature, roots: Sequence[Certificate]) -> None:
    """Nothing that the signature leaves unprotected may stand beside it.

    The signer's certificate is bound by the signature; an authority's must be one of those that
    are trusted, to the byte.
    """
    known = {root.dump() for root in roots}
    others = {one.dump() for one in embedded.other_embedded_certs}
    signed_data, signer = embedded.signed_data, embedded.signer_info
    algorithms = [one.dump() for one in signed_data["digest_algorithms"]]
    company = (
        bool(others - known),
        algorithms != [signer["digest_algorithm"].dump()],
        signed_data["crls"].native is not None,
        bool(signer["unsigned_attrs"].native),
        (signed_data["version"].native, signer["version"].native) != ("v1", "v1"),
    )
    if any(company):
        raise Altered("altered")


def validated(
    embedded: EmbeddedPdfSignature, roots: Sequence[Certificate], now: datetime
) -> PdfSignatureStatus:
    """What the library finds, with only the given authorities trusted and no network."""
    context = ValidationContext(
        trust_roots=list(roots), moment=now, allow_fetching=False, revocation_mode="soft-fail"
    )
    return validate_pdf_signature(embedded, context)


def answer(embedded: EmbeddedPdfSignature, status: PdfSignatureStatus) -> Check:
    """The strict rule on what was found."""
    why_not = None
    if status.coverage != SignatureCoverageLevel.ENTIRE_FILE:
        why_not = "not_whole_file"
    elif not (status.intact and status.valid) or embedded.docmdp_level is None:
        why_not = "altered"
    elif not status.trusted:
        why_not = "not_trusted"
    names = status.signing_cert.subject.native
    return Check(
        unaltered=why_not is None,
        why_not=why_not,
        signed_by=str(names.get("common_name", "")),
        signed_at=status.signer_reported_dt,
        signer_sha256=status.signing_cert.sha256.hex(),
    )
