"""An address as a code that a camera reads (ISO/IEC 18004), dark on light whatever the page."""

import segno

DARK, LIGHT = "#000", "#fff"
QUIET_ZONE = 4
"""Light modules all round, as the standard asks for."""


def code(words: str, title: str) -> str:
    """The code as SVG that fills what holds it; `title` says where it leads."""
    made = segno.make(words, error="m", micro=False)
    return str(
        made.svg_inline(title=title, border=QUIET_ZONE, omitsize=True, dark=DARK, light=LIGHT)
    )
