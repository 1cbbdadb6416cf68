"""Certificates whose signature is trusted no more, because the key that signed may be stolen.

The register is not rewritten for it: what is told of a certificate follows from the events that
marked signers, in the same unit in which they were marked.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.records.scope import OfShop, scoped
from app.records.tables import Certificate, Event
from app.services.permissions import Actor, require

MARKED = "signing_key.distrusted"
"""The event that marks a signer; its facts name `signer` and `since`."""


@dataclass(frozen=True, slots=True)
class Marked:
    """A signer that is not trusted from a moment on."""

    since: datetime
    at: datetime
    """When that moment was told."""


def marked(session: Session, shop: OfShop | int) -> dict[str, Marked]:
    """By the fingerprints of the signers; of several moments of one the earliest counts."""
    rows = scoped(session, shop, Event).where(Event.what == MARKED).order_by(Event.position)
    found: dict[str, Marked] = {}
    for row in session.scalars(rows):
        facts = json.loads(row.public)
        told = Marked(datetime.fromisoformat(facts["since"]), row.at)
        before = found.get(facts["signer"])
        if before is None or told.since < before.since:
            found[facts["signer"]] = told
    return found


def mark_of(row: Certificate, signers: Mapping[str, Marked]) -> Marked | None:
    """What makes a certificate that stands as valid count no more; None where nothing does."""
    if row.status != "valid" or row.issued_at is None:
        return None
    found = signers.get(row.signer_fingerprint or "")
    return found if found and row.issued_at >= found.since else None


def standing(row: Certificate, signers: Mapping[str, Marked]) -> tuple[str, datetime]:
    """The status as it is told, and since when: `distrusted` in place of `valid` where so."""
    found = mark_of(row, signers)
    if found:
        return "distrusted", found.at
    return row.status, row.ended_at or row.issued_at or row.reserved_at


def to_issue_anew(session: Session, actor: Actor) -> tuple[str, ...]:
    """Numbers of the certificates that need another in their place, the oldest first."""
    require(actor, "certificates.read")
    signers = marked(session, actor)
    if not signers:
        return ()
    rows = scoped(session, actor, Certificate).where(
        Certificate.status == "valid", Certificate.signer_fingerprint.in_(signers)
    )
    found = session.scalars(rows.order_by(Certificate.id))
    return tuple(row.number for row in found if mark_of(row, signers))
