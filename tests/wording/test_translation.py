"""Text is looked up when it is spoken, in the catalogue in force at that moment."""

import gettext

from app.wording import levelling
from app.wording.translation import _, counted, speaking


class Upper(gettext.NullTranslations):
    """A language in which everything is louder."""

    def gettext(self, message: str) -> str:
        return message.upper()

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return (msgid1 if n == 1 else msgid2).upper()


def test_texts_are_their_own_translation_without_a_catalogue() -> None:
    assert _("measurement") == "measurement"
    assert counted("one", "many", 2) == "many"
    assert _("") == ""


def test_a_catalogue_is_in_force_until_its_block_ends() -> None:
    with speaking(Upper()):
        assert _("measurement") == "MEASUREMENT"
        assert counted("one", "many", 1) == "ONE"
        assert levelling.sentence("by_height").isupper()
        assert _("") == ""
    assert _("measurement") == "measurement"
