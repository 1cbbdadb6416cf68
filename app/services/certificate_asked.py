"""What somebody types or pastes to ask for a certificate: its number as it may be written, or the
whole text of the code on its first page."""

import re
from dataclasses import dataclass

_NUMBER = re.compile(
    r"(?:https?://\S*/verify/)?C[\s\u2010-\u2015_.-]*([0-9]{4})[\s\u2010-\u2015_.-]*([0-9]{1,8})"
    r"(?:[\s,;]*sha-?256:?\s*([0-9a-f\s]*))?",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Asked:
    """What is meant by it."""

    number: str
    data_sha256: str | None
    """The digest of the data that came with the number; None where none did."""


def asked(text: str) -> Asked:
    """Read what was typed; what is no number is taken as it is, and is then not found."""
    found = _NUMBER.fullmatch(text.strip())
    if found is None:
        return Asked(text.strip(), None)
    year, count, digest = found.groups()
    together = None if digest is None else "".join(digest.split()).lower()
    return Asked(f"C-{year}-{int(count):04d}", together)
