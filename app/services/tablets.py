"""Tablets on which people change by PIN: enrolled by the owner with a one-time code, revocable.

The tablet keeps a random secret in a cookie of its own; here lies only its digest.
"""

import hashlib
import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from app.errors import BadInput, Conflict, NotFound, NotSignedIn, Problem
from app.records.scope import across_shops, pin, scoped
from app.records.session import Database
from app.records.tables import Tablet
from app.services import audit, sessions, throttle
from app.services.people import LARGEST_ID, name_problems, only_shop, refuse
from app.services.permissions import Actor, require

CODE_FOR = timedelta(minutes=15)
_SIGNS = "abcdefghjkmnpqrstuvwxyz23456789"
"""Letters and digits that are not mistaken for each other."""
CODE_LENGTH = 10
"""Signs of a code, 49 bits: short enough to type, too many to guess before it ends."""


@dataclass(frozen=True, slots=True)
class TabletView:
    id: int
    name: str
    code_until: datetime | None
    """A one-time code was made and ends then; None when there is none."""
    enrolled_at: datetime | None
    last_seen_at: datetime | None
    revoked_at: datetime | None


@dataclass(frozen=True, slots=True)
class EnrolmentCode:
    """Shown once, to be opened or typed on the tablet."""

    tablet_id: int
    name: str
    code: str
    until: datetime


@dataclass(frozen=True, slots=True)
class Enrolled:
    name: str
    secret: str
    """256 random bits for the tablet's cookie; the only time it is known here."""


def list_tablets(session: Session, actor: Actor) -> tuple[TabletView, ...]:
    """All tablets, those in use first, then by name."""
    require(actor, "tablets.read")
    rows = session.scalars(
        scoped(session, actor, Tablet).order_by(
            Tablet.revoked_at.is_not(None), Tablet.name, Tablet.id
        )
    )
    return tuple(_view(row) for row in rows)


def add(session: Session, actor: Actor, name: str, now: datetime) -> EnrolmentCode:
    """A tablet that is to be enrolled, with its code. Raises BadInput (`required`, `too_long`)."""
    require(actor, "tablets.write")
    refuse(name_problems({"tablet_name": name}, {}))
    row = Tablet(
        shop_id=actor.shop_id, name=name.strip(), created_by_id=actor.person_id, created_at=now
    )
    session.add(row)
    session.flush()
    audit.record(session, actor, "tablet.added", _mark(row), now, {"name": row.name})
    return _with_code(session, actor, row, now)


def new_code(session: Session, actor: Actor, tablet_id: int, now: datetime) -> EnrolmentCode:
    """Another code for a tablet that was not enrolled in time, or lost its cookie.

    Once it is used the old cookie opens nothing. Raises NotFound, Conflict `tablet_revoked`.
    """
    require(actor, "tablets.write")
    row = _row(session, actor, tablet_id)
    if row.revoked_at is not None:
        raise Conflict("tablet_revoked", None)
    return _with_code(session, actor, row, now)


def revoke(session: Session, actor: Actor, tablet_id: int, now: datetime) -> None:
    """No PIN opens it any more, and whoever is at work on it is out. Raises NotFound."""
    require(actor, "tablets.write")
    row = _row(session, actor, tablet_id)
    if row.revoked_at is None:
        row.revoked_at, row.code_hash, row.code_until = now, None, None
        ended = sessions.end_all_on(session, actor, row.id, now)
        audit.record(session, actor, "tablet.revoked", _mark(row), now, {"sessions": ended})


def enrol(database: Database, code: str, address: str, now: datetime) -> Enrolled:
    """The browser that knows the code becomes the tablet. The code is used up.

    Raises BadInput `enrolment_code_wrong` (field `code`), TooManyTries.
    """
    address = throttle.network_of(address)
    with database.write() as session:
        shop_id = only_shop(session)
        throttle.count_try(session, shop_id, "enrolment", address, now)
    with database.write() as session:
        row = _of_code(session, shop_id, code, now)
        if row is not None:
            throttle.give_back(session, shop_id, "enrolment", address)
            return _enrolled(session, row, now)
    minutes = int(CODE_FOR.total_seconds()) // 60
    raise BadInput([Problem("enrolment_code_wrong", "code", {"minutes": minutes})])


def of_secret(session: Session, secret: str | None) -> Tablet:
    """The tablet whose cookie holds this secret. Raises NotSignedIn `tablet_not_enrolled`."""
    rows = across_shops(Tablet).where(
        Tablet.token_hash == _digest(secret or ""), Tablet.revoked_at.is_(None)
    )
    row = session.scalars(rows).one_or_none() if secret else None
    if row is None:
        raise NotSignedIn("tablet_not_enrolled")
    pin(session, row.shop_id)
    return row


def _with_code(session: Session, actor: Actor, row: Tablet, now: datetime) -> EnrolmentCode:
    signs = "".join(secrets.choice(_SIGNS) for _ in range(CODE_LENGTH))
    row.code_hash, row.code_until = _digest(signs), now + CODE_FOR
    audit.record(session, actor, "tablet.code_made", _mark(row), now)
    half = CODE_LENGTH // 2
    return EnrolmentCode(row.id, row.name, f"{signs[:half]}-{signs[half:]}", row.code_until)


def _of_code(session: Session, shop_id: int, code: str, now: datetime) -> Tablet | None:
    """Dashes, spaces and capitals do not matter: codes are typed with gloves."""
    plain = "".join(sign for sign in code.casefold() if sign.isalnum())
    rows = scoped(session, shop_id, Tablet).where(
        Tablet.code_hash == _digest(plain), Tablet.revoked_at.is_(None)
    )
    row = session.scalars(rows).one_or_none()
    return row if row and row.code_until and now < row.code_until else None


def _enrolled(session: Session, row: Tablet, now: datetime) -> Enrolled:
    secret = secrets.token_urlsafe(32)
    row.token_hash, row.code_hash, row.code_until = _digest(secret), None, None
    row.enrolled_at, row.last_seen_at = now, now
    audit.record_as(session, row.shop_id, "nobody", "tablet.enrolled", _mark(row), now)
    return Enrolled(row.name, secret)


def _row(session: Session, actor: Actor, tablet_id: int) -> Tablet:
    rows = scoped(session, actor, Tablet).where(Tablet.id == tablet_id)
    row = session.scalars(rows).one_or_none() if 0 < tablet_id <= LARGEST_ID else None
    if row is None:
        raise NotFound("no_such_tablet", None)
    return row


def _view(row: Tablet) -> TabletView:
    return TabletView(
        id=row.id,
        name=row.name,
        code_until=row.code_until,
        enrolled_at=row.enrolled_at,
        last_seen_at=row.last_seen_at,
        revoked_at=row.revoked_at,
    )


def _mark(row: Tablet) -> str:
    return f"tablet:{row.id}"


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()
