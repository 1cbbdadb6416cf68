"""How people join, change and leave."""

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest

from app.errors import BadInput, Conflict, NotAllowed, NotFound, NotSignedIn
from app.records.session import Database
from app.services.joining import add_person, first_start, reset_password
from app.services.people import (
    PersonView,
    change_person,
    disable,
    enable,
    find_person,
    list_people,
    only_shop,
    see_person,
    set_roles,
)
from app.services.permissions import Actor, Role
from app.services.sessions import open_session, resume
from tests.databases import CHEAP, NOW, actor_with
from tests.services.staff import PASSWORD, Staff, later, start


@pytest.fixture
def staff(database: Database) -> Staff:
    return start(database)


def people(staff: Staff) -> dict[str, PersonView]:
    with staff.database.read() as session:
        return {person.sign_in_name: person for person in list_people(session, staff.owner)}


def person_id(actor: Actor) -> int:
    assert actor.person_id is not None
    return actor.person_id


def test_before_the_first_start_there_is_nobody(database: Database) -> None:
    with database.read() as session, pytest.raises(NotFound, match="no_shop_yet"):
        only_shop(session)


def test_the_first_start_makes_one_owner_with_all_roles_once(database: Database) -> None:
    given = first_start(database, NOW, shop_name="Invented", passwords=CHEAP)
    assert given is not None
    assert given.until == NOW + timedelta(hours=24)
    assert first_start(database, NOW, passwords=CHEAP) is None
    staff = Staff(database, actor_with(given.shop_id, Role.OWNER))
    assert [(name, person.roles) for name, person in people(staff).items()] == [
        ("owner", frozenset(Role))
    ]


def test_two_first_starts_at_once_make_one_owner(database: Database) -> None:
    with ThreadPoolExecutor(4) as threads:
        made = list(threads.map(lambda _: first_start(database, NOW, passwords=CHEAP), range(4)))
    assert sum(given is not None for given in made) == 1


def test_the_one_time_password_is_kept_only_as_a_hash(database: Database) -> None:
    given = first_start(database, NOW, passwords=CHEAP)
    assert given is not None
    with database.engine.connect() as connection:
        rows = connection.exec_driver_sql("SELECT * FROM person").mappings().all()
        events = connection.exec_driver_sql("SELECT * FROM event").mappings().all()
    assert rows[0]["password_hash"].startswith("$argon2id$")
    assert given.password not in str(rows) + str(events)


def test_a_new_person_signs_in_with_the_one_time_password_and_must_change_it(
    staff: Staff,
) -> None:
    given = add_person(
        staff.database, staff.owner, " Åsa ", "Åsa Berg", frozenset({Role.DESK}), NOW,
        title="Front desk", passwords=CHEAP,
    )  # fmt: skip
    actor = staff.sign_in("asa", given.password)
    assert actor.must_change_password
    assert people(staff)["Åsa"].one_time_until == given.until
    staff.change(actor, given.password, PASSWORD)
    assert not staff.sign_in("ÅSA").must_change_password
    assert people(staff)["Åsa"].one_time_until is None
    with pytest.raises(NotSignedIn):
        staff.sign_in("asa", given.password)


def test_a_one_time_password_ends_after_a_day(staff: Staff) -> None:
    given = add_person(
        staff.database, staff.owner, "kim", "Kim", frozenset({Role.DESK}), NOW, passwords=CHEAP
    )
    assert staff.sign_in("kim", given.password, later(hours=23)).must_change_password
    with pytest.raises(NotSignedIn, match="one_time_password_over"):
        staff.sign_in("kim", given.password, later(hours=24))
    with pytest.raises(NotSignedIn, match="sign_in_failed"):
        staff.sign_in("kim", "something else", later(hours=24))


BAD = {
    "no name": ("kim", "  ", {Role.DESK}, {("required", "name")}),
    "nothing": ("", "", set(), {
        ("required", "sign_in_name"), ("required", "name"), ("no_role", "roles"),
    }),
    "too long": ("k" * 301, "Kim", {Role.DESK}, {("too_long", "sign_in_name")}),
    "two lines": ("kim", "Kim\nB", {Role.DESK}, {("not_one_line", "name")}),
}  # fmt: skip


@pytest.mark.parametrize("case", BAD)
def test_a_person_that_cannot_be_added_is_refused_with_every_reason(
    staff: Staff, case: str
) -> None:
    sign_in_name, name, roles, expected = BAD[case]
    with pytest.raises(BadInput) as refused:
        add_person(
            staff.database, staff.owner, sign_in_name, name, frozenset(roles), NOW, passwords=CHEAP
        )
    assert {(fault.code, fault.field) for fault in refused.value.problems} == expected
    assert list(people(staff)) == ["owner"]


def test_a_sign_in_name_is_taken_once_however_it_is_written(staff: Staff) -> None:
    staff.add("asa", Role.DESK)
    with pytest.raises(Conflict, match="sign_in_name_taken"):
        add_person(
            staff.database, staff.owner, "Åsa", "Other", frozenset({Role.DESK}), NOW,
            passwords=CHEAP,
        )  # fmt: skip


def test_only_an_owner_adds_changes_and_resets_people(staff: Staff) -> None:
    desk = staff.add("kim", Role.DESK, Role.TECHNICIAN, Role.INSPECTOR)
    with pytest.raises(NotAllowed):
        add_person(staff.database, desk, "bo", "Bo", frozenset({Role.OWNER}), NOW, passwords=CHEAP)
    with pytest.raises(NotAllowed):
        reset_password(staff.database, desk, person_id(desk), NOW, CHEAP)
    with staff.database.write() as session:
        with pytest.raises(NotAllowed):
            set_roles(session, desk, person_id(desk), frozenset(Role), NOW)
        with pytest.raises(NotAllowed):
            disable(session, desk, person_id(staff.owner), NOW)
        with pytest.raises(NotAllowed):
            list_people(session, desk)


def test_a_reset_ends_sessions_and_pauses_and_gives_a_new_password(staff: Staff) -> None:
    kim = staff.add("kim", Role.DESK)
    with staff.database.write() as session:
        opened = open_session(session, kim, NOW)
    for _ in range(5):
        with pytest.raises(NotSignedIn):
            staff.sign_in("kim", "wrong", address="192.0.2.99")
    given = reset_password(staff.database, staff.owner, person_id(kim), NOW, CHEAP)
    with staff.database.read() as session, pytest.raises(NotSignedIn, match="no_session"):
        resume(session, opened.secret, NOW)
    with pytest.raises(NotSignedIn):
        staff.sign_in("kim", PASSWORD)
    assert staff.sign_in("kim", given.password).must_change_password


def test_roles_are_set_exactly_and_count_from_the_next_request_on(staff: Staff) -> None:
    kim = staff.add("kim", Role.DESK)
    with staff.database.write() as session:
        opened = open_session(session, kim, NOW)
        set_roles(session, staff.owner, person_id(kim), frozenset({Role.TECHNICIAN}), NOW)
    with staff.database.read() as session:
        assert resume(session, opened.secret, NOW).actor.roles == {Role.TECHNICIAN}
    with staff.database.write() as session, pytest.raises(BadInput, match="bad_input"):
        set_roles(session, staff.owner, person_id(kim), frozenset(), NOW)


def test_a_disabled_person_is_out_at_once_and_comes_back_with_the_old_password(
    staff: Staff,
) -> None:
    kim = staff.add("kim", Role.DESK)
    with staff.database.write() as session:
        opened = open_session(session, kim, NOW)
        assert disable(session, staff.owner, person_id(kim), NOW).disabled
    with staff.database.read() as session, pytest.raises(NotSignedIn, match="no_session"):
        resume(session, opened.secret, NOW)
    with pytest.raises(NotSignedIn, match="sign_in_failed"):
        staff.sign_in("kim")
    with staff.database.write() as session:
        assert not enable(session, staff.owner, person_id(kim), NOW).disabled
    assert staff.sign_in("kim").person_id == kim.person_id


def test_a_session_begun_in_the_moment_of_disabling_leads_nowhere(staff: Staff) -> None:
    """The password was verified before, the session is opened after."""
    kim = staff.add("kim", Role.DESK)
    with staff.database.write() as session:
        disable(session, staff.owner, person_id(kim), NOW)
        opened = open_session(session, kim, NOW)
    with staff.database.read() as session, pytest.raises(NotSignedIn, match="no_session"):
        resume(session, opened.secret, NOW)


def test_the_last_owner_stays(staff: Staff) -> None:
    owner = person_id(staff.owner)
    other = staff.add("bo", Role.OWNER)
    with staff.database.write() as session:
        disable(session, staff.owner, person_id(other), NOW)
    with staff.database.write() as session:
        with pytest.raises(Conflict, match="last_owner"):
            disable(session, staff.owner, owner, NOW)
        with pytest.raises(Conflict, match="last_owner"):
            set_roles(session, staff.owner, owner, frozenset({Role.DESK}), NOW)
    with staff.database.write() as session:
        enable(session, staff.owner, person_id(other), NOW)
        assert disable(session, other, owner, NOW).disabled


def test_a_changed_name_is_kept_and_an_unknown_person_is_told(staff: Staff) -> None:
    kim = staff.add("kim", Role.DESK)
    with staff.database.write() as session:
        changed = change_person(
            session, staff.owner, person_id(kim), " Kim Ek ", "Desk", "kim@shop.example", NOW
        )
        assert (changed.name, changed.title) == ("Kim Ek", "Desk")
    with staff.database.read() as session:
        assert find_person(session, staff.owner, "KIM").name == "Kim Ek"
        with pytest.raises(NotFound, match="no_such_person"):
            find_person(session, staff.owner, "nobody")


@pytest.mark.parametrize("number", [0, -1, 2**31, 2**63, 10**30])
def test_a_number_that_no_person_can_have_is_an_unknown_person(staff: Staff, number: int) -> None:
    with staff.database.read() as session, pytest.raises(NotFound, match="no_such_person"):
        see_person(session, staff.owner, number)
    with pytest.raises(NotFound, match="no_such_person"):
        reset_password(staff.database, staff.owner, number, NOW, CHEAP)
