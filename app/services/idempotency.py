"""Writes that may be sent again: the same key and body get the first answer, stored once.

A route that writes calls `recall` and `remember` in the very writing unit of its work, so that
answer and effect are stored together or not at all. Work in several units calls `begin` first.
"""

import hashlib
import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import delete
from sqlalchemy.orm import Session

from app.errors import BadInput, Conflict, Problem
from app.records.scope import pin, scoped
from app.records.tables import IdempotencyKey
from app.services.permissions import Actor

LONGEST_KEY = 200
LONGEST_WORD = 1000
"""The beginning of a longer text is sought: a pattern may not be of any length."""
KEPT_FOR = timedelta(days=30)
UNDER_WAY = 0
"""Stored status of work that has begun and not answered yet."""
GIVEN_UP_AFTER = timedelta(minutes=10)


@dataclass(frozen=True, slots=True)
class StoredAnswer:
    status: int
    answer: str


def request_hash(method: str, path: str, body: bytes) -> str:
    """What a key stands for: another method, path or body under it is another request."""
    digest = hashlib.sha256()
    for part in (method.upper().encode(), path.encode(), body):
        digest.update(len(part).to_bytes(8, "big") + part)
    return digest.hexdigest()


def recall(
    session: Session, actor: Actor, key: str, request: str, now: datetime
) -> StoredAnswer | None:
    """The first answer under this key, None when there is none yet.

    Raises BadInput `idempotency_key_unusable`, Conflict `idempotency_key_reused` for another
    request under the key, `idempotency_under_way` while the first one still works.
    """
    row = _find(session, actor, key)
    if row is None or _given_up(row, now):
        return None
    if row.request_hash != request:
        raise Conflict("idempotency_key_reused", "Idempotency-Key", key=key)
    if row.status == UNDER_WAY:
        raise Conflict("idempotency_under_way", "Idempotency-Key", key=key)
    return StoredAnswer(row.status, row.answer)


def begin(session: Session, actor: Actor, key: str, request: str, now: datetime) -> None:
    """Claim the key for work in several units, after `recall` gave None."""
    remember(session, actor, key, request, StoredAnswer(UNDER_WAY, ""), now)


def remember(
    session: Session, actor: Actor, key: str, request: str, answer: StoredAnswer, now: datetime
) -> None:
    """Store the answer under the key, after `recall` gave None in the same unit."""
    row = _find(session, actor, key)
    if row is None:
        forget_old(session, actor, now)
        row = IdempotencyKey(shop_id=pin(session, actor), actor=actor.mark, key=key)
        session.add(row)
    row.request_hash, row.status, row.answer = request, answer.status, answer.answer
    row.created_at = now
    session.flush()


def give_up(session: Session, actor: Actor, key: str) -> None:
    """Free a key whose work failed, so that it can be tried again."""
    row = _find(session, actor, key)
    if row is not None and row.status == UNDER_WAY:
        session.delete(row)


def forget_old(session: Session, actor: Actor, now: datetime) -> None:
    """Delete keys older than thirty days."""
    pin(session, actor)
    session.execute(delete(IdempotencyKey).where(IdempotencyKey.created_at < now - KEPT_FOR))


def forget_words(session: Session, actor: Actor, words: Iterable[str]) -> None:
    """Delete every key whose answer holds one of the words: they are being erased for good.

    A request that is repeated later under such a key is done anew.
    """
    pin(session, actor)
    for word in {word[:LONGEST_WORD] for word in words if word}:
        written = json.dumps(word, ensure_ascii=False)[1:-1]
        holds = IdempotencyKey.answer.contains(written, autoescape=True)
        session.execute(delete(IdempotencyKey).where(holds))


def _given_up(row: IdempotencyKey, now: datetime) -> bool:
    return row.status == UNDER_WAY and now - row.created_at > GIVEN_UP_AFTER


def _find(session: Session, actor: Actor, key: str) -> IdempotencyKey | None:
    if not key or len(key) > LONGEST_KEY or not (key.isascii() and key.isprintable()):
        facts = {"met": len(key), "limit": LONGEST_KEY}
        raise BadInput([Problem("idempotency_key_unusable", "Idempotency-Key", facts)])
    query = scoped(session, actor, IdempotencyKey).where(
        IdempotencyKey.actor == actor.mark, IdempotencyKey.key == key
    )
    return session.scalars(query).one_or_none()
