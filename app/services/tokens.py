"""API tokens: a machine's own way in, with a name and one role. Shown once, kept as a digest."""

import hashlib
import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from app.errors import BadInput, Conflict, NotFound, NotSignedIn, Problem
from app.records.scope import across_shops, pin, scoped
from app.records.tables import ApiToken
from app.services import audit
from app.services.lookup import by_id, names
from app.services.people import name_problems, refuse
from app.services.permissions import Actor, Role, require

PREFIX = "jigbook_"
"""Lets people and scanners see what a stray token belongs to."""
HINT_SIGNS = 6
USED_EVERY = timedelta(minutes=5)
LONGEST_DAYS = 3650


@dataclass(frozen=True, slots=True)
class TokenView:
    id: int
    name: str
    role: Role
    hint: str
    """How the token begins."""
    created_at: datetime
    made_by: str | None
    """None for the command line."""
    expires_at: datetime | None
    last_used_at: datetime | None
    revoked_at: datetime | None


@dataclass(frozen=True, slots=True)
class NewToken:
    token: str
    """Shown once; it cannot be found out again."""
    view: TokenView


@dataclass(frozen=True, slots=True)
class TokenHolder:
    actor: Actor
    needs_touch: bool
    """The last use is old enough to be written down: call `touch` in a writing unit."""


def create_token(
    session: Session,
    actor: Actor,
    name: str,
    role: Role,
    now: datetime,
    lasts: timedelta | None = None,
) -> NewToken:
    """Make a token. Raises BadInput for the name, Conflict `token_name_taken`."""
    name = free_name(session, actor, name)
    token = PREFIX + secrets.token_urlsafe(32)
    row = ApiToken(
        shop_id=pin(session, actor),
        name=name,
        role=str(role),
        token_hash=_digest(token),
        hint=token[: len(PREFIX) + HINT_SIGNS],
        created_by_id=actor.person_id,
        created_at=now,
        expires_at=None if lasts is None else now + lasts,
    )
    session.add(row)
    session.flush()
    public: dict[str, audit.Value] = {"name": name, "role": str(role)}
    if row.expires_at is not None:
        public["until"] = row.expires_at.isoformat()
    audit.record(session, actor, "token.created", f"token:{row.id}", now, public)
    return NewToken(token, _views(session, actor, [row])[0])


def free_name(session: Session, actor: Actor, name: str) -> str:
    """The name as it is kept. Raises BadInput for it, Conflict `token_name_taken`."""
    require(actor, "tokens.write")
    refuse(name_problems({"name": name}, {}))
    name = name.strip()
    if session.scalars(scoped(session, actor, ApiToken).where(ApiToken.name == name)).first():
        raise Conflict("token_name_taken", "name", name=name)
    return name


def lasting(days: int | None) -> timedelta | None:
    """How long a token lasts; None: until it is revoked. Raises BadInput for one that would be
    over at once, or end beyond the calendar."""
    if days is None:
        return None
    if not 1 <= days <= LONGEST_DAYS:
        code, limit = ("too_small", 1) if days < 1 else ("too_large", LONGEST_DAYS)
        raise BadInput([Problem(code, "days", {"met": days, "limit": limit})])
    return timedelta(days=days)


def list_tokens(session: Session, actor: Actor) -> tuple[TokenView, ...]:
    """All tokens, revoked ones too, by name."""
    require(actor, "tokens.read")
    rows = session.scalars(scoped(session, actor, ApiToken).order_by(ApiToken.name))
    return _views(session, actor, rows.all())


def revoke_token(session: Session, actor: Actor, name: str, now: datetime) -> TokenView:
    """Make the token useless at once. Raises NotFound `no_such_token`."""
    require(actor, "tokens.write")
    query = scoped(session, actor, ApiToken).where(ApiToken.name == name.strip())
    row = session.scalars(query).one_or_none()
    if row is None:
        raise NotFound("no_such_token", "token", name=name)
    return _revoked(session, actor, row, now)


def revoke_by_id(session: Session, actor: Actor, token_id: int, now: datetime) -> TokenView:
    """The same for a token of the list. Raises NotFound `no_such_token`."""
    require(actor, "tokens.write")
    return _revoked(session, actor, by_id(session, actor, ApiToken, token_id, "no_such_token"), now)


def _revoked(session: Session, actor: Actor, row: ApiToken, now: datetime) -> TokenView:
    if row.revoked_at is None:
        row.revoked_at = now
        audit.record(session, actor, "token.revoked", f"token:{row.id}", now)
    return _views(session, actor, [row])[0]


def identify(session: Session, token: str, now: datetime) -> TokenHolder:
    """Whose token it is. Reads only. Raises NotSignedIn `token_unknown`, `token_over`."""
    found = across_shops(ApiToken).where(ApiToken.token_hash == _digest(token))
    row = session.scalars(found).one_or_none()
    if row is None:
        raise NotSignedIn("token_unknown")
    if row.revoked_at is not None or (row.expires_at is not None and now >= row.expires_at):
        raise NotSignedIn("token_over")
    pin(session, row.shop_id)
    actor = Actor(row.shop_id, row.name, frozenset({Role(row.role)}), token_id=row.id)
    return TokenHolder(actor, row.last_used_at is None or now - row.last_used_at >= USED_EVERY)


def touch(session: Session, actor: Actor, now: datetime) -> None:
    """Write down that the actor's token was used."""
    query = scoped(session, actor, ApiToken).where(ApiToken.id == actor.token_id)
    session.scalars(query).one().last_used_at = now


def _views(session: Session, actor: Actor, rows: Sequence[ApiToken]) -> tuple[TokenView, ...]:
    people = names(session, actor, [row.created_by_id for row in rows])
    return tuple(
        TokenView(
            id=row.id,
            name=row.name,
            role=Role(row.role),
            hint=row.hint,
            created_at=row.created_at,
            made_by=people.get(row.created_by_id),
            expires_at=row.expires_at,
            last_used_at=row.last_used_at,
            revoked_at=row.revoked_at,
        )
        for row in rows
    )


def _digest(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()
