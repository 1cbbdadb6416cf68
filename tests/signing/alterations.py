"""What others may do to a signed file: each gives the changed file."""

import io
from typing import Any

import pikepdf
from pyhanko.pdf_utils.generic import (
    ArrayObject,
    DictionaryObject,
    NameObject,
    NumberObject,
    StreamObject,
    TextStringObject,
)
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.sign.fields import MDPPerm, SigFieldSpec, SigSeedSubFilter, append_signature_field
from pyhanko.sign.signers.pdf_signer import PdfSignatureMetadata, PdfSigner

from app.signing.keys import SigningKey
from app.signing.signature import FIELD, signer_of


def updated(writer: IncrementalPdfFileWriter) -> bytes:
    out = io.BytesIO()
    writer.write(out)  # type: ignore[no-untyped-call]
    return out.getvalue()


def with_annotation(pdf: bytes) -> bytes:
    """A note put on the first page, as PDF readers add them."""
    writer = IncrementalPdfFileWriter(io.BytesIO(pdf))
    page = writer.root["/Pages"]["/Kids"][0]
    note = DictionaryObject(  # type: ignore[no-untyped-call]
        {
            NameObject("/Type"): NameObject("/Annot"),
            NameObject("/Subtype"): NameObject("/Text"),
            NameObject("/Rect"): ArrayObject(map(NumberObject, (20, 20, 40, 40))),
            NameObject("/Contents"): TextStringObject("This machine is sound."),
        }
    )
    held = [*page.get("/Annots", [])]
    page["/Annots"] = ArrayObject([*held, writer.add_object(note)])
    writer.update_container(page)
    return updated(writer)


def with_other_attachment(pdf: bytes) -> bytes:
    """The attached data replaced in an update behind the signature."""
    writer = IncrementalPdfFileWriter(io.BytesIO(pdf))
    names = writer.root["/Names"]["/EmbeddedFiles"]["/Names"]
    entry = names[1]["/EF"]
    entry["/F"] = writer.add_object(StreamObject(stream_data=b'{"finding":"within"}'))
    writer.update_container(entry)
    return updated(writer)


def saved_again(pdf: bytes) -> bytes:
    """The file as another tool writes it."""
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        opened.save(out)
    return out.getvalue()


def signed_loosely(pdf: bytes, key: SigningKey, **how: Any) -> bytes:
    """A signature by the right key that does not forbid changes."""
    meta = PdfSignatureMetadata(
        field_name=FIELD, subfilter=SigSeedSubFilter.PADES, md_algorithm="sha256", **how
    )
    writer = IncrementalPdfFileWriter(io.BytesIO(pdf))
    return bytes(PdfSigner(meta, signer=signer_of(key)).sign_pdf(writer).getvalue())


def signed_twice(pdf: bytes, key: SigningKey) -> bytes:
    """Two signatures of one key, the first of which allows the second."""
    once = signed_loosely(pdf, key)
    writer = IncrementalPdfFileWriter(io.BytesIO(once))
    append_signature_field(writer, SigFieldSpec("Second"))
    meta = PdfSignatureMetadata(field_name="Second", subfilter=SigSeedSubFilter.PADES)
    return bytes(PdfSigner(meta, signer=signer_of(key)).sign_pdf(writer).getvalue())


def letting_forms_be_filled(pdf: bytes, key: SigningKey) -> bytes:
    """A certification that allows more than ours."""
    return signed_loosely(pdf, key, certify=True, docmdp_permissions=MDPPerm.FILL_FORMS)
