"""What the checking process does with a file that anybody may have sent."""

from datetime import datetime

from app.signing.checking import Check, check


def examine(pdf: bytes, authorities: tuple[bytes, ...], now: datetime) -> Check:
    """Apply the strict rule to a file that somebody sent."""
    return check(pdf, authorities, now)
