"""Digests as one reads them out and compares them by eye."""

import re

DIGITS = re.compile("[0-9a-f]{4,64}")


def in_fours(digest: str) -> str:
    """Return a digest, or its beginning, in groups of four; any other words as they are."""
    if not DIGITS.fullmatch(digest):
        return digest
    return " ".join(digest[place : place + 4] for place in range(0, len(digest), 4))
