"""The claim of a job: insurer, numbers and adjuster, added with it or put right later."""

from datetime import datetime

from sqlalchemy.orm import Session

from app.records.search_text import search_text
from app.records.tables import Claim
from app.schemas.check_in import ClaimIn
from app.services import insurers
from app.services.permissions import Actor

FIELDS = ("claim_number", "policy_number", "adjuster", "adjuster_phone", "adjuster_email")


def add(session: Session, actor: Actor, claim: ClaimIn, now: datetime) -> Claim | None:
    """A new claim; None where nothing was said of one. An insurer that is new is added too."""
    if claim == ClaimIn():
        return None
    row = Claim(shop_id=actor.shop_id, created_at=now)
    put(session, actor, row, claim, now)
    session.add(row)
    session.flush()
    return row


def put(session: Session, actor: Actor, row: Claim, claim: ClaimIn, now: datetime) -> None:
    """Puts what was sent in place of what the row says."""
    insurer_id = claim.insurer_id
    if claim.insurer is not None:
        insurer_id = insurers.create(session, actor, claim.insurer, now).id
    insurer = insurers.insurer_row(session, actor, insurer_id) if insurer_id else None
    row.insurer_id = insurer_id
    for field in FIELDS:
        setattr(row, field, getattr(claim, field) or "")
    row.search_text = search_text(
        insurer.name if insurer else None,
        row.adjuster,
        marks=(row.claim_number, row.policy_number),
    )
