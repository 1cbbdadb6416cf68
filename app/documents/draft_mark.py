"""The word that stands across each page of a draft, drawn as shapes: it is no text of the page."""

from typing import Any

import fontpkg_lato  # type: ignore[import-untyped]
from fontTools.pens.svgPathPen import SVGPathPen  # type: ignore[import-untyped]
from fontTools.ttLib import TTFont  # type: ignore[import-untyped]

from app.documents.fonts import FILES

WIDTH_MM, HEIGHT_MM = 210.0, 297.0
LONG_MM = 170.0
"""Length of the word along its line, which rises across the page."""
RISES_DEG = 52.0
INK = "#E9EBED"
"""As light as letters on it stay readable; solid, since nothing in the file may be see-through."""


def draft_mark(word: str) -> bytes:
    """The word across a page of paper, as SVG without a font. Letters that the font lacks are left
    out."""
    with TTFont(fontpkg_lato.ROOT / "files" / FILES["bold.ttf"], lazy=True) as font:
        shapes, length = letter_shapes(font, word)
        height = font["OS/2"].sCapHeight
    scale = LONG_MM / max(length, 1)
    placed = (
        f"translate({WIDTH_MM / 2} {HEIGHT_MM / 2}) rotate(-{RISES_DEG}) scale({scale:.6f} "
        f"-{scale:.6f}) translate({-length / 2} {-height / 2})"
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH_MM}mm" height="{HEIGHT_MM}mm" '
        f'viewBox="0 0 {WIDTH_MM} {HEIGHT_MM}"><g transform="{placed}" fill="{INK}">'
        f"{shapes}</g></svg>"
    ).encode()


def letter_shapes(font: Any, word: str) -> tuple[str, int]:
    """The letters beside each other in the font's own units, and how long they are."""
    letters, known, at, shapes = font.getGlyphSet(), font.getBestCmap(), 0, []
    for name in (known[ord(one)] for one in word if ord(one) in known):
        pen = SVGPathPen(letters)
        letters[name].draw(pen)
        if path := pen.getCommands():
            shapes.append(f'<path transform="translate({at} 0)" d="{path}"/>')
        at += font["hmtx"].metrics[name][0]
    return "".join(shapes), at
