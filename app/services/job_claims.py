"""The claim of a job: insurer, numbers and adjuster, added with it or put right later."""

from collections.abc import Iterable, Sequence
from datetime import datetime

from sqlalchemy.orm import Session

from app.records.scope import scoped
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
    row.insurer_id = insurer_id
    for field in FIELDS:
        setattr(row, field, getattr(claim, field) or "")
    _make_found(session, actor, row)


def words_of(session: Session, actor: Actor, ids: Iterable[int | None]) -> list[str]:
    """What these claims say of the customer alone: the number of the policy, and notes."""
    rows = _rows(session, actor, ids)
    return [word for row in rows for word in (row.policy_number, row.note) if word]


def empty(session: Session, actor: Actor, ids: Iterable[int | None]) -> None:
    """Empties that in these claims: their customer asked. Insurer, claim number and adjuster stay,
    by which a certificate is told apart and its recipient reached."""
    for row in _rows(session, actor, ids):
        row.policy_number = row.note = ""
        _make_found(session, actor, row)
    session.flush()


def _rows(session: Session, actor: Actor, ids: Iterable[int | None]) -> Sequence[Claim]:
    wanted = [one for one in ids if one is not None]
    return session.scalars(scoped(session, actor, Claim).where(Claim.id.in_(wanted))).all()


def _make_found(session: Session, actor: Actor, row: Claim) -> None:
    """By what the claim is searched for."""
    insurer = insurers.insurer_row(session, actor, row.insurer_id) if row.insurer_id else None
    row.search_text = search_text(
        insurer.name if insurer else None,
        row.adjuster,
        marks=(row.claim_number, row.policy_number),
    )
