"""A small page with a signature field, for tests of signing alone."""

from datetime import datetime
from functools import cache

from app.documents.certificate import assets, signature_box
from app.documents.engine import to_pdf
from app.documents.field import to_signature_field
from app.signing.keys import SigningKey
from app.signing.signature import Statement, field_size, sign
from app.signing.time_stamp_service import Service
from tests.databases import NOW

PAGE = """<html lang="en"><head><meta charset="utf-8"><title>A page to sign</title>
<link rel="stylesheet" href="asset:///certificate.css"></head><body><h1>A page to sign</h1>
<input type="checkbox" name="ShopSignature" title="Signature"></body></html>"""


@cache
def unsigned() -> bytes:
    return to_pdf(PAGE, assets(), finisher=to_signature_field)


def signed_with(
    key: SigningKey, when: datetime = NOW, page: bytes = b"", service: Service | None = None
) -> bytes:
    """The page, the small one unless another is given, signed at that moment."""
    page = page or unsigned()
    box = signature_box(("Ines", "signed", key.common_name), *field_size(page))
    return sign(page, key, Statement(when, "Test", box), service)
