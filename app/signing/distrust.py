"""Signing keys that are trusted no more from a moment on: stolen, or perhaps so.

A signature states its own time, and whoever holds the key may state any. So from then on only
what others say of the time counts: a trusted time stamp of before, or the shop's own register.
"""

import json
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from app.signing.private_files import write_private

FILE = "distrusted.json"


@dataclass(frozen=True, slots=True)
class Distrust:
    """One signer that is not trusted from a moment on."""

    signer_sha256: str
    since: datetime
    reason: str


def distrusted(folder: Path) -> tuple[Distrust, ...]:
    """The signers that are not trusted any more."""
    try:
        entries = json.loads((folder / FILE).read_bytes())
    except FileNotFoundError:
        return ()
    return tuple(
        Distrust(one["signer_sha256"], datetime.fromisoformat(one["since"]), one["reason"])
        for one in entries
    )


def distrust(folder: Path, entry: Distrust) -> None:
    """Trust a signer no more. Marked again the earlier moment stands: it is never taken back."""
    held = {one.signer_sha256: one for one in distrusted(folder)}
    before = held.get(entry.signer_sha256)
    if before is None or entry.since < before.since:
        held[entry.signer_sha256] = entry
    entries = [
        {"signer_sha256": one.signer_sha256, "since": one.since.isoformat(), "reason": one.reason}
        for one in held.values()
    ]
    write_private(folder / FILE, json.dumps(entries).encode())
