"""Slows down guessing and asking: per account and per address, kept in the database over a restart.

Never a lock for good: after the free tries each further failure asks for a longer pause, up to
fifteen minutes, and a quiet spell forgives. A try is counted before the slow hashing begins, so
that many at once do not slip through, and given back when it turns out right.
"""

import hashlib
import math
from datetime import datetime, timedelta
from ipaddress import IPv4Address, IPv6Network, ip_address

from sqlalchemy.orm import Session

from app.errors import TooManyTries
from app.records.scope import pin, scoped
from app.records.tables import Throttle

FREE_TRIES = {
    "account": 5, "address": 20, "confirmation": 5, "check": 20, "number": 60, "claim": 30,
    "pin": 5, "enrolment": 10,
}  # fmt: skip
"""Several people of a shop or an insurer share one address. `check`, `number` and `claim` count,
for one address, files to be checked, numbers looked up and links opened; only what proves to be
a certificate or a link of ours is given back."""
PAUSES_MIN = (1, 2, 4, 8, 15)
FORGIVEN_AFTER = {
    "account": timedelta(hours=24),
    "address": timedelta(hours=1),
    "confirmation": timedelta(hours=24),
    "check": timedelta(hours=1),
    "number": timedelta(hours=1),
    "claim": timedelta(hours=1),
    "pin": timedelta(hours=24),
    "enrolment": timedelta(hours=1),
}
NETWORK_BITS = 64
"""Of an IPv6 address: whoever has one has all of its network to choose from."""


def count_try(session: Session, shop_id: int, kind: str, subject: str, now: datetime) -> None:
    """Count a try as failed until `give_back` or `clear` says otherwise.

    Raises TooManyTries while a pause lasts; such a try is not counted.
    """
    row = _find(session, shop_id, kind, subject)
    if row is None:
        row = Throttle(
            shop_id=pin(session, shop_id),
            kind=kind,
            subject_hash=_digest(subject),
            failures=0,
            last_failed_at=now,
        )
        session.add(row)
    if row.blocked_until is not None and now < row.blocked_until:
        raise TooManyTries("too_many_tries", math.ceil((row.blocked_until - now).total_seconds()))
    if now - row.last_failed_at > FORGIVEN_AFTER[kind]:
        row.failures = 0
    row.failures += 1
    row.last_failed_at = now
    row.blocked_until = _pause_end(row.failures - FREE_TRIES[kind], now)


def give_back(session: Session, shop_id: int, kind: str, subject: str) -> None:
    """Take one counted try back: it was right. Earlier failures stay counted."""
    row = _find(session, shop_id, kind, subject)
    if row is not None:
        row.failures = max(0, row.failures - 1)
        row.blocked_until = None


def clear(session: Session, shop_id: int, kind: str, subject: str) -> None:
    """Forget all failures."""
    row = _find(session, shop_id, kind, subject)
    if row is not None:
        session.delete(row)


def failures(session: Session, shop_id: int, kind: str, subject: str) -> int:
    """How many tries failed and are not forgotten."""
    row = _find(session, shop_id, kind, subject)
    return 0 if row is None else row.failures


def network_of(address: str) -> str:
    """What stands for one client: an IPv4 address, or the network of an IPv6 address."""
    try:
        found = ip_address(address)
    except ValueError:
        return address
    if isinstance(found, IPv4Address):
        return str(found)
    if found.ipv4_mapped:
        return str(found.ipv4_mapped)
    return str(IPv6Network((int(found), NETWORK_BITS), strict=False))


def _pause_end(beyond: int, now: datetime) -> datetime | None:
    if beyond < 0:
        return None
    return now + timedelta(minutes=PAUSES_MIN[min(beyond, len(PAUSES_MIN) - 1)])


def _find(session: Session, shop_id: int, kind: str, subject: str) -> Throttle | None:
    return session.scalars(
        scoped(session, shop_id, Throttle).where(
            Throttle.kind == kind, Throttle.subject_hash == _digest(subject)
        )
    ).one_or_none()


def _digest(subject: str) -> str:
    return hashlib.sha256(subject.encode()).hexdigest()
