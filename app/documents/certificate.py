"""A certificate's content as PDF bytes, with the data inside and an empty signature field."""

import hashlib
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import segno
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from app import resources
from app.documents.content import CertificateContent, texts_of
from app.documents.field import stands_on_first_page, to_signature_field
from app.documents.fonts import font_assets, texts_shown, unprintable
from app.documents.pango import engine
from app.drawings.inks import PRINT
from app.drawings.outline import ThreeViews, three_views
from app.drawings.tolerance_bar import Bar, tolerance_bar
from app.errors import BadInput, Problem, Unavailable
from app.wording.translation import _, catalogue

DATA_NAME = "measurement.json"
MAY_FIT = 10
"""With more required characteristics than these there is no need to try."""
BAR_LETTER = 16.0
"""Words at the ends of a bar, of 200 parts of its width: 6 points on the narrowest of them."""

BOX_LETTERS = (7.0, 6.0, 5.0, 4.0)
"""Heights of the letters in the signature box, in points; the largest that fits is taken."""


@dataclass(frozen=True, slots=True)
class Printed:
    """What the template gets beside the content itself."""

    content: CertificateContent
    views: ThreeViews
    data_sha256: str
    qr: str
    crowded: bool


def letters_missing(content: CertificateContent, box: tuple[str, ...] = ()) -> tuple[Problem, ...]:
    """What of the content, and of the signature box, cannot be printed, by place, each character
    named."""
    problems: dict[str, set[str]] = {}
    for place, text in (*texts_of(content), *(("signature_box", line) for line in box)):
        if missing := unprintable([text]):
            problems.setdefault(place, set()).update(missing)
    return tuple(
        Problem("characters_not_printable", place, {"characters": tuple(sorted(missing))})
        for place, missing in problems.items()
    )


def print_certificate(content: CertificateContent, data: bytes) -> bytes:
    """The unsigned PDF. The same content and data give the same bytes.

    The signature stands on the first page: where the list of what is required leaves no room for
    it, it goes before that list, which then may run on.

    data: the canonical JSON that goes in as an attachment; its digest is printed.
    Raises BadInput (`characters_not_printable`); Unavailable (`pdf_needs_pango`,
    `render_refused`).
    """
    if problems := letters_missing(content):
        raise BadInput(problems)
    if len(content.required) <= MAY_FIT:
        pdf, on_first_page = laid_out(content, data, crowded=False)
        if on_first_page:
            return pdf
    return laid_out(content, data, crowded=True)[0]


def laid_out(content: CertificateContent, data: bytes, *, crowded: bool) -> tuple[bytes, bool]:
    """The PDF, and whether the signature stands on its first page."""
    printing = engine()
    enclosure = printing.Enclosure(
        DATA_NAME, _("Measurement data"), data, datetime.fromisoformat(content.issued_at)
    )
    places = []

    def finish(document: Any, written: Any) -> None:
        places.append(stands_on_first_page(written))
        to_signature_field(document, written)

    pdf: bytes = printing.to_pdf(
        lettered(certificate_html(content, data, crowded=crowded)),
        assets(),
        finisher=finish,
        enclosures=(enclosure,),
        identifier=hashlib.sha256(b"certificate" + data).hexdigest()[:32].encode(),
    )
    return pdf, places == [True]


def lettered(html: str) -> str:
    """The page as it is, once all that it draws has letters: labels and drawings as well.

    Raises BadInput (`characters_not_printable`).
    """
    if missing := unprintable(texts_shown(html)):
        raise BadInput([Problem("characters_not_printable", "document", {"characters": missing})])
    return html


def signature_box(lines: tuple[str, ...], width: float, height: float) -> bytes:
    """The visible signature as a one-page PDF of that size, in points.

    Long names get smaller letters; nothing of them is cut off. Raises BadInput
    (`characters_not_printable`); Unavailable (`pdf_needs_pango`, `render_refused`).
    """
    box = environment().get_template("signature_box.html")
    for letter in BOX_LETTERS:
        html = lettered(box.render(lines=lines, width=width, height=height, letter=letter))
        picture: bytes | None = engine().to_picture(html, assets())
        if picture is not None:
            return picture
    raise Unavailable("render_refused", None, reason="the signature does not fit its box")


def certificate_html(content: CertificateContent, data: bytes, *, crowded: bool = False) -> str:
    """The pages before they are laid out; crowded: the signature before what is required."""
    digest = hashlib.sha256(data).hexdigest()
    views = three_views(content.outline, content.outline_before, inks=PRINT)
    printed = Printed(content, views, digest, qr_code(content, digest), crowded)
    return environment().get_template("certificate.html").render(p=printed, c=content)


def qr_code(content: CertificateContent, digest: str) -> str:
    """The address of the check page; without one, the number and the digest of the data."""
    words = content.check_address or f"{content.number} sha256:{digest}"
    code = segno.make(words, error="m", micro=False)
    title = _("Code to check this certificate: {words}").format(words=words)
    return code.svg_inline(title=title, border=2, omitsize=True, dark=PRINT.ink)


def drawn_bar(bar: Bar, title: str) -> Markup:
    """The tolerance bar for print."""
    return Markup(tolerance_bar(bar, title, inks=PRINT, letter=BAR_LETTER))


def assets() -> dict[str, bytes]:
    """All that a document may load: the fonts and its style sheet."""
    style = (resources.templates() / "certificate" / "certificate.css").read_bytes()
    return {**font_assets(), "certificate.css": style}


def environment() -> Environment:
    """Templates of documents: everything escaped, a missing name is an error."""
    made = Environment(
        loader=FileSystemLoader(resources.templates() / "certificate"),
        autoescape=True,
        undefined=StrictUndefined,
        extensions=["jinja2.ext.i18n"],
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.install_gettext_translations(catalogue(), newstyle=False)  # type: ignore[attr-defined]
    made.filters["drawing"] = Markup
    made.globals["bar"] = drawn_bar
    return made
