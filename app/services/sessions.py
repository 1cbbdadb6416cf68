"""Who is signed in, in which browser. The server keeps only the digest of the cookie's secret."""

import hashlib
import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import NamedTuple

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from app.errors import NotFound, NotSignedIn
from app.records.prepared import Prepared, Row
from app.records.scope import pin, scoped
from app.records.session import Database
from app.records.tables import Person, PersonRole, Shop, SignInSession, Tablet
from app.services import audit
from app.services.permissions import Actor, Role, require

IDLE = timedelta(hours=8)
IDLE_ON_FLOOR = timedelta(hours=12)
"""A tablet at the machine lies still longer than a desk's screen."""
IDLE_BY_PIN = timedelta(hours=4)
"""Shorter again: others use the same tablet, and coming back takes two taps."""
LONGEST = timedelta(hours=24)
SEEN_EVERY = timedelta(minutes=1)
"""How often a session's last request is written down; not for each page."""
_SHOWN_SIGNS = 300

_SESSION, _PERSON, _ROLE = SignInSession.__table__.c, Person.__table__.c, PersonRole.__table__.c
_BY_SECRET = Prepared(
    select(
        _SESSION.id,
        _SESSION.shop_id,
        _SESSION.last_seen_at,
        _SESSION.ends_at,
        _SESSION.idle_s,
        _SESSION.tablet_id,
        _PERSON.id,
        _PERSON.name,
        _PERSON.one_time_until,
        Shop.__table__.c.name,
        Shop.__table__.c.time_zone,
        _ROLE.role,
    )
    .join(
        Person.__table__, (_PERSON.id == _SESSION.person_id) & (_PERSON.shop_id == _SESSION.shop_id)
    )
    .join(Shop.__table__, Shop.__table__.c.id == _SESSION.shop_id)
    .outerjoin(
        PersonRole.__table__, (_ROLE.person_id == _PERSON.id) & (_ROLE.shop_id == _PERSON.shop_id)
    )
    .where(
        _SESSION.token_hash == bindparam("token_hash"),
        _SESSION.revoked_at.is_(None),
        _PERSON.disabled_at.is_(None),
    )
    .execution_options(across_shops=True)
)
"""Asked with every request: a row for each role of the person, at least one."""


class Found(NamedTuple):
    """A session with its person and one of the person's roles."""

    id: int
    shop_id: int
    last_seen_at: datetime
    ends_at: datetime
    idle_s: int
    tablet_id: int | None
    person_id: int
    name: str
    one_time_until: datetime | None
    shop_name: str
    time_zone: str
    role: str | None


@dataclass(frozen=True, slots=True)
class OpenedSession:
    secret: str
    """256 random bits for the cookie; the only time it is known here."""
    session_id: int
    ends_at: datetime


@dataclass(frozen=True, slots=True)
class CurrentSession:
    actor: Actor
    session_id: int
    ends_at: datetime
    """When it ends if nothing more is asked for, at the latest the absolute end."""
    needs_touch: bool
    """The last request is old enough to be written down: call `touch` in a writing unit."""
    shop: str = ""
    """What the shop is called."""
    zone: str = ""
    """The time zone that it tells days and times in."""


def open_session(
    session: Session,
    actor: Actor,
    now: datetime,
    address: str = "",
    user_agent: str = "",
    on_floor: bool = False,
    tablet_id: int | None = None,
) -> OpenedSession:
    """Begin a session for a person whose password was just verified, or, with `tablet_id`, whose
    PIN was verified on that tablet; always a new secret."""
    if actor.person_id is None:
        raise NotSignedIn("not_a_person")
    secret = secrets.token_urlsafe(32)
    row = SignInSession(
        shop_id=pin(session, actor),
        person_id=actor.person_id,
        token_hash=_digest(secret),
        created_at=now,
        last_seen_at=now,
        ends_at=now + LONGEST,
        idle_s=int(_idle(on_floor, tablet_id).total_seconds()),
        address=address[:_SHOWN_SIGNS],
        user_agent=user_agent[:_SHOWN_SIGNS],
        tablet_id=tablet_id,
    )
    session.add(row)
    session.flush()
    return OpenedSession(secret, row.id, _end_of(row))


def resume(session: Session, secret: str, now: datetime) -> CurrentSession:
    """Who sends this secret. Reads only.

    Raises NotSignedIn `no_session` (unknown, or ended by somebody) or `session_over` (time).
    """
    found = _current(_BY_SECRET.asked(session, _given(secret)), now)
    pin(session, found.actor)
    return found


def resume_alone(database: Database, secret: str, now: datetime) -> CurrentSession:
    """The same for who has no unit of work yet, and may get none."""
    return _current(database.asked(_BY_SECRET, _given(secret)), now)


def _given(secret: str) -> dict[str, object]:
    return {"token_hash": _digest(secret)}


def _current(rows: Sequence[Row], now: datetime) -> CurrentSession:
    found = [Found(*row) for row in rows]
    if not found:
        raise NotSignedIn("no_session")
    met = found[0]
    ends_at = _end(met.ends_at, met.last_seen_at, met.idle_s)
    if now >= ends_at:
        raise NotSignedIn("session_over")
    actor = Actor(
        shop_id=met.shop_id,
        name=met.name,
        roles=frozenset([Role(one.role) for one in found if one.role is not None]),
        person_id=met.person_id,
        must_change_password=met.one_time_until is not None,
        by_pin=met.tablet_id is not None,
    )
    return CurrentSession(
        actor=actor,
        session_id=met.id,
        ends_at=ends_at,
        needs_touch=now - met.last_seen_at >= SEEN_EVERY,
        shop=met.shop_name,
        zone=met.time_zone,
    )


def actor_of(session: Session, person: Person, by_pin: bool = False) -> Actor:
    """The person as the one who acts."""
    rows = session.scalars(
        scoped(session, person.shop_id, PersonRole).where(PersonRole.person_id == person.id)
    )
    return Actor(
        shop_id=person.shop_id,
        name=person.name,
        roles=frozenset(Role(row.role) for row in rows),
        person_id=person.id,
        must_change_password=person.one_time_until is not None,
        by_pin=by_pin,
    )


def touch(session: Session, actor: Actor, session_id: int, now: datetime) -> None:
    """Write down that the session is in use."""
    row = _own(session, actor, session_id)
    row.last_seen_at = max(row.last_seen_at, now)
    if row.tablet_id is not None:
        tablets = scoped(session, actor, Tablet).where(Tablet.id == row.tablet_id)
        session.scalars(tablets).one().last_seen_at = now


def rotate(session: Session, actor: Actor, session_id: int, now: datetime) -> OpenedSession:
    """A new secret for the same session, keeping its absolute end; the old one is dead."""
    row = _own(session, actor, session_id)
    secret = secrets.token_urlsafe(32)
    row.token_hash = _digest(secret)
    row.last_seen_at = max(row.last_seen_at, now)
    return OpenedSession(secret, row.id, _end_of(row))


def close(session: Session, actor: Actor, session_id: int, now: datetime) -> None:
    """Sign out: the secret is dead at once."""
    _own(session, actor, session_id).revoked_at = now
    audit.record(session, actor, "session.closed", actor.mark, now)


def revoke_others(session: Session, actor: Actor, keep_id: int | None, now: datetime) -> int:
    """End the actor's own other sessions; returns how many."""
    require(actor, "account.use")
    rows = [row for row in _open_rows(session, actor, actor.person_id) if row.id != keep_id]
    for row in rows:
        row.revoked_at = now
    if rows:
        audit.record(session, actor, "sessions.ended", actor.mark, now, {"count": len(rows)})
    return len(rows)


def end_all_of(session: Session, actor: Actor, person_id: int, now: datetime) -> int:
    """End all sessions of a person of the shop; returns how many."""
    require(actor, "people.write")
    rows = _open_rows(session, actor, person_id)
    for row in rows:
        row.revoked_at = now
    if rows:
        subject = f"person:{person_id}"
        audit.record(session, actor, "sessions.ended", subject, now, {"count": len(rows)})
    return len(rows)


def end_all_on(session: Session, actor: Actor, tablet_id: int, now: datetime) -> int:
    """End all sessions that a PIN opened on a tablet; returns how many."""
    require(actor, "tablets.write")
    found = scoped(session, actor, SignInSession).where(
        SignInSession.tablet_id == tablet_id, SignInSession.revoked_at.is_(None)
    )
    rows = list(session.scalars(found))
    for row in rows:
        row.revoked_at = now
    return len(rows)


def _idle(on_floor: bool, tablet_id: int | None) -> timedelta:
    if tablet_id is not None:
        return IDLE_BY_PIN
    return IDLE_ON_FLOOR if on_floor else IDLE


def _own(session: Session, actor: Actor, session_id: int) -> SignInSession:
    found = scoped(session, actor, SignInSession).where(
        SignInSession.id == session_id, SignInSession.person_id == actor.person_id
    )
    row = session.scalars(found).one_or_none()
    if row is None:
        raise NotFound("no_such_session", "session")
    return row


def _open_rows(session: Session, actor: Actor, person_id: int | None) -> list[SignInSession]:
    found = scoped(session, actor, SignInSession).where(
        SignInSession.person_id == person_id, SignInSession.revoked_at.is_(None)
    )
    return list(session.scalars(found.order_by(SignInSession.last_seen_at.desc())))


def _end(ends_at: datetime, last_seen_at: datetime, idle_s: int) -> datetime:
    return min(ends_at, last_seen_at + timedelta(seconds=idle_s))


def _end_of(row: SignInSession) -> datetime:
    return _end(row.ends_at, row.last_seen_at, row.idle_s)


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()
