"""The one door to translated text: looked up at call time in the catalogue in force.

Without a catalogue every text is its own translation. `_` is for texts that are spoken at once,
`later` marks texts in tables so that they are found for translation and looked up when spoken.
"""

import gettext
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

_IN_FORCE: ContextVar[gettext.NullTranslations] = ContextVar("catalogue")
_UNTRANSLATED = gettext.NullTranslations()


def catalogue() -> gettext.NullTranslations:
    return _IN_FORCE.get(_UNTRANSLATED)


@contextmanager
def speaking(translations: gettext.NullTranslations) -> Iterator[None]:
    """Use these translations until the block ends, in this thread or task alone."""
    token = _IN_FORCE.set(translations)
    try:
        yield
    finally:
        _IN_FORCE.reset(token)


def _(text: str) -> str:
    # A catalogue answers the empty text with its own header.
    return catalogue().gettext(text) if text else ""


def counted(one: str, many: str, count: int) -> str:
    """Return the form of the text that goes with `count`."""
    return catalogue().ngettext(one, many, count)


def later(text: str) -> str:
    """Mark a text for translation; `_` looks it up when it is spoken."""
    return text
