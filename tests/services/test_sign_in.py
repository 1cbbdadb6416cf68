"""Signing in, guessing, changing a password, giving it again before a signature."""

import threading
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest

from app.errors import BadInput, JigbookError, NotSignedIn, TooManyTries
from app.records.session import Database
from app.services import sign_in as door
from app.services.audit_check import verify
from app.services.passwords import Passwords
from app.services.permissions import Actor, Role
from app.services.sessions import open_session, resume
from app.services.sign_in import confirm_password, sign_in
from tests.databases import CHEAP, NOW
from tests.services.staff import ADDRESS, OTHER_PASSWORD, PASSWORD, Staff, later, start


@pytest.fixture
def staff(database: Database) -> Staff:
    return start(database)


def fail(staff: Staff, name: str, times: int = 1, address: str = ADDRESS) -> list[str]:
    """Codes of so many tries with a wrong password."""
    codes = []
    for _ in range(times):
        with pytest.raises(JigbookError) as refused:
            staff.sign_in(name, "wrong", address=address)
        codes.append(refused.value.code)
    return codes


def test_the_name_may_be_written_any_way_and_the_password_only_one(staff: Staff) -> None:
    kim = staff.add("Åsa Ek", Role.DESK)
    for name in ("Åsa Ek", "  åsa   EK ", "asa ek"):
        assert staff.sign_in(name).person_id == kim.person_id
    for password in (PASSWORD + " ", PASSWORD.upper(), ""):
        with pytest.raises(NotSignedIn, match="sign_in_failed"):
            staff.sign_in("åsa ek", password, address="192.0.2.50")


def test_an_unknown_name_and_a_wrong_password_are_told_alike(staff: Staff) -> None:
    staff.add("kim", Role.DESK)
    told = []
    for name in ("kim", "nobody at all"):
        with pytest.raises(NotSignedIn) as refused:
            staff.sign_in(name, "wrong")
        told.append((refused.value.code, refused.value.feature, dict(refused.value.facts)))
    assert told[0] == told[1]


def test_the_sixth_try_is_refused_and_only_for_that_account(staff: Staff) -> None:
    staff.add("kim", Role.DESK)
    assert fail(staff, "kim", 7) == ["sign_in_failed"] * 5 + ["too_many_tries"] * 2
    with pytest.raises(TooManyTries):
        staff.sign_in("kim")
    assert staff.sign_in("owner", address="192.0.2.8").person_id == staff.owner.person_id


def test_unknown_names_are_slowed_down_alike(staff: Staff) -> None:
    assert fail(staff, "nobody", 6)[-1] == "too_many_tries"


def test_pauses_grow_to_fifteen_minutes_and_never_lock_for_good(staff: Staff) -> None:
    staff.add("kim", Role.DESK)
    fail(staff, "kim", 5)
    at, pauses = NOW, []
    for turn in range(7):
        with pytest.raises(TooManyTries) as refused:
            staff.sign_in("kim", "wrong", at, f"192.0.2.{turn}")
        pauses.append(refused.value.retry_after_s)
        at += timedelta(seconds=refused.value.retry_after_s)
        with pytest.raises(NotSignedIn):
            staff.sign_in("kim", "wrong", at, f"192.0.2.{turn}")
    assert pauses == [60, 120, 240, 480, 900, 900, 900]
    assert staff.sign_in("kim", at=at + timedelta(minutes=15)).name == "Kim"


def test_success_forgets_the_failures_of_the_account(staff: Staff) -> None:
    staff.add("kim", Role.DESK)
    fail(staff, "kim", 4)
    staff.sign_in("kim")
    assert fail(staff, "kim", 5) == ["sign_in_failed"] * 5


def test_a_quiet_day_forgives(staff: Staff) -> None:
    staff.add("kim", Role.DESK)
    fail(staff, "kim", 4)
    for _ in range(5):
        with pytest.raises(NotSignedIn, match="sign_in_failed"):
            staff.sign_in("kim", "wrong", later(hours=25))


def test_the_pause_survives_a_restart(staff: Staff) -> None:
    staff.add("kim", Role.DESK)
    fail(staff, "kim", 5)
    again = Database(staff.database.url)
    with pytest.raises(TooManyTries):
        sign_in(again, "kim", PASSWORD, ADDRESS, NOW, CHEAP)
    again.close()


def test_one_address_that_tries_many_names_is_slowed_down(staff: Staff) -> None:
    codes = [fail(staff, f"name {n}", address="192.0.2.66")[0] for n in range(21)]
    assert codes == ["sign_in_failed"] * 20 + ["too_many_tries"]
    assert staff.sign_in("owner", address="192.0.2.67").name == "owner"


def test_right_passwords_use_up_no_tries_of_an_address(staff: Staff) -> None:
    signed_in = {staff.sign_in("owner", address="192.0.2.66").name for _ in range(25)}
    assert signed_in == {"owner"}


def test_many_tries_at_once_do_not_slip_through(staff: Staff) -> None:
    staff.add("kim", Role.DESK)
    with ThreadPoolExecutor(8) as threads:
        codes = list(threads.map(lambda _: fail(staff, "kim")[0], range(16)))
    assert codes.count("sign_in_failed") == 5


def test_names_typed_are_not_kept_in_the_log_or_the_throttle(staff: Staff) -> None:
    fail(staff, "my secret password", 2)
    with staff.database.engine.connect() as connection:
        kept = [
            str(connection.exec_driver_sql(f"SELECT * FROM {table}").all())
            for table in ("throttle", "event", "personal_value")
        ]
    assert "secret" not in "".join(kept)


def test_hashing_keeps_no_writer_waiting(staff: Staff, monkeypatch: pytest.MonkeyPatch) -> None:
    """While a password is being verified, somebody else's write goes through."""
    slow = Passwords(1, 8, 1)
    inner = slow._hasher.verify
    verifying, written = threading.Event(), threading.Event()

    def wait(password: str | bytes, stored: str | bytes) -> bool:
        verifying.set()
        assert written.wait(5), "the writer had to wait for the hashing"
        return inner(password, stored)

    monkeypatch.setattr(slow._hasher, "verify", wait)
    with ThreadPoolExecutor(1) as threads:
        actor = threads.submit(
            sign_in, staff.database, "owner", PASSWORD, ADDRESS, NOW, slow
        )  # fmt: skip
        assert verifying.wait(5)
        with staff.database.write() as session:
            open_session(session, staff.owner, NOW)
        written.set()
        assert actor.result().name == "owner"


def test_a_hash_with_other_costs_is_renewed_at_sign_in(staff: Staff) -> None:
    def costs() -> str:
        with staff.database.engine.connect() as connection:
            stored = connection.exec_driver_sql("SELECT password_hash FROM person").scalar_one()
            return str(stored).split("$")[3]

    assert costs() == "m=8,t=1,p=1"
    dearer = Passwords(time_cost=2, memory_kib=16, lanes=1)
    sign_in(staff.database, "owner", PASSWORD, ADDRESS, NOW, dearer)
    assert costs() == "m=16,t=2,p=1"
    assert staff.sign_in("owner").name == "owner"


CHANGES = {
    "current wrong": ("wrong", OTHER_PASSWORD, ("wrong_password", "current_password")),
    "too short": (PASSWORD, "short", ("password_too_short", "new_password")),
    "common": (PASSWORD, "password12345", ("password_common", "new_password")),
    "own name": (PASSWORD, "owner-owner-77", ("password_common", "new_password")),
    "the same": (PASSWORD, PASSWORD, ("password_same", "new_password")),
}


@pytest.mark.parametrize("case", CHANGES)
def test_a_change_of_password_that_cannot_be_is_refused(staff: Staff, case: str) -> None:
    current, new, expected = CHANGES[case]
    with pytest.raises(BadInput) as refused:
        staff.change(staff.owner, current, new)
    assert [(fault.code, fault.field) for fault in refused.value.problems] == [expected]
    assert staff.sign_in("owner").name == "owner"


def test_a_changed_password_ends_the_other_sessions(staff: Staff) -> None:
    with staff.database.write() as session:
        here = open_session(session, staff.owner, NOW)
        there = open_session(session, staff.owner, NOW)
    door.change_password(
        staff.database, staff.owner, PASSWORD, OTHER_PASSWORD, NOW, here.session_id, CHEAP
    )
    with staff.database.read() as session:
        assert resume(session, here.secret, NOW).session_id == here.session_id
    with staff.database.read() as session, pytest.raises(NotSignedIn):
        resume(session, there.secret, NOW)
    with pytest.raises(NotSignedIn):
        staff.sign_in("owner", PASSWORD)
    assert staff.sign_in("owner", OTHER_PASSWORD).name == "owner"


def test_a_password_given_again_is_checked_throttled_and_logged(staff: Staff) -> None:
    confirm_password(staff.database, staff.owner, PASSWORD, NOW, "certificate.issue", CHEAP)
    with staff.database.engine.connect() as connection:
        logged = connection.exec_driver_sql(
            "SELECT actor, public FROM event WHERE what = 'password.confirmed'"
        ).all()
    assert [tuple(row) for row in logged] == [
        (f"person:{staff.owner.person_id}", '{"for":"certificate.issue"}')
    ]
    codes = []
    for _ in range(6):
        with pytest.raises(JigbookError) as refused:
            confirm_password(staff.database, staff.owner, "wrong", NOW, "x", CHEAP)
        codes.append(refused.value.code)
    assert codes == ["bad_input"] * 5 + ["too_many_tries"]
    assert staff.sign_in("owner").name == "owner"


def test_a_token_has_no_password_to_give(staff: Staff) -> None:
    token = Actor(staff.owner.shop_id, "arm", frozenset({Role.INSPECTOR}), token_id=1)
    with pytest.raises(NotSignedIn, match="not_a_person"):
        confirm_password(staff.database, token, PASSWORD, NOW, "certificate.issue", CHEAP)


def test_all_of_it_leaves_the_log_whole(staff: Staff) -> None:
    staff.add("kim", Role.DESK)
    fail(staff, "kim", 6)
    with staff.database.read() as session:
        report = verify(session, staff.owner)
    assert report.whole
    assert report.events > 8
