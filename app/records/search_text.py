"""Text made comparable for searching: "Ase" finds "Åse", "AB-12 cd" finds "ab12cd"."""

import re
import unicodedata

LONGEST = 8_000
_BETWEEN = re.compile(r"[\s\-./]+")


def comparable(text: str) -> str:
    """Casefolded, decomposed, without combining marks, runs of white space made one space."""
    # casefold() comes on both sides of NFKD because each can undo the other's work.
    decomposed = unicodedata.normalize("NFKD", text.casefold())
    plain = "".join(sign for sign in decomposed if not unicodedata.combining(sign))
    return " ".join(plain.casefold().split())


def search_text(*texts: str | None, marks: tuple[str | None, ...] = ()) -> str:
    """What a `search_text` column holds.

    `texts` are names and words; `marks` are plates, frame numbers and claim numbers, which are
    found with and without their spaces and dashes.
    """
    parts = [comparable(text) for text in (*texts, *marks) if text]
    parts += [_BETWEEN.sub("", comparable(mark)) for mark in marks if mark]
    return " ".join(dict.fromkeys(part for part in parts if part))[:LONGEST]
