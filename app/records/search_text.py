"""Text made comparable for searching: "Ase" finds "Åse", "monster" "Mønster", "ab12" "AB-12 cd"."""

import re
import unicodedata

LONGEST = 8_000
BESIDE = "@"
"""Stands in a search text before what is not the name of anything; no word holds it."""
_WORD = re.compile(r"[^\W_]+")
_LETTERS = str.maketrans({
    "ø": "o", "æ": "ae", "œ": "oe", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "ħ": "h", "ı": "i",
    "ŧ": "t", "ŋ": "n", "ĸ": "k",
})  # fmt: skip
"""Letters that are no letter with a mark, as they are typed on a keyboard without them."""


def comparable(text: str) -> str:
    """Casefolded, decomposed, without combining marks, runs of white space made one space."""
    # casefold() comes on both sides of NFKD because each can undo the other's work.
    decomposed = unicodedata.normalize("NFKD", text.casefold())
    plain = "".join(sign for sign in decomposed if not unicodedata.combining(sign))
    return " ".join(plain.casefold().split())


def words_in(text: str) -> list[str]:
    """The words of a text as they are searched for: letters and digits alone, without marks."""
    return _WORD.findall(comparable(text).translate(_LETTERS))


def closed_up(text: str) -> str:
    """The text as one word: a plate without its spaces and dashes."""
    return "".join(words_in(text))


def search_text(
    *texts: str | None,
    marks: tuple[str | None, ...] = (),
    beside: tuple[str | None, ...] = (),
) -> str:
    """What a `search_text` column holds: words with a space before and behind each of them.

    `texts` are names and words; `marks` are plates, frame numbers and claim numbers, which are
    found with and without their spaces and dashes; `beside` are addresses and mail, which stand
    last, behind a sign of their own.
    """
    rest = dict.fromkeys(word for text in beside if text for word in _both_ways(text) if word)
    words = [word for text in (*texts, *marks) if text for word in _both_ways(text)]
    words += [closed_up(mark) for mark in marks if mark]
    last = (BESIDE, *rest) if rest else ()
    return spaced(" ".join((*dict.fromkeys(filter(None, words)), *last)))


def spaced(words: str) -> str:
    """Words with a space before the first and behind the last of them, within the column."""
    return f" {words[: LONGEST - 2]} " if words else ""


def _both_ways(text: str) -> list[str]:
    """The words of a text; "O'Kim" and "AB-12" also closed up."""
    return [word for part in text.split() for word in (*words_in(part), closed_up(part))]
