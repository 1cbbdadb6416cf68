"""The log of every change: a chain of digests that shows a changed, lost or moved entry.

Each event's hash covers everything it says and the hash before it. Personal values are not in
it: it holds a salted digest of each, the value lies in a table beside it and can be erased
without breaking the chain. Whoever can write to the database could also rebuild the whole chain;
against that, note the position and hash that `verify` gives somewhere else from time to time.
"""

import json
import secrets
from collections.abc import Mapping, Sequence
from datetime import datetime

from sqlalchemy.orm import Session

from app.records.chain import START, canonical, event_hash, value_digest
from app.records.columns import UTC
from app.records.scope import OfShop, pin, scoped
from app.records.tables import Event, EventHead, PersonalValue
from app.services.permissions import Actor

Value = str | int | float | bool | None | Sequence["Value"] | Mapping[str, "Value"]

ERASED = "personal_values.erased"


def record(
    session: Session,
    actor: Actor,
    what: str,
    subject: str,
    now: datetime,
    public: Mapping[str, Value] | None = None,
    personal: Mapping[str, Value] | None = None,
    about: str | None = None,
) -> None:
    """Add an event to the shop's log, in the caller's writing unit.

    `what` is a code like `job.checked_in`, `subject` a mark like `job:J-2026-0001`. `personal`
    values belong to the person `about` (by default the subject) and can be erased later.
    """
    record_as(session, actor, actor.mark, what, subject, now, public, personal, about)


def record_as(
    session: Session,
    shop: OfShop | int,
    actor_mark: str,
    what: str,
    subject: str,
    now: datetime,
    public: Mapping[str, Value] | None = None,
    personal: Mapping[str, Value] | None = None,
    about: str | None = None,
) -> None:
    """The same for what nobody signed in does: `actor_mark` is `nobody`, `link:7`, `set_up`."""
    values = _sealed(personal or {}, about or subject)
    head = _head(session, shop)
    event = Event(
        shop_id=head.shop_id,
        position=head.position + 1,
        at=now.astimezone(UTC),
        actor=actor_mark,
        what=what,
        subject=subject,
        public=canonical(dict(public or {})),
        personal=canonical({value.name: _mark(value) for value in values}),
        previous_hash=head.hash,
    )
    event.hash = event_hash(event)
    head.position, head.hash = event.position, event.hash
    session.add(event)
    session.flush()
    for value in values:
        value.shop_id, value.event_id = event.shop_id, event.id
    session.add_all(values)


def words_about(session: Session, actor: Actor, about: str) -> list[str]:
    """Every text that the log keeps about somebody, also those that were changed since."""
    standing = scoped(session, actor, PersonalValue).where(
        PersonalValue.about == about, PersonalValue.value.is_not(None)
    )
    values = (json.loads(row.value or "null") for row in session.scalars(standing))
    return [value for value in values if isinstance(value, str)]


def erase(session: Session, actor: Actor, about: str, now: datetime) -> int:
    """Empty all personal values that the log keeps about somebody; the chain stays whole.

    Returns how many were emptied. The caller has asked `require` for the reason of erasing.
    """
    standing = scoped(session, actor, PersonalValue).where(
        PersonalValue.about == about, PersonalValue.erased_at.is_(None)
    )
    rows = session.scalars(standing).all()
    for row in rows:
        row.value = row.salt = None
        row.erased_at = now
    record(session, actor, ERASED, about, now, {"values": len(rows)})
    return len(rows)


def _head(session: Session, shop: OfShop | int) -> EventHead:
    head = session.scalars(scoped(session, shop, EventHead)).one_or_none()
    if head is None:
        head = EventHead(shop_id=pin(session, shop), position=0, hash=START)
        session.add(head)
    return head


def _sealed(personal: Mapping[str, Value], about: str) -> list[PersonalValue]:
    return [
        PersonalValue(about=about, name=name, salt=secrets.token_hex(16), value=canonical(value))
        for name, value in personal.items()
    ]


def _mark(value: PersonalValue) -> dict[str, str]:
    digest = value_digest(value.salt or "", value.name, value.value or "")
    return {"about": value.about, "digest": digest}
