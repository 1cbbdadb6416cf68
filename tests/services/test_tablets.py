"""Tablets: enrolled by a one-time code of the owner's, told by a digest, revoked at once."""

from datetime import timedelta

import pytest

from app.errors import BadInput, Conflict, NotAllowed, NotFound, NotSignedIn, TooManyTries
from app.records.scope import scoped
from app.records.session import Database
from app.records.tables import Event, Tablet
from app.services import tablets
from app.services.audit_check import verify
from app.services.permissions import Role
from app.services.tablets import CODE_FOR, EnrolmentCode, TabletView
from app.services.throttle import FREE_TRIES
from tests.databases import NOW
from tests.services.staff import ADDRESS, Staff, start


@pytest.fixture
def staff(database: Database) -> Staff:
    return start(database)


def added(staff: Staff, name: str = "Lift 2") -> EnrolmentCode:
    with staff.database.write() as session:
        return tablets.add(session, staff.owner, name, NOW)


def listed(staff: Staff) -> tuple[TabletView, ...]:
    with staff.database.read() as session:
        return tablets.list_tablets(session, staff.owner)


def name_of(staff: Staff, secret: str) -> str:
    with staff.database.read() as session:
        return tablets.of_secret(session, secret).name


def test_whoever_types_the_code_is_the_tablet(staff: Staff) -> None:
    made = added(staff)
    enrolled = tablets.enrol(staff.database, made.code, ADDRESS, NOW)
    assert enrolled.name == name_of(staff, enrolled.secret) == "Lift 2"
    (view,) = listed(staff)
    assert (view.enrolled_at, view.last_seen_at, view.code_until) == (NOW, NOW, None)


@pytest.mark.parametrize("typed", ["{}", " {} ", "{}".upper(), "no-dash"])
def test_gloves_may_leave_out_dashes_and_write_capitals(staff: Staff, typed: str) -> None:
    code = added(staff).code
    text = code.replace("-", "") if typed == "no-dash" else typed.format(code.upper())
    assert tablets.enrol(staff.database, text, ADDRESS, NOW).name == "Lift 2"


def test_a_code_serves_once(staff: Staff) -> None:
    made = added(staff)
    tablets.enrol(staff.database, made.code, ADDRESS, NOW)
    with pytest.raises(BadInput) as refused:
        tablets.enrol(staff.database, made.code, ADDRESS, NOW)
    assert refused.value.problems[0].code == "enrolment_code_wrong"


def test_a_code_ends(staff: Staff) -> None:
    made = added(staff)
    assert made.until == NOW + CODE_FOR
    with pytest.raises(BadInput):
        tablets.enrol(staff.database, made.code, ADDRESS, made.until)
    just_before = made.until - timedelta(seconds=1)
    assert tablets.enrol(staff.database, made.code, ADDRESS, just_before).name == "Lift 2"


def test_guessing_codes_is_slowed_down_by_address(staff: Staff) -> None:
    made = added(staff)
    for _ in range(FREE_TRIES["enrolment"]):
        with pytest.raises(BadInput):
            tablets.enrol(staff.database, "aaaaa-aaaaa", ADDRESS, NOW)
    with pytest.raises(TooManyTries):
        tablets.enrol(staff.database, made.code, ADDRESS, NOW)
    assert tablets.enrol(staff.database, made.code, "192.0.2.99", NOW).name == "Lift 2"


def test_only_digests_are_on_record(staff: Staff) -> None:
    made = added(staff)
    with staff.database.read() as session:
        row = session.scalars(scoped(session, staff.owner, Tablet)).one()
        assert made.code not in (row.code_hash or "")
        assert len(row.code_hash or "") == 64
    secret = tablets.enrol(staff.database, made.code, ADDRESS, NOW).secret
    with staff.database.read() as session:
        row = session.scalars(scoped(session, staff.owner, Tablet)).one()
        assert (row.code_hash, row.token_hash == secret) == (None, False)


def test_a_new_code_moves_the_tablet_to_another_browser(staff: Staff) -> None:
    first = tablets.enrol(staff.database, added(staff).code, ADDRESS, NOW).secret
    with staff.database.write() as session:
        again = tablets.new_code(session, staff.owner, listed(staff)[0].id, NOW)
    assert name_of(staff, first) == "Lift 2"
    second = tablets.enrol(staff.database, again.code, ADDRESS, NOW).secret
    assert name_of(staff, second) == "Lift 2"
    with pytest.raises(NotSignedIn, match="tablet_not_enrolled"):
        name_of(staff, first)


def test_a_revoked_tablet_opens_nothing_and_gets_no_code(staff: Staff) -> None:
    secret = tablets.enrol(staff.database, added(staff).code, ADDRESS, NOW).secret
    (view,) = listed(staff)
    with staff.database.write() as session:
        tablets.revoke(session, staff.owner, view.id, NOW)
    with pytest.raises(NotSignedIn, match="tablet_not_enrolled"):
        name_of(staff, secret)
    with staff.database.write() as session, pytest.raises(Conflict, match="tablet_revoked"):
        tablets.new_code(session, staff.owner, view.id, NOW)
    assert listed(staff)[0].revoked_at == NOW


def test_a_revoked_tablets_open_code_is_void(staff: Staff) -> None:
    made = added(staff)
    with staff.database.write() as session:
        tablets.revoke(session, staff.owner, made.tablet_id, NOW)
    with pytest.raises(BadInput):
        tablets.enrol(staff.database, made.code, ADDRESS, NOW)


@pytest.mark.parametrize("name", ["", "  ", "a\nb", "x" * 301])
def test_a_tablet_needs_a_name_of_one_line(staff: Staff, name: str) -> None:
    with pytest.raises(BadInput):
        added(staff, name)


@pytest.mark.parametrize("number", [0, -1, 99, 2**40])
def test_a_tablet_that_is_not_there_is_said(staff: Staff, number: int) -> None:
    with staff.database.write() as session, pytest.raises(NotFound, match="no_such_tablet"):
        tablets.revoke(session, staff.owner, number, NOW)


@pytest.mark.parametrize("secret", [None, "", "guess"])
def test_a_browser_that_is_no_tablet_is_none(staff: Staff, secret: str | None) -> None:
    with staff.database.read() as session, pytest.raises(NotSignedIn):
        tablets.of_secret(session, secret)


def test_only_the_owner_enrols_and_every_step_is_in_the_log(staff: Staff) -> None:
    technician = staff.add("tove", Role.TECHNICIAN)
    with staff.database.write() as session, pytest.raises(NotAllowed):
        tablets.add(session, technician, "Mine", NOW)
    made = added(staff)
    tablets.enrol(staff.database, made.code, ADDRESS, NOW)
    with staff.database.write() as session:
        tablets.revoke(session, staff.owner, made.tablet_id, NOW)
    with staff.database.read() as session:
        rows = scoped(session, staff.owner, Event).where(
            Event.subject == f"tablet:{made.tablet_id}"
        )
        told = [row.what for row in session.scalars(rows.order_by(Event.position))]
        assert verify(session, staff.owner).whole
    assert told == ["tablet.added", "tablet.code_made", "tablet.enrolled", "tablet.revoked"]
