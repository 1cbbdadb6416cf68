"""What is done on the floor, in order: each act once, however often its request comes."""

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from app.chassis.sequence import Again
from app.errors import BadInput, Conflict, Problem
from app.records.chain import canonical
from app.records.prepared import Prepared
from app.records.rows import add_values
from app.records.scope import for_given_shop, pin, scoped
from app.records.tables import Draft, DraftAct
from app.services import audit
from app.services.permissions import Actor

LONGEST_KEY = 200


@dataclass(frozen=True, slots=True)
class Request:
    """What the sender calls its request, and what it asks for."""

    key: str | None
    sha256: str


def request(key: str | None, kind: str, *asked: object) -> Request:
    """Raises BadInput `request_key_unusable`."""
    if key is not None and not _usable(key):
        facts = {"met": len(key), "limit": LONGEST_KEY}
        raise BadInput([Problem("request_key_unusable", "request_key", facts)])
    text = json.dumps([kind, *asked], sort_keys=True, default=list)
    return Request(key, hashlib.sha256(text.encode()).hexdigest())


def _usable(key: str) -> bool:
    return 0 < len(key) <= LONGEST_KEY and key.isascii() and key.isprintable()


@dataclass(frozen=True, slots=True)
class Earlier:
    """An act that was done before under the same key."""

    step: str | None
    facts: str
    request_sha256: str


_ACT = DraftAct.__table__.c
_EARLIER = Prepared(
    for_given_shop(
        select(_ACT.step, _ACT.facts, _ACT.request_sha256).where(
            _ACT.shop_id == bindparam("shop_id"),
            _ACT.draft_id == bindparam("draft_id"),
            _ACT.request_key == bindparam("request_key"),
        )
    )
)


def earlier(session: Session, actor: Actor, draft_id: int, asked: Request) -> Earlier | None:
    """The act that this request did before, whoever sent it then: a tablet changes hands.

    Raises Conflict `request_key_reused` where the key stood for something else.
    """
    if asked.key is None:
        return None
    given = {"shop_id": pin(session, actor), "draft_id": draft_id, "request_key": asked.key}
    act = next((Earlier(*row) for row in _EARLIER.asked(session, given)), None)
    if act is not None and act.request_sha256 != asked.sha256:
        raise Conflict("request_key_reused", "request_key")
    return act


def add(
    session: Session,
    actor: Actor,
    draft_id: int,
    kind: str,
    step: str | None,
    asked: Request,
    facts: Mapping[str, audit.Value],
    now: datetime,
) -> None:
    """Writes an act down."""
    values = {
        "draft_id": draft_id,
        "kind": kind,
        "step": step,
        "request_key": asked.key,
        "request_sha256": asked.sha256,
        "facts": canonical(dict(facts)),
        "by_id": actor.person_id,
        "at": now,
    }
    add_values(session, DraftAct, actor.shop_id, values)


def listing(session: Session, actor: Actor, draft: Draft) -> list[DraftAct]:
    """All acts of a draft but those that only brought or took back points, in order."""
    rows = scoped(session, actor, DraftAct).where(
        DraftAct.draft_id == draft.id, DraftAct.kind.not_in(("taken", "undone"))
    )
    return list(session.scalars(rows.order_by(DraftAct.id)))


@dataclass(frozen=True, slots=True)
class Standing:
    """What the acts say of a draft now."""

    noted: frozenset[str]
    """Codes of the steps without points that are done."""
    targets: tuple[str, ...]
    """Names that were given to the targets; empty while none were."""
    again: tuple[Again, ...]
    """What is measured again after each pause."""
    paused_at: datetime | None
    overtaken: frozenset[str] = frozenset()
    """Codes of the steps to be done anew, whatever the heading still says of them."""


PLACED_BY_HAND = ("rig", "play", "mounting")
"""Steps that are done anew after the set-up moved."""


def standing(acts: Sequence[DraftAct]) -> Standing:
    """What counts of the acts: what a later restart overtook does not."""
    noted: set[str] = set()
    targets: tuple[str, ...] = ()
    again: list[Again] = []
    overtaken: set[str] = set()
    paused_at = None
    for act in acts:
        facts = json.loads(act.facts)
        if act.kind == "recorded" and act.step:
            noted.add(act.step)
            overtaken.discard(act.step)
            targets = tuple(facts.get("targets") or targets)
        elif act.kind == "paused":
            paused_at = act.at
        elif act.kind == "resumed":
            paused_at = None
            again.append(Again(facts["number"], tuple(facts["steps"])))
        elif act.kind == "restarted":
            again = _after_restart(again, facts)
            anew = {"rig"} if facts["scope"] == "steering" else set(PLACED_BY_HAND)
            noted, overtaken = noted - anew, overtaken | anew
    return Standing(frozenset(noted), targets, tuple(again), paused_at, frozenset(overtaken))


def _after_restart(again: Sequence[Again], facts: Mapping[str, Any]) -> list[Again]:
    """Nothing is left that could be measured again; or all but the targets.

    Returns of the datum that came before the new stations do not close the measurement.
    """
    if facts["scope"] != "steering":
        return []
    kept = [
        Again(one.number, tuple([code for code in one.steps if code != "station"])) for one in again
    ]
    return [*kept, Again(facts["number"], ())]


def is_paused(session: Session, actor: Actor, draft: Draft) -> bool:
    """Whether the measurement rests."""
    return draft.id in paused_since(session, actor, [draft.id])


def paused_since(session: Session, actor: Actor, drafts: Sequence[int]) -> dict[int, datetime]:
    """Since when those of these measurements rest that do, by their ids."""
    rows = scoped(session, actor, DraftAct).where(
        DraftAct.draft_id.in_(drafts), DraftAct.kind.in_(("paused", "resumed"))
    )
    newest = {row.draft_id: row for row in session.scalars(rows.order_by(DraftAct.id))}
    return {draft: row.at for draft, row in newest.items() if row.kind == "paused"}
