"""Digests of the event log: what each covers."""

import hashlib
import json
from collections.abc import Mapping
from typing import Any

from app.records.columns import UTC
from app.records.tables import Event

COVERED = {
    "shop_id": "shop",
    "position": "position",
    "at": "at",
    "actor": "actor",
    "what": "what",
    "subject": "subject",
    "public": "public",
    "personal": "personal",
    "previous_hash": "previous",
}
"""Columns of an event that its hash covers, as they are called there."""
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
    return hash_of({name: getattr(event, name) for name in COVERED})


def hash_of(said: Mapping[str, Any]) -> str:
    """The same for an event that is about to be written. said: values of its columns."""
    covered = {called: said[name] for name, called in COVERED.items()}
    covered["at"] = said["at"].astimezone(UTC).isoformat(timespec="microseconds")
    return sha256(canonical(covered))


def value_digest(salt: str, name: str, value: str) -> str:
    """Digest of a personal value; without the salt it cannot be found by trying."""
    return sha256(canonical([salt, name, value]))
