"""An address as a code on the terminal, for the camera of a tablet."""

import sys

import segno

from app.wording.translation import _

BLOCKS = "▀▄█"


def tell_others(address: str | None) -> None:
    """Say where other devices reach the pages, and show it to the camera of a tablet; nothing
    where they do not."""
    if address is not None:
        print(_("Others reach it at {address}").format(address=address))
        show_code(address)


def show_code(address: str) -> None:
    """Print the code where somebody may look at it: on a terminal that has the signs for it.

    A log file gets none: there it would be two dozen lines that nobody can read.
    """
    if sys.stdout.isatty() and can_print(BLOCKS, sys.stdout.encoding):
        print()
        segno.make(address, error="m", micro=False).terminal(out=sys.stdout, compact=True)
        print()


def can_print(signs: str, encoding: str | None) -> bool:
    """Whether an output with this encoding takes the signs."""
    try:
        signs.encode(encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True
