"""PDF bytes in, signed PDF bytes out: one certification signature that allows no change after it.

It follows PAdES (baseline B-B): sub-filter ETSI.CAdES.detached, the signer's certificate bound in;
with a time-stamp service baseline B-T.
"""

import io
import logging
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from typing import Any

from asn1crypto import parser  # type: ignore[import-untyped]
from asn1crypto.cms import ContentInfo  # type: ignore[import-untyped]
from pyhanko.keys import load_certs_from_pemder_data, load_private_key_from_pemder_data
from pyhanko.pdf_utils.content import PdfContent
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.pdf_utils.layout import AxisAlignment, BoxConstraints, Margins, SimpleBoxLayoutRule
from pyhanko.pdf_utils.metadata.model import DocumentMetadata
from pyhanko.pdf_utils.misc import PdfError
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.pdf_utils.writer import BasePdfFileWriter
from pyhanko.sign.fields import MDPPerm, SigSeedSubFilter, enumerate_sig_fields
from pyhanko.sign.general import SigningError
from pyhanko.sign.signers import SimpleSigner
from pyhanko.sign.signers.constants import ESIC_EXTENSION_1
from pyhanko.sign.signers.pdf_signer import PdfSignatureMetadata, PdfSigner, PdfSigningSession
from pyhanko.stamp import StaticStampStyle
from pyhanko_certvalidator.registry import SimpleCertificateStore

from app.errors import Unavailable
from app.signing.keys import SigningKey
from app.signing.time_stamp_service import Service
from app.signing.time_stamps import NoStamp, Stamper

UNIVERSAL, CONTEXT, CONSTRUCTED, SEQUENCE = 0, 2, 1, 16
"""Of identifiers (ITU-T X.690, 8.1.2)."""
FIELD = "ShopSignature"
"""Name of the signature field that the unsigned file holds."""
ROOM_BESIDE = 3_072
"""Bytes that a signature without a stamp and its attributes take at most, certificates apart."""


@dataclass(frozen=True, slots=True)
class Statement:
    """What the signature itself states beside who signed."""

    when: datetime
    reason: str
    box_pdf: bytes
    """The visible box as a one-page PDF of the field's size."""


class SignerAt(PdfSigner):
    """Signs with the moment of the record instead of asking the clock again."""

    when: datetime

    def init_signing_session(
        self, pdf_out: BasePdfFileWriter, existing_fields_only: bool = False
    ) -> PdfSigningSession:
        session = super().init_signing_session(pdf_out, existing_fields_only)
        session.system_time = self.when
        return session

    def register_extensions(self, pdf_out: BasePdfFileWriter, *, md_algorithm: str) -> None:
        """The extension for PAdES alone (ETSI EN 319 142-1): what the library states beside it for
        keys on a curve would make a PDF 2.0 of a file that is PDF/A-3, which is a PDF 1.7."""
        pdf_out.register_extension(ESIC_EXTENSION_1)


class AsBytes(SimpleSigner):
    """Gives a signature as its bytes. Where a length in it happens to end in the byte 80, the
    library takes it for a length that is not told and encodes every part thousands of times."""

    async def async_sign(self, *args: Any, **options: Any) -> ContentInfo | bytes:
        made = await super().async_sign(*args, **options)
        return made if options.get("dry_run") else encoded(made)


class MetadataAt(DocumentMetadata):
    """Says of the file that it was last changed at the moment of the record: the library sets the
    time of its own clock whenever it writes."""

    def __init__(self, when: datetime) -> None:
        super().__init__()
        self.last_modified = when

    def __setattr__(self, name: str, value: object) -> None:
        if (name, value) != ("last_modified", "now"):
            super().__setattr__(name, value)


class WriterAt(IncrementalPdfFileWriter):
    """Writes what is added with the moment of the record as that of the change."""

    def __init__(self, pdf: bytes, when: datetime) -> None:
        super().__init__(io.BytesIO(pdf), prev=reader_of(pdf), strict=True)
        # What is written into hangs on what was read, so that this reader is for one file only.
        reader_of.cache_clear()
        self._meta = MetadataAt(when)


class Box(PdfContent):
    """The visible box: the one page of a PDF, drawn into the signature field."""

    def __init__(self, pdf: bytes, width: float, height: float) -> None:
        super().__init__(box=BoxConstraints(width=width, height=height))
        self.pdf = pdf

    def render(self) -> bytes:
        page = PdfFileReader(io.BytesIO(self.pdf))
        self.resources.xobject["/Box"] = self._ensure_writer.import_page_as_xobject(page)
        return b"/Box Do"


@lru_cache(maxsize=1)
def reader_of(pdf: bytes) -> PdfFileReader:
    """The file read, once for its field's size and for signing it."""
    return PdfFileReader(io.BytesIO(pdf), strict=True)


@lru_cache(maxsize=1)
def field_size(pdf: bytes) -> tuple[float, float]:
    """Width and height of the signature field, in points. Raises Unavailable without one."""
    for name, _value, reference in enumerate_sig_fields(reader_of(pdf)):
        if name == FIELD:
            x1, y1, x2, y2 = (float(value) for value in reference.get_object()["/Rect"])
            return abs(x2 - x1), abs(y2 - y1)
    raise Unavailable("signature_field_missing", FIELD)


def sign(
    pdf: bytes, key: SigningKey, statement: Statement, service: Service | None = None
) -> bytes:
    """Sign the file's one empty signature field; with a service, also stamp it with the time.

    Raises Unavailable: `signing_failed` when the library refuses, `time_stamp_unreachable` when
    the service gives no stamp. The caller checks the result.
    """
    logging.getLogger("pyhanko").setLevel(logging.ERROR)
    meta = PdfSignatureMetadata(
        field_name=FIELD,
        subfilter=SigSeedSubFilter.PADES,
        md_algorithm="sha256",
        certify=True,
        docmdp_permissions=MDPPerm.NO_CHANGES,
        reason=statement.reason,
        name=key.common_name,
    )
    signer = SignerAt(
        meta,
        signer=signer_of(key),
        timestamper=stamper_for(service) if service else None,
        stamp_style=box_style(pdf, statement.box_pdf),
    )
    signer.when = statement.when
    try:
        writer = WriterAt(pdf, statement.when)
        # How long a stamp is must be tried; what is signed without one has room to spare.
        room = None if service else room_for(key)
        signed = signer.sign_pdf(writer, existing_fields_only=True, bytes_reserved=room)
    except NoStamp as error:
        address = service.address if service else ""
        raise Unavailable(
            "time_stamp_unreachable", None, address=address, reason=str(error)
        ) from error
    except (SigningError, PdfError) as error:
        raise Unavailable("signing_failed", None, reason=str(error)) from error
    return bytes(signed.getvalue())


def room_for(key: SigningKey) -> int:
    """Hexadecimal digits that are kept for a signature without a stamp.

    It holds the certificates, and names the signer's issuer twice. Whoever checks the file reads
    every digit, so that there are not many more than it takes.
    """
    above = len(key.authority_pem) + sum(len(one) for one in key.between_der)
    return 2 * (ROOM_BESIDE + 3 * len(key.certificate_der) + above)


@lru_cache(maxsize=1)
def stamper_for(service: Service) -> Stamper:
    """One for all signatures: it asks once more only for the first, to learn the stamp's size."""
    return Stamper(service)


def encoded(made: ContentInfo) -> bytes:
    """The bytes of a signature (RFC 5652, 3): its type, and explicitly tagged what is signed."""
    signed = parser.emit(UNIVERSAL, CONSTRUCTED, SEQUENCE, made["content"].contents)
    tagged = parser.emit(CONTEXT, CONSTRUCTED, 0, signed)
    kind = made["content_type"].dump()
    whole: bytes = parser.emit(UNIVERSAL, CONSTRUCTED, SEQUENCE, kind + tagged)
    return whole


def signer_of(key: SigningKey) -> SimpleSigner:
    """The library's signer, from the opened key."""
    (certificate,) = load_certs_from_pemder_data(key.certificate_der)
    above = [*load_certs_from_pemder_data(key.authority_pem)]
    above += [one for der in key.between_der for one in load_certs_from_pemder_data(der)]
    registry = SimpleCertificateStore.from_certs(above)  # type: ignore[no-untyped-call]
    return AsBytes(
        signing_cert=certificate,
        signing_key=load_private_key_from_pemder_data(key.private_der, None),
        cert_registry=registry,
    )


def box_style(pdf: bytes, box_pdf: bytes) -> StaticStampStyle:
    """The visible box, filling the field to its edges."""
    width, height = field_size(pdf)
    return StaticStampStyle(
        background=Box(box_pdf, width, height),
        border_width=0,
        background_opacity=1.0,
        background_layout=SimpleBoxLayoutRule(
            x_align=AxisAlignment.ALIGN_MID,
            y_align=AxisAlignment.ALIGN_MID,
            margins=Margins(0, 0, 0, 0),
        ),
    )
