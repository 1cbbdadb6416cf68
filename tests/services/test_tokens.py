"""API tokens: shown once, one role each, useless from the moment they are revoked."""

from datetime import timedelta

import pytest

from app.errors import BadInput, Conflict, NotAllowed, NotFound, NotSignedIn
from app.records.session import Database
from app.records.tables import Person
from app.services.permissions import Actor, Role, allowed
from app.services.tokens import (
    NewToken,
    TokenHolder,
    create_token,
    identify,
    lasting,
    list_tokens,
    revoke_by_id,
    revoke_token,
    touch,
)
from tests.databases import NOW, actor_with
from tests.services.staff import later


@pytest.fixture
def owner(shop_id: int) -> Actor:
    return actor_with(shop_id, Role.OWNER)


def create(
    database: Database, owner: Actor, name: str = "arm 2", days: int | None = None
) -> NewToken:
    lasts = None if days is None else timedelta(days=days)
    with database.write() as session:
        return create_token(session, owner, name, Role.TECHNICIAN, NOW, lasts)


def holder(database: Database, token: str, **span: float) -> TokenHolder:
    with database.read() as session:
        return identify(session, token, later(**span))


def test_a_token_acts_with_its_one_role_in_its_own_name(database: Database, owner: Actor) -> None:
    actor = holder(database, create(database, owner).token).actor
    assert (actor.name, actor.person_id) == ("arm 2", None)
    assert actor.roles == {Role.TECHNICIAN}
    assert allowed(actor, "surveys.submit")
    assert not allowed(actor, "certificates.issue")
    assert actor.mark.startswith("token:")


def test_only_a_digest_and_the_beginning_are_kept(database: Database, owner: Actor) -> None:
    new = create(database, owner)
    assert len(new.token) == len("jigbook_") + 43
    assert new.token.startswith(new.view.hint)
    assert len(new.view.hint) == len("jigbook_") + 6
    with database.engine.connect() as connection:
        kept = [
            str(connection.exec_driver_sql(f"SELECT * FROM {table}").all())
            for table in ("api_token", "event", "personal_value")
        ]
    assert new.token not in "".join(kept)


@pytest.mark.parametrize("changed", ["", "jigbook_", "x", "UPPER"])
def test_another_token_is_nobodys(database: Database, owner: Actor, changed: str) -> None:
    token = create(database, owner).token
    wrong = {"x": token + "x", "UPPER": token.upper()}.get(changed, changed)
    with pytest.raises(NotSignedIn, match="token_unknown"):
        holder(database, wrong)


def test_a_revoked_token_is_useless_at_once_and_stays_on_the_list(
    database: Database, owner: Actor
) -> None:
    token = create(database, owner).token
    with database.write() as session:
        assert revoke_token(session, owner, "arm 2", NOW).revoked_at == NOW
        assert revoke_token(session, owner, "arm 2", later(days=1)).revoked_at == NOW
        with pytest.raises(NotFound, match="no_such_token"):
            revoke_token(session, owner, "arm 3", NOW)
    with pytest.raises(NotSignedIn, match="token_over"):
        holder(database, token)
    with database.read() as session:
        assert [view.name for view in list_tokens(session, owner)] == ["arm 2"]


def test_the_list_tells_who_made_a_token_and_one_is_revoked_from_it(
    database: Database, shop_id: int
) -> None:
    with database.write() as session:
        session.add(
            Person(id=3, shop_id=shop_id, sign_in_name="o", sign_in_key="o", name="Olof Invented",
                   created_at=NOW)
        )  # fmt: skip
    owner = actor_with(shop_id, Role.OWNER, person_id=3)
    made, other = create(database, owner), create(database, actor_with(shop_id, Role.OWNER), "b")
    assert (made.view.made_by, other.view.made_by) == ("Olof Invented", None)
    with database.write() as session:
        assert revoke_by_id(session, owner, made.view.id, NOW).revoked_at == NOW
        with pytest.raises(NotFound, match="no_such_token"):
            revoke_by_id(session, owner, 99, NOW)
    assert holder(database, other.token).actor.name == "b"
    with pytest.raises(NotSignedIn, match="token_over"):
        holder(database, made.token)


@pytest.mark.parametrize(
    ("days", "code"), [(0, "too_small"), (3651, "too_large"), (10**15, "too_large")]
)
def test_a_token_lasts_from_a_day_to_ten_years(days: int, code: str) -> None:
    with pytest.raises(BadInput) as refused:
        lasting(days)
    assert [(one.code, one.field) for one in refused.value.problems] == [(code, "days")]
    assert (lasting(None), lasting(3650)) == (None, timedelta(days=3650))


def test_a_token_may_end_by_itself(database: Database, owner: Actor) -> None:
    token = create(database, owner, days=30).token
    assert holder(database, token, days=29.99).actor.name == "arm 2"
    with pytest.raises(NotSignedIn, match="token_over"):
        holder(database, token, days=30)


def test_its_last_use_is_written_down_every_five_minutes(database: Database, owner: Actor) -> None:
    token = create(database, owner).token
    first = holder(database, token)
    assert first.needs_touch
    with database.write() as session:
        touch(session, first.actor, NOW)
    assert not holder(database, token, minutes=4.99).needs_touch
    assert holder(database, token, minutes=5).needs_touch
    with database.read() as session:
        assert list_tokens(session, owner)[0].last_used_at == NOW


def test_names_are_given_once_and_in_one_line(database: Database, owner: Actor) -> None:
    create(database, owner)
    with pytest.raises(Conflict, match="token_name_taken"):
        create(database, owner, " arm 2 ")
    for name in ("", "two\nlines", "x" * 301):
        with pytest.raises(BadInput):
            create(database, owner, name)


def test_only_an_owner_makes_sees_and_revokes_tokens(database: Database, owner: Actor) -> None:
    create(database, owner)
    other = actor_with(owner.shop_id, Role.DESK, Role.TECHNICIAN, Role.INSPECTOR)
    with database.write() as session:
        for deed in (
            lambda: create_token(session, other, "arm 3", Role.OWNER, NOW),
            lambda: list_tokens(session, other),
            lambda: revoke_token(session, other, "arm 2", NOW),
            lambda: revoke_by_id(session, other, 1, NOW),
        ):
            with pytest.raises(NotAllowed):
                deed()
