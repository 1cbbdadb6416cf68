"""The certificate's letters: two static fonts from a package, never the system's.

A character that they lack would be drawn by whatever font the machine has, or as an empty box,
without a word; so it is looked for beforehand and named.
"""

import functools
import unicodedata
from collections.abc import Iterable
from html.parser import HTMLParser
from pathlib import Path

import fontpkg_lato  # type: ignore[import-untyped]
from fontTools.ttLib import TTFont  # type: ignore[import-untyped]

FILES = {"regular.ttf": "Lato-Regular.ttf", "bold.ttf": "Lato-Bold.ttf"}
"""Name of the asset, and of the file in the package."""
SILENT = frozenset({"title", "style"})
"""What stands in these is not drawn."""
UNPRINTED = frozenset("\n\t\r")
"""White space that the layout takes as a break or a space."""


@functools.cache
def font_assets() -> dict[str, bytes]:
    """The font files under the names that the style sheet knows."""
    folder = fontpkg_lato.ROOT / "files"
    return {name: (folder / file).read_bytes() for name, file in FILES.items()}


@functools.cache
def printable() -> frozenset[int]:
    """Code points that both fonts have."""
    folder = fontpkg_lato.ROOT / "files"
    return frozenset.intersection(*(letters_of(folder / file) for file in FILES.values()))


def letters_of(file: Path) -> frozenset[int]:
    """Code points that a font file has a letter for."""
    with TTFont(file, lazy=True) as font:
        return frozenset(font.getBestCmap())


@functools.cache
def letter_widths(asset: str) -> dict[int, float]:
    """Width of each letter of a font in heights of its letters, by code point."""
    with TTFont(fontpkg_lato.ROOT / "files" / FILES[asset], lazy=True) as font:
        whole, advances = font["head"].unitsPerEm, font["hmtx"].metrics
        return {code: advances[name][0] / whole for code, name in font.getBestCmap().items()}


def may_be_unprintable(texts: Iterable[str]) -> bool:
    """Whether the fonts lack any character of these texts, drawn or not: a quick look at all of
    them together before any is looked at by itself."""
    characters = set().union(*texts) - UNPRINTED
    return not printable().issuperset(map(ord, characters))


def unprintable(texts: Iterable[str]) -> tuple[str, ...]:
    """The characters that cannot be printed, each once, with its name: `U+2603 SNOWMAN`."""
    wanted = sorted({character for text in texts for character in text} - UNPRINTED)
    return tuple(named(one) for one in wanted if ord(one) not in printable())


class Shown(HTMLParser):
    """The letters that a page or drawing puts on paper: not its names, not its rules."""

    def __init__(self) -> None:
        super().__init__()
        self.texts: list[str] = []
        self._silent = 0

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self._silent += tag in SILENT

    def handle_endtag(self, tag: str) -> None:
        self._silent -= tag in SILENT

    def handle_data(self, data: str) -> None:
        if not self._silent:
            self.texts.append(data)


def texts_shown(html: str) -> list[str]:
    """Every text of a page that is drawn with a font."""
    page = Shown()
    page.feed(html)
    page.close()
    return page.texts


def named(character: str) -> str:
    """A character by number and name, for one that may not show on the screen either."""
    return f"U+{ord(character):04X} {unicodedata.name(character, 'without a name')}"
