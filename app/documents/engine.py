"""The only file that imports WeasyPrint. It is imported late, by `pango.engine()`.

Locked: nothing is loaded but the named assets that the caller hands over. Any warning of the
layout engine refuses the document: a picture cut short or a rule not understood would otherwise
print as if nothing were missing.
"""

import io
import logging
import mimetypes
import threading
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from importlib.resources import files
from typing import Any

import weasyprint  # type: ignore[import-untyped]
from weasyprint.css import ColorProfile  # type: ignore[import-untyped]
from weasyprint.text.fonts import FontConfiguration  # type: ignore[import-untyped]
from weasyprint.urls import (  # type: ignore[import-untyped]
    FatalURLFetchingError,
    URLFetcher,
    URLFetcherResponse,
)

from app.documents.finishing import VARIANT, finish
from app.documents.soundness import only_own_fonts, refuse_unless_sound
from app.errors import Unavailable

SCHEME = "asset:///"
ENGINE_LOG = "weasyprint"
LIGHT, PROFILE = "light", "sRGB2014.icc"
"""The output intent: colours of light, as the profile in the engine's own package says."""

MM_PER_PIXEL = 25.4 / 96.0

Finisher = Callable[[Any, Any], None]

# Fonts are set up once and shared, which the font library does not bear in two threads at once:
# it then gives different files without a word.
_ONE_AT_A_TIME = threading.Lock()
_FONTS: list[FontConfiguration] = []


@dataclass(frozen=True, slots=True)
class Enclosure:
    """A file that goes into the PDF as an attachment."""

    name: str
    description: str
    content: bytes
    made_at: datetime


class LockedFetcher(URLFetcher):  # type: ignore[misc]
    """Serves exactly the assets it was given; anything else stops the document."""

    def __init__(self, assets: Mapping[str, bytes]) -> None:
        super().__init__(allowed_protocols={"asset"}, allow_redirects=False, fail_on_errors=True)
        self.assets = assets

    def fetch(self, url: str, headers: object = None) -> URLFetcherResponse:
        name = url.removeprefix(SCHEME)
        if not url.startswith(SCHEME) or name not in self.assets:
            raise FatalURLFetchingError(f"only own assets may be loaded, not {url[:120]}")
        kind = mimetypes.guess_type(name)[0] or "application/octet-stream"
        return URLFetcherResponse(url, self.assets[name], {"Content-Type": kind})


class Complaints(logging.Handler):
    """Collects what the layout engine warns of."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.words: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.words.append(record.getMessage())


@contextmanager
def no_complaints() -> Iterator[None]:
    """Raise Unavailable (`render_refused`) when the engine warns or a foreign URL is asked for."""
    logger, complaints = logging.getLogger(ENGINE_LOG), Complaints()
    quiet, logger.propagate = logger.propagate, False
    logger.addHandler(complaints)
    try:
        yield
    except FatalURLFetchingError as error:
        raise Unavailable("render_refused", None, reason=str(error)) from None
    finally:
        logger.removeHandler(complaints)
        logger.propagate = quiet
    if complaints.words:
        raise Unavailable("render_refused", None, reason="; ".join(complaints.words)[:500])


def to_pdf(
    html: str,
    assets: Mapping[str, bytes],
    *,
    finisher: Finisher | None = None,
    enclosures: tuple[Enclosure, ...] = (),
    identifier: bytes | None = None,
) -> bytes:
    """Lay the page out as PDF/A-3a and PDF/UA-1. Raises Unavailable (`render_refused`)."""

    def complete(document: Any, pdf: Any) -> None:
        finish(pdf)
        if finisher is not None:
            finisher(document, pdf)
        refuse_unless_sound(pdf)

    with _ONE_AT_A_TIME, no_complaints():
        return by_the_engine(
            html,
            assets,
            finisher=complete,
            pdf_identifier=identifier,
            attachments=[attachment(one) for one in enclosures],
        )


def by_the_engine(html: str, assets: Mapping[str, bytes], **more: object) -> bytes:
    """What the layout engine makes of the page as a file of this kind, by itself."""
    pages = laid_out(html, assets, color_profiles={LIGHT: light_profile()}, output_intent=LIGHT)
    return bytes(pages.write_pdf(pdf_variant=VARIANT, output_intent=LIGHT, **more))


def lowest_mark_mm(html: str, assets: Mapping[str, bytes]) -> float:
    """How far below the upper edge of its one tall page the last bookmark stands; nothing is
    written. Raises Unavailable (`render_refused`)."""
    with _ONE_AT_A_TIME, no_complaints():
        marks = laid_out(html, assets).make_bookmark_tree()
    _label, (_page, _x, y_px), _below, _state = marks[-1]
    return float(y_px) * MM_PER_PIXEL


def to_picture(html: str, assets: Mapping[str, bytes]) -> bytes | None:
    """Lay the page out to be drawn inside of another document, which has the structure; None when
    one page does not hold it.

    Raises Unavailable (`render_refused`).
    """
    with _ONE_AT_A_TIME, no_complaints():
        drawn = laid_out(html, assets)
        if len(drawn.pages) > 1:
            return None
        written = drawn.write_pdf(finisher=lambda _, pdf: only_own_fonts(pdf))
    return bytes(written)


def laid_out(html: str, assets: Mapping[str, bytes], **options: object) -> weasyprint.Document:
    """The pages, made from the assets alone."""
    page = weasyprint.HTML(string=html, url_fetcher=LockedFetcher(assets), base_url=SCHEME)
    return page.render(font_config=fonts(), **options)


def light_profile() -> ColorProfile:
    """The sRGB profile that the engine brings along; it would leave the file open."""
    content = (files("weasyprint.pdf") / PROFILE).read_bytes()
    components = (["r"], ["g"], ["b"])
    return ColorProfile(io.BytesIO(content), PROFILE, "relative-colorimetric", components)


def fonts() -> FontConfiguration:
    """The one font configuration of this process."""
    if not _FONTS:
        _FONTS.append(FontConfiguration())
    return _FONTS[0]


def attachment(enclosure: Enclosure) -> weasyprint.Attachment:
    """The attachment; its times are the record's, not the clock's. The engine writes them as UTC
    whatever their zone."""
    made_at = enclosure.made_at.astimezone(UTC)
    return weasyprint.Attachment(
        file_obj=io.BytesIO(enclosure.content),
        name=enclosure.name,
        description=enclosure.description,
        relationship="Data",
        created=made_at,
        modified=made_at,
    )
