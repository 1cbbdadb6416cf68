"""What the digest of an event covers: worked out here by the standard library alone."""

import hashlib
import json
from datetime import UTC, datetime, timedelta, timezone

from app.records.chain import START, event_hash
from app.records.tables import Event

AT = datetime(2026, 3, 2, 10, 30, 0, 5, tzinfo=timezone(timedelta(hours=1)))


def an_event() -> Event:
    return Event(
        shop_id=1, position=7, at=AT, actor="person:3", what="draft.points_added",
        subject="job:J-2026-0001", public='{"points":1}', personal="{}", previous_hash=START,
    )  # fmt: skip


def test_the_digest_of_an_event_is_that_of_all_it_says() -> None:
    said = {
        "actor": "person:3",
        "at": AT.astimezone(UTC).isoformat(timespec="microseconds"),
        "personal": "{}",
        "position": 7,
        "previous": "0" * 64,
        "public": '{"points":1}',
        "shop": 1,
        "subject": "job:J-2026-0001",
        "what": "draft.points_added",
    }
    text = json.dumps(said, separators=(",", ":"), ensure_ascii=False)
    assert event_hash(an_event()) == hashlib.sha256(text.encode()).hexdigest()


def test_whatever_changes_in_it_changes_its_digest() -> None:
    sound = event_hash(an_event())
    others = {
        "shop_id": 2, "position": 8, "at": AT + timedelta(microseconds=1), "actor": "person:4",
        "what": "draft.point_undone", "subject": "job:J-2026-0002", "public": "{}",
        "personal": '{"a":1}', "previous_hash": "1" * 64,
    }  # fmt: skip
    for name, value in others.items():
        changed = an_event()
        setattr(changed, name, value)
        assert event_hash(changed) != sound, name
