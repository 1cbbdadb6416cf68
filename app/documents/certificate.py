"""A certificate's content as PDF bytes, with the data inside and an empty signature field."""

import functools
import hashlib
from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from datetime import datetime
from gettext import NullTranslations
from html import unescape
from types import MappingProxyType
from typing import Any

import segno
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from app import resources
from app.documents import row_words
from app.documents.content import CertificateContent, CharacteristicLine, Line, texts_of
from app.documents.field import stands_on_first_page, to_signature_field
from app.documents.first_page import Fit, fitting, with_all
from app.documents.first_page_size import DENSITIES, Drawn, aspect, foreseen_mm
from app.documents.fonts import font_assets, may_be_unprintable, texts_shown, unprintable
from app.documents.line_ends import printed
from app.documents.made_with import MadeLine, made_alike, made_apart
from app.documents.pango import engine
from app.documents.photos import for_print
from app.drawings.inks import PRINT
from app.drawings.outline import ThreeViews, three_views
from app.drawings.tolerance_bar import Bar, tolerance_bar
from app.errors import BadInput, Problem, Unavailable
from app.wording import itself
from app.wording.digests import in_fours
from app.wording.translation import _, catalogue

Pictures = Mapping[str, bytes]
Reach = Callable[[Fit], float]
NO_PICTURES: Pictures = MappingProxyType({})
DATA_NAME = "measurement.json"
BAR_LETTER = 16.0
"""Words at the ends of a bar, of 200 parts of its width: 6 points on the narrowest of them."""

PHOTOS_AT_ONCE = 2
"""Reading and writing them leaves a second processor to itself."""

SAFETY_MM = 0.8
"""More than what is foreseen was met to differ from what is laid out."""

BOX_LETTERS = (7.0, 6.0, 5.0, 4.0)
"""Heights of the letters in the signature box, in points; the largest that fits is taken."""


@dataclass(frozen=True, slots=True)
class Printed:
    """What the template gets beside the content itself."""

    content: CertificateContent
    fit: Fit
    views: ThreeViews
    before_views: ThreeViews | None
    """The measurement before, drawn by itself with the same exaggeration."""
    data_sha256: str
    qr: str
    draft: bool = False
    """Whether these are the pages of a draft, which nobody signs and nobody can check."""

    @property
    def listed(self) -> tuple[CharacteristicLine, ...]:
        """The characteristics that the first page lists: required, or outside."""
        return self.fit.listed(self.content)

    @property
    def not_listed(self) -> int:
        """How many of them it leaves to the table of results."""
        return len(self.content.listed) - len(self.listed)

    @property
    def usual_factor(self) -> str:
        """The coverage factor that goes without saying in a row of the results."""
        return row_words.usual_factor(self.content)

    @property
    def made_apart(self) -> tuple[MadeLine, ...]:
        """How both measurements were made, side by side where they differ."""
        return made_apart(self.content)

    @property
    def made_alike(self) -> tuple[Line, ...]:
        """What is the same of both."""
        return made_alike(self.content)

    @property
    def all_beside(self) -> str:
        """When and by whom all photos were added, where that is the same of several."""
        said = {one.beside for one in self.content.photos}
        return said.pop() if len(said) == 1 < len(self.content.photos) else ""

    @property
    def method_of_both(self) -> bool:
        """Whether any sentence about the method holds of both measurements."""
        return not set(self.content.method).isdisjoint(self.content.before_method)


def letters_missing(content: CertificateContent, box: tuple[str, ...] = ()) -> tuple[Problem, ...]:
    """What of the content, and of the signature box, cannot be printed, by place, each character
    named."""
    texts = (*texts_of(content), *(("signature_box", line) for line in box))
    if not may_be_unprintable(text for _place, text in texts):
        return ()
    problems: dict[str, set[str]] = {}
    for place, text in texts:
        if missing := unprintable([text]):
            problems.setdefault(place, set()).update(missing)
    return tuple(
        Problem("characters_not_printable", place, {"characters": tuple(sorted(missing))})
        for place, missing in problems.items()
    )


def refuse_unprintable(content: CertificateContent) -> None:
    """Raise BadInput (`characters_not_printable`) with what of the content cannot be printed."""
    if problems := letters_missing(content):
        raise BadInput(problems)


def print_certificate(
    content: CertificateContent, data: bytes, pictures: Pictures = NO_PICTURES
) -> bytes:
    """The unsigned PDF. The same content, data and pictures give the same bytes.

    All that the first page must say stands on it together with the signature; where room is
    short, what is told again elsewhere takes less of it.

    data: the canonical JSON that goes in as an attachment; its digest is printed.
    pictures: the photos of the content by their names, as the shop keeps them.
    Raises BadInput (`characters_not_printable`); Unavailable (`pdf_needs_pango`,
    `render_refused`).
    """
    refuse_unprintable(content)
    with ThreadPoolExecutor(1) as beside:
        photos = beside.submit(small_photos, content, pictures)
        drawn = prepared(content, data)
        trial: Reach = functools.cache(lambda fit: reach_mm(replace(drawn, fit=fit)))
        likely = fitting(with_all(content), foreseen(drawn, trial))
        loaded = {**assets(), **photos.result()}
    pdf, on_first_page = written(replace(drawn, fit=likely), data, loaded)
    if on_first_page:
        return pdf
    return written(replace(drawn, fit=fitting(with_all(content), trial)), data, loaded)[0]


def foreseen(drawn: Printed, trial: Reach) -> Reach:
    """How far down the first page will reach: worked out from its letters, which takes no time;
    laid out where names are at their very longest."""
    content = drawn.content
    bars = (drawn_bar(line.bar, line.name) for line in content.listed if line.bar)
    shapes = Drawn(aspect(drawn.views.side), aspect(next(bars, "")))

    def reach(fit: Fit) -> float:
        if fit.name not in DENSITIES:
            return trial(fit)
        return foreseen_mm(content, fit, shapes) + SAFETY_MM

    return reach


def reach_mm(printed: Printed) -> float:
    """How far down its paper the first page reaches."""
    page = page_of(printed, "first_page_alone.html")
    reach: float = engine().lowest_mark_mm(page, assets())
    return reach


def written(printed: Printed, data: bytes, loaded: dict[str, bytes]) -> tuple[bytes, bool]:
    """The PDF, and whether the signature stands on its first page."""
    printing, content = engine(), printed.content
    enclosure = printing.Enclosure(
        DATA_NAME, _("Measurement data"), data, datetime.fromisoformat(content.issued_at)
    )
    places = []

    def finish(document: Any, being_written: Any) -> None:
        places.append(stands_on_first_page(being_written))
        to_signature_field(document, being_written)

    pdf: bytes = printing.to_pdf(
        lettered(page_of(printed, "certificate.html")),
        loaded,
        finisher=finish,
        enclosures=(enclosure,),
        identifier=hashlib.sha256(b"certificate" + data).hexdigest()[:32].encode(),
    )
    return pdf, places == [True]


def small_photos(content: CertificateContent, pictures: Pictures) -> dict[str, bytes]:
    """The photos of the content, small enough for print; one that is missing is refused by name
    when it is to be drawn."""
    names = [one.name for one in content.photos if one.name in pictures]
    with ThreadPoolExecutor(PHOTOS_AT_ONCE) as beside:
        small = beside.map(for_print, [pictures[name] for name in names])
        return dict(zip(names, small, strict=True))


def lettered(html: str) -> str:
    """The page as it is, once all that it draws has letters: labels and drawings as well.

    Raises BadInput (`characters_not_printable`).
    """
    if may_be_unprintable([unescape(html)]) and (missing := unprintable(texts_shown(html))):
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


def prepared(content: CertificateContent, data: bytes) -> Printed:
    """The content with its drawings, laid out for much room."""
    digest = hashlib.sha256(data).hexdigest()
    now, before = content.outline, content.outline_before
    views = three_views(now, before, inks=PRINT, phase=content.phase)
    before_views = before and three_views(
        before, None, inks=PRINT, phase="before", exaggeration=views.exaggeration
    )
    fit = Fit("roomy", len(content.listed), two_lines=True)
    return Printed(content, fit, views, before_views, digest, qr_code(content, digest))


def page_of(printed: Printed, template: str) -> str:
    """A template's page before it is laid out."""
    return environment().get_template(template).render(p=printed, c=printed.content)


def qr_code(content: CertificateContent, digest: str) -> str:
    """The address of the check page; without one, the number and the digest of the data."""
    words = content.check_address or f"{content.number} sha256:{digest}"
    code = segno.make(words, error="m", micro=False)
    title = itself.of("code", content.kind).format(words=words)
    return code.svg_inline(title=title, border=2, omitsize=True, dark=PRINT.ink)


def drawn_bar(bar: Bar, title: str) -> Markup:
    """The tolerance bar for print."""
    return Markup(tolerance_bar(bar, title, inks=PRINT, letter=BAR_LETTER))


def assets() -> dict[str, bytes]:
    """All that a document may load: the fonts and its style sheet."""
    style = (resources.templates() / "certificate" / "certificate.css").read_bytes()
    return {**font_assets(), "certificate.css": style}


def environment() -> Environment:
    """Templates of documents, in the language in force."""
    return environment_in(catalogue())


@functools.cache
def environment_in(language: NullTranslations) -> Environment:
    """Made once a language: everything escaped, a missing name is an error."""
    made = Environment(
        loader=FileSystemLoader(resources.templates() / "certificate"),
        autoescape=True,
        undefined=StrictUndefined,
        extensions=["jinja2.ext.i18n"],
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=printed,
    )
    made.install_gettext_translations(language, newstyle=False)  # type: ignore[attr-defined]
    made.filters.update(drawing=Markup, in_fours=in_fours)
    made.globals.update(bar=drawn_bar, itself=itself.of)
    made.globals.update(told=row_words.told, background=row_words.background)
    return made
