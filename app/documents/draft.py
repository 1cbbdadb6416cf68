"""The pages of a certificate that is none: for the signer to read beforehand."""

import functools
import hashlib
from dataclasses import replace

from app.documents.certificate import (
    NO_PICTURES,
    Pictures,
    Reach,
    assets,
    lettered,
    page_of,
    prepared,
    reach_mm,
    refuse_unprintable,
    small_photos,
)
from app.documents.content import CertificateContent
from app.documents.draft_mark import draft_mark
from app.documents.first_page import fitting, with_all
from app.documents.pango import engine
from app.wording.translation import _

MARK = "draft.svg"


def print_draft(content: CertificateContent, pictures: Pictures = NO_PICTURES) -> bytes:
    """The pages, each with the word across it; no data inside, no code, no field to sign in.

    Raises as `print_certificate`.
    """
    refuse_unprintable(content)
    drawn = replace(prepared(content, b""), draft=True, qr="")
    trial: Reach = functools.cache(lambda fit: reach_mm(replace(drawn, fit=fit)))
    fit = fitting(with_all(content), trial)
    page = lettered(page_of(replace(drawn, fit=fit), "certificate.html"))
    loaded = {**assets(), **small_photos(content, pictures), MARK: draft_mark(_("DRAFT"))}
    identifier = hashlib.sha256(b"draft" + page.encode()).hexdigest()[:32].encode()
    pdf: bytes = engine().to_pdf(page, loaded, identifier=identifier)
    return pdf
