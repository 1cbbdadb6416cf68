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

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from app.errors import Conflict
from app.records.chain import START, canonical, hash_of, value_digest
from app.records.columns import UTC
from app.records.prepared import Prepared
from app.records.rows import add_row, add_values, change_row
from app.records.scope import OfShop, for_given_shop, pin, scoped
from app.records.tables import Event, EventHead, PersonalValue
from app.services.permissions import Actor

Value = str | int | float | bool | None | Sequence["Value"] | Mapping[str, "Value"]

ERASED = "personal_values.erased"
_TABLE = EventHead.__table__
_HEAD = Prepared(
    for_given_shop(
        select(_TABLE.c.position, _TABLE.c.hash).where(_TABLE.c.shop_id == bindparam("shop_id"))
    )
)


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
    session.flush()
    values = _sealed(personal or {}, about or subject)
    shop_id, position, newest = _head(session, shop)
    said = {
        "shop_id": shop_id,
        "position": position + 1,
        "at": now.astimezone(UTC),
        "actor": actor_mark,
        "what": what,
        "subject": subject,
        "public": canonical(dict(public or {})),
        "personal": canonical({value.name: _mark(value) for value in values}),
        "previous_hash": newest,
    }
    own_hash = hash_of(said)
    event_id = add_values(session, Event, shop_id, {**said, "hash": own_hash})
    _advance(session, shop_id, position, own_hash)
    for value in values:
        value.shop_id, value.event_id = shop_id, event_id
        add_row(session, value)


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


def _head(session: Session, shop: OfShop | int) -> tuple[int, int, str]:
    """The shop, and position and hash of its newest event."""
    shop_id = pin(session, shop)
    for position, newest in _HEAD.asked(session, {"shop_id": shop_id}):
        return shop_id, position, newest
    add_row(session, EventHead(shop_id=shop_id, position=0, hash=START))
    return shop_id, 0, START


def _advance(session: Session, shop_id: int, position: int, own_hash: str) -> None:
    """The event after this position is the newest now. Raises Conflict where another came
    between."""
    new = {"position": position + 1, "hash": own_hash}
    if not change_row(session, EventHead, shop_id, {"position": position}, new):
        raise Conflict("changed_meanwhile")


def _sealed(personal: Mapping[str, Value], about: str) -> list[PersonalValue]:
    return [
        PersonalValue(about=about, name=name, salt=secrets.token_hex(16), value=canonical(value))
        for name, value in personal.items()
    ]


def _mark(value: PersonalValue) -> dict[str, str]:
    digest = value_digest(value.salt or "", value.name, value.value or "")
    return {"about": value.about, "digest": digest}
