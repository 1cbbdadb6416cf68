"""Sessions: a random secret of which only the digest is kept, an end in time, an end by hand."""

from datetime import timedelta

import pytest

from app.errors import NotAllowed, NotFound, NotSignedIn
from app.records.session import Database
from app.services.permissions import Actor, Role
from app.services.sessions import (
    CurrentSession,
    close,
    end_all_of,
    open_session,
    resume,
    revoke_others,
    rotate,
    touch,
)
from tests.databases import NOW
from tests.services.staff import Staff, later, start


@pytest.fixture
def staff(database: Database) -> Staff:
    return start(database)


def seen(staff: Staff, secret: str, hours: float = 0) -> CurrentSession:
    with staff.database.read() as session:
        return resume(session, secret, later(hours=hours))


def code_of(staff: Staff, secret: str, hours: float = 0) -> str:
    with pytest.raises(NotSignedIn) as refused:
        seen(staff, secret, hours)
    return refused.value.code


def opened(staff: Staff, actor: Actor | None = None, on_floor: bool = False) -> str:
    with staff.database.write() as session:
        return open_session(session, actor or staff.owner, NOW, on_floor=on_floor).secret


def use(staff: Staff, secret: str, hours: float) -> None:
    current = seen(staff, secret, hours)
    with staff.database.write() as session:
        touch(session, current.actor, current.session_id, later(hours=hours))


def test_the_secret_leads_to_the_person_and_another_one_to_nobody(staff: Staff) -> None:
    secret = opened(staff)
    current = seen(staff, secret)
    assert current.actor.person_id == staff.owner.person_id
    assert current.actor.roles == set(Role)
    for other in ("", secret[:-1], secret + "x", secret.swapcase()):
        assert code_of(staff, other) == "no_session"


def test_secrets_are_long_differ_and_are_not_kept(staff: Staff) -> None:
    secrets = {opened(staff) for _ in range(20)}
    assert len(secrets) == 20
    assert min(map(len, secrets)) == 43, "256 bits in base 64"
    with staff.database.engine.connect() as connection:
        kept = str(connection.exec_driver_sql("SELECT * FROM sign_in_session").all())
    assert all(secret not in kept for secret in secrets)


@pytest.mark.parametrize(("on_floor", "hours"), [(False, 8), (True, 12)])
def test_a_session_ends_when_nothing_is_asked_for(
    staff: Staff, on_floor: bool, hours: float
) -> None:
    secret = opened(staff, on_floor=on_floor)
    assert seen(staff, secret, hours - 0.01).ends_at == later(hours=hours)
    assert code_of(staff, secret, hours) == "session_over"
    use(staff, secret, 5)
    assert seen(staff, secret, hours + 4.99).session_id


def test_a_session_ends_after_a_day_however_busy(staff: Staff) -> None:
    secret = opened(staff)
    for hours in (7, 14, 21):
        use(staff, secret, hours)
    assert seen(staff, secret, 23.99).ends_at == later(hours=24)
    assert code_of(staff, secret, 24) == "session_over"


def test_a_request_is_written_down_at_most_once_a_minute(staff: Staff) -> None:
    secret = opened(staff)
    assert not seen(staff, secret, 59 / 3600).needs_touch
    assert seen(staff, secret, 60 / 3600).needs_touch
    use(staff, secret, 1)
    assert not seen(staff, secret, 1.01).needs_touch


def test_signing_in_again_never_gives_the_same_session(staff: Staff) -> None:
    first, second = opened(staff), opened(staff)
    assert seen(staff, first).session_id != seen(staff, second).session_id


def test_a_rotated_session_keeps_its_end_and_the_old_secret_is_dead(staff: Staff) -> None:
    secret = opened(staff)
    current = seen(staff, secret)
    with staff.database.write() as session:
        renewed = rotate(session, current.actor, current.session_id, later(hours=20))
    assert renewed.session_id == current.session_id
    assert renewed.ends_at == later(hours=24)
    assert code_of(staff, secret) == "no_session"
    assert seen(staff, renewed.secret, 23).session_id == current.session_id


def test_signing_out_ends_it_at_once(staff: Staff) -> None:
    secret = opened(staff)
    current = seen(staff, secret)
    with staff.database.write() as session:
        close(session, current.actor, current.session_id, NOW)
    assert code_of(staff, secret) == "no_session"


def test_all_other_sessions_of_ones_own_can_be_ended(staff: Staff) -> None:
    kim = staff.add("kim", Role.DESK)
    mine, other, of_kim = opened(staff), opened(staff), opened(staff, kim)
    current = seen(staff, mine)
    with staff.database.write() as session:
        assert revoke_others(session, current.actor, current.session_id, NOW) == 1
    assert seen(staff, mine).session_id == current.session_id
    assert code_of(staff, other) == "no_session"
    assert seen(staff, of_kim).actor.person_id == kim.person_id


def test_the_owner_ends_anybodys_sessions_and_nobody_else_does(staff: Staff) -> None:
    kim = staff.add("kim", Role.DESK)
    assert kim.person_id is not None
    secret = opened(staff, kim)
    with staff.database.write() as session:
        with pytest.raises(NotAllowed):
            end_all_of(session, kim, kim.person_id, NOW)
        assert end_all_of(session, staff.owner, kim.person_id, NOW) == 1
    assert code_of(staff, secret) == "no_session"


def test_nobody_closes_or_renews_the_session_of_another(staff: Staff) -> None:
    kim = staff.add("kim", Role.DESK)
    session_id = seen(staff, opened(staff)).session_id
    for reach in (close, rotate, touch):
        with staff.database.write() as session, pytest.raises(NotFound):
            reach(session, kim, session_id, NOW)


def test_a_token_opens_no_session(staff: Staff) -> None:
    token = Actor(staff.owner.shop_id, "arm", frozenset({Role.OWNER}), token_id=1)
    with staff.database.write() as session, pytest.raises(NotSignedIn, match="not_a_person"):
        open_session(session, token, NOW + timedelta(0))
