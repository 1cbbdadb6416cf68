"""Digests of the event log: what each covers."""

import hashlib
import json
from typing import Any

from app.records.columns import UTC
from app.records.tables import Event

START = "0" * 64
"""The hash before a shop's first event."""


def canonical(value: Any) -> str:
    """JSON with sorted keys and no white space: one text for one value.

    Raises:
        ValueError: NaN or infinity, which JSON does not know.
    """
    return json.dumps(
        value, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
    )


def sha256(text: str) -> str:
    """Digest of the text's UTF-8 bytes, 64 hexadecimal digits."""
    return hashlib.sha256(text.encode()).hexdigest()


def event_hash(event: Event) -> str:
    """Digest of all that the event says and of the hash before it."""
    return sha256(
        canonical(
            {
                "shop": event.shop_id,
                "position": event.position,
                "at": event.at.astimezone(UTC).isoformat(timespec="microseconds"),
                "actor": event.actor,
                "what": event.what,
                "subject": event.subject,
                "public": event.public,
                "personal": event.personal,
                "previous": event.previous_hash,
            }
        )
    )


def value_digest(salt: str, name: str, value: str) -> str:
    """Digest of a personal value; without the salt it cannot be found by trying."""
    return sha256(canonical([salt, name, value]))
