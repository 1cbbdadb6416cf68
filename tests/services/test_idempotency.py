"""A write that is sent again is done once; a model in plain Python says what must come out."""

import json
import tempfile
import unittest
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from app.errors import BadInput, Conflict, JigbookError
from app.records.scope import scoped
from app.records.session import Database
from app.records.tables import Customer, IdempotencyKey
from app.services.idempotency import (
    KEPT_FOR,
    StoredAnswer,
    begin,
    forget_old,
    forget_words,
    give_up,
    recall,
    remember,
    request_hash,
)
from app.services.permissions import Actor, Role
from tests.databases import NOW, Template, actor_with, new_shop
from tests.services.staff import later


def write_once(
    database: Database, actor: Actor, key: str, body: str, now: datetime, fail: bool = False
) -> StoredAnswer:
    """What a writing route does: a customer is added and the answer is stored with it."""
    request = request_hash("POST", "/customers", body.encode())
    with database.write() as session:
        first = recall(session, actor, key, request, now)
        if first is not None:
            return first
        customer = Customer(shop_id=actor.shop_id, name=body, created_at=now)
        session.add(customer)
        session.flush()
        answer = StoredAnswer(201, f'{{"id": {customer.id}}}')
        remember(session, actor, key, request, answer, now)
        if fail:
            raise ConnectionError
        return answer


def names(database: Database, actor: Actor) -> list[str]:
    with database.read() as session:
        rows = session.scalars(scoped(session, actor, Customer).order_by(Customer.id))
        return [row.name for row in rows]


KEYS = st.sampled_from(["k1", "k2", "k3"])
BODIES = st.sampled_from(["Kim", "Bo"])
WHO = st.sampled_from([0, 1])


class RepeatedWrites(RuleBasedStateMachine):
    """Two senders, three keys, two bodies; answers get lost, work fails, time goes by."""

    template: Template

    @initialize()
    def start(self) -> None:
        self.folder = tempfile.TemporaryDirectory()
        self.open = self.template.copy(Path(self.folder.name))
        self.database = Database(self.open.__enter__())
        shop_id = new_shop(self.database)
        roles = frozenset({Role.DESK})
        self.senders = [Actor(shop_id, f"arm {n}", roles, token_id=n) for n in range(2)]
        self.now = NOW
        self.expected: dict[tuple[int, str], tuple[str, StoredAnswer, datetime]] = {}
        self.added: list[str] = []

    @rule(who=WHO, key=KEYS, body=BODIES, fail=st.booleans())
    def send(self, who: int, key: str, body: str, fail: bool) -> None:
        known = self.expected.get((who, key))
        if known is not None and known[0] != body:
            with pytest.raises(Conflict, match="idempotency_key_reused"):
                write_once(self.database, self.senders[who], key, body, self.now, fail)
        elif known is None and fail:
            with pytest.raises(ConnectionError):
                write_once(self.database, self.senders[who], key, body, self.now, fail)
        else:
            answer = write_once(self.database, self.senders[who], key, body, self.now, fail)
            self.take(who, key, body, answer)

    def take(self, who: int, key: str, body: str, answer: StoredAnswer) -> None:
        known = self.expected.get((who, key))
        if known is None:
            self.added.append(body)
            self.expected[who, key] = (body, answer, self.now)
        else:
            assert (known[0], known[1]) == (body, answer)

    @rule(days=st.sampled_from([1, 10, 31]))
    def wait_and_forget(self, days: int) -> None:
        self.now += timedelta(days=days)
        with self.database.write() as session:
            forget_old(session, self.senders[0], self.now)
        self.expected = {
            place: known
            for place, known in self.expected.items()
            if self.now - known[2] <= KEPT_FOR
        }

    @invariant()
    def nothing_was_added_twice_or_lost(self) -> None:
        if hasattr(self, "database"):
            assert names(self.database, self.senders[0]) == self.added

    def teardown(self) -> None:
        self.database.close()
        self.open.__exit__(None, None, None)
        self.folder.cleanup()


def test_repeated_writes_agree_with_the_model(template: Template) -> None:
    machine: Any = type("Writes", (RepeatedWrites,), {"template": template})
    machine.TestCase.settings = settings(
        max_examples=30, stateful_step_count=15, deadline=None, derandomize=True
    )
    result = unittest.TestCase.run(machine.TestCase("runTest"))
    assert result is not None
    assert result.testsRun == 1
    assert [trace for _, trace in result.failures + result.errors] == []


@pytest.fixture
def arm(shop_id: int) -> Actor:
    return actor_with(shop_id, Role.TECHNICIAN, person_id=None)


def test_method_path_and_body_make_the_request() -> None:
    one = request_hash("POST", "/jobs", b"{}")
    assert one == request_hash("post", "/jobs", b"{}")
    others = [("PUT", "/jobs", b"{}"), ("POST", "/jobs{", b"}"), ("POST", "/jobs", b"{} ")]
    assert len({one, *(request_hash(*other) for other in others)}) == 4


@pytest.mark.parametrize("key", ["", "x" * 201, "käse", "two\nlines"])
def test_a_key_that_cannot_be_used_is_refused(database: Database, arm: Actor, key: str) -> None:
    with pytest.raises(BadInput) as refused:
        write_once(database, arm, key, "Kim", NOW)
    assert refused.value.problems[0].code == "idempotency_key_unusable"
    assert names(database, arm) == []


def under_way(database: Database, arm: Actor, request: str, now: datetime) -> str | None:
    """The code of the refusal, or None when the work may begin."""
    with database.write() as session:
        try:
            recall(session, arm, "k1", request, now)
        except JigbookError as error:
            return error.code
        return None


def test_work_in_several_units_holds_its_key_until_it_answers_or_gives_up(
    database: Database, arm: Actor
) -> None:
    assert under_way(database, arm, "a", NOW) is None
    with database.write() as session:
        begin(session, arm, "k1", "a", NOW)
    assert under_way(database, arm, "a", NOW) == "idempotency_under_way"
    assert under_way(database, arm, "b", NOW) == "idempotency_key_reused"
    assert under_way(database, arm, "a", later(minutes=11)) is None
    with database.write() as session:
        give_up(session, arm, "k1")
    assert under_way(database, arm, "b", NOW) is None
    with database.write() as session:
        begin(session, arm, "k1", "b", NOW)
        remember(session, arm, "k1", "b", StoredAnswer(201, "{}"), NOW)
        give_up(session, arm, "k1")
        assert recall(session, arm, "k1", "b", NOW) == StoredAnswer(201, "{}")


def test_a_new_key_lets_go_of_those_that_are_too_old(database: Database, arm: Actor) -> None:
    write_once(database, arm, "k1", "Kim", NOW)
    write_once(database, arm, "k2", "Bo", NOW + KEPT_FOR + timedelta(seconds=1))
    with database.read() as session:
        kept = session.scalars(scoped(session, arm, IdempotencyKey)).all()
        assert [row.key for row in kept] == ["k2"]


def test_words_to_be_erased_are_found_as_they_stand_in_an_answer(
    database: Database, arm: Actor
) -> None:
    answers = {"k1": 'the "Red" one', "k2": "100_%", "k3": "100 percent"}
    with database.write() as session:
        for key, word in answers.items():
            told = StoredAnswer(200, json.dumps({"note": word}, ensure_ascii=False))
            remember(session, arm, key, "r", told, NOW)
        forget_words(session, arm, ["", 'the "Red" one', "_%", "x" * 100_000])
    with database.read() as session:
        kept = session.scalars(scoped(session, arm, IdempotencyKey)).all()
        assert [row.key for row in kept] == ["k3"]
