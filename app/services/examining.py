"""What the checking process does with a file that anybody may have sent."""

from datetime import datetime

from app.signing.checking import Check, check_against
from app.signing.trust import Trust


def examine(pdf: bytes, trust: Trust, now: datetime) -> Check:
    """Apply the strict rule to a file that somebody sent."""
    return check_against(pdf, trust, now)
