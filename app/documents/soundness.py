"""What would break PDF/A or PDF/UA without a word of the layout engine, looked for before writing.

Each of these was met with a checker; the engine itself warns of none of them.
"""

from collections.abc import Iterable, Iterator
from typing import Any

from app.documents.finishing import elements
from app.errors import Unavailable

FAMILY = "Jigbook-Certificate"
"""The family of the style sheet as it is named in the file, bold with a suffix."""
OWN_FONTS = frozenset({FAMILY, f"{FAMILY}-Bold"})
HEADINGS = ("/H1", "/H2", "/H3", "/H4", "/H5", "/H6")
GREY_AND_RGB = frozenset({"/DeviceGray", "/DeviceRGB"})


def refuse_unless_sound(pdf: Any) -> None:
    """Raise Unavailable (`render_refused`) naming what would break the file's form."""
    only_own_fonts(pdf)
    read = list(elements(pdf))
    faults = [*unsound_figures(read), *skipped_headings(read), *unsound_pictures(pdf)]
    if faults:
        raise Unavailable("render_refused", None, reason="; ".join(faults)[:500])


def only_own_fonts(pdf: Any) -> None:
    """Raise Unavailable (`render_refused`) when a font of the system got in."""
    names = {font_name(one) for one in pdf.objects if is_kind(one, "/FontDescriptor")}
    if foreign := sorted(names - OWN_FONTS):
        raise Unavailable("render_refused", None, reason=f"foreign font {', '.join(foreign)}")


def is_kind(one: Any, kind: str) -> bool:
    """Whether an object is a dictionary of that type."""
    return isinstance(one, dict) and one.get("Type") == kind


def font_name(descriptor: Any) -> str:
    """A font's name without the letters that mark it as a part of the whole font."""
    return str(bytes(descriptor["FontName"]).decode().rpartition("+")[2].lstrip("/"))


def unsound_figures(read: Iterable[Any]) -> Iterator[str]:
    """Figures without a text in their place (ISO 14289-1, 7.3)."""
    for element in read:
        if element["S"] == "/Figure" and not getattr(element.get("Alt"), "string", ""):
            yield "a picture has no words in its place"


def skipped_headings(read: Iterable[Any]) -> Iterator[str]:
    """Headings that leave out a level, or do not begin with the first (ISO 14289-1, 7.4.2)."""
    level = 0
    for element in read:
        if element["S"] in HEADINGS:
            next_level = HEADINGS.index(element["S"]) + 1
            if next_level > level + 1:
                yield f"a heading of level {next_level} stands under one of level {level}"
            level = next_level


def unsound_pictures(pdf: Any) -> Iterator[str]:
    """Pictures to be smoothed (ISO 19005-3, 6.2.8), or in inks instead of light (6.2.4.3)."""
    for one in pdf.objects:
        extra = getattr(one, "extra", {})
        if extra.get("Subtype") != "/Image":
            continue
        if str(extra.get("Interpolate", "false")).lower() == "true":
            yield "a picture would be smoothed by the reader's program"
        if extra.get("ColorSpace") not in GREY_AND_RGB:
            yield f"a picture is in {extra.get('ColorSpace')}"
