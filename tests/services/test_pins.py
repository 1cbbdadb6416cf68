"""PINs: short, so weak; they open enrolled tablets alone and end after a few wrong ones."""

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from app.errors import BadInput, JigbookError, NotSignedIn, TooManyTries
from app.records.scope import scoped
from app.records.session import Database
from app.records.tables import Event, Person
from app.services import joining, people, pins, sessions, tablets
from app.services.permissions import Actor, Role, allowed
from app.services.pins import WRONG_UNTIL_GONE, TakenOver, check_pin, is_common
from app.services.sessions import IDLE_BY_PIN
from tests.databases import CHEAP, NOW
from tests.services.staff import ADDRESS, PASSWORD, Staff, later, start

PIN = "4817"


@pytest.fixture
def staff(database: Database) -> Staff:
    return start(database)


@pytest.fixture
def tablet(staff: Staff) -> str:
    """The secret of an enrolled tablet."""
    with staff.database.write() as session:
        code = tablets.add(session, staff.owner, "Lift 2", NOW).code
    return tablets.enrol(staff.database, code, ADDRESS, NOW).secret


@pytest.fixture
def tove(staff: Staff) -> Actor:
    """A technician with a PIN."""
    made = staff.add("tove", Role.TECHNICIAN)
    set_pin(staff, made)
    return made


def set_pin(staff: Staff, actor: Actor, pin: str = PIN, password: str = PASSWORD) -> None:
    pins.set_pin(staff.database, actor, password, pin, NOW, CHEAP)


def take_over(
    staff: Staff, tablet: str | None, person: Actor, pin: str = PIN, at: datetime = NOW
) -> TakenOver:
    return pins.take_over(staff.database, tablet, person.person_id or 0, pin, at, CHEAP)


def code_of(staff: Staff, tablet: str | None, person: Actor, pin: str, at: datetime = NOW) -> str:
    with pytest.raises(JigbookError) as refused:
        take_over(staff, tablet, person, pin, at)
    problems = refused.value.problems if isinstance(refused.value, BadInput) else ()
    return problems[0].code if problems else refused.value.code


def names(staff: Staff, tablet: str) -> list[str]:
    with staff.database.read() as session:
        return [name for _, name in pins.at_work(session, tablet).people]


def events(staff: Staff) -> list[str]:
    with staff.database.read() as session:
        rows = session.scalars(scoped(session, staff.owner, Event).order_by(Event.position))
        return [row.what for row in rows]


def test_the_right_pin_takes_the_tablet_over_with_a_technicians_rights(
    staff: Staff, tablet: str
) -> None:
    both = staff.add("ines", Role.INSPECTOR, Role.OWNER)
    set_pin(staff, both)
    actor = take_over(staff, tablet, both).actor
    assert (actor.person_id, actor.by_pin, actor.roles) == (both.person_id, True, both.roles)
    assert allowed(actor, "drafts.write")
    assert not any(allowed(actor, one) for one in ("certificates.issue", "people.write"))


def test_a_session_by_pin_stays_one_and_ends_sooner(staff: Staff, tablet: str, tove: Actor) -> None:
    taken = take_over(staff, tablet, tove)
    with staff.database.write() as session:
        opened = sessions.open_session(session, taken.actor, NOW, tablet_id=taken.tablet_id)
    with staff.database.read() as session:
        found = sessions.resume(session, opened.secret, NOW)
    assert (found.actor.by_pin, found.ends_at) == (True, NOW + IDLE_BY_PIN)


def test_its_use_tells_when_the_tablet_was_last_seen(
    staff: Staff, tablet: str, tove: Actor
) -> None:
    taken, at = take_over(staff, tablet, tove), later(hours=1)
    with staff.database.write() as session:
        opened = sessions.open_session(session, taken.actor, NOW, tablet_id=taken.tablet_id)
        sessions.touch(session, taken.actor, opened.session_id, at)
    with staff.database.read() as session:
        assert tablets.list_tablets(session, staff.owner)[0].last_seen_at == at


def test_revoking_the_tablet_ends_who_is_at_work_on_it(
    staff: Staff, tablet: str, tove: Actor
) -> None:
    taken = take_over(staff, tablet, tove)
    with staff.database.write() as session:
        by_pin = sessions.open_session(session, taken.actor, NOW, tablet_id=taken.tablet_id)
        by_password = sessions.open_session(session, tove, NOW)
    with staff.database.write() as session:
        tablets.revoke(session, staff.owner, taken.tablet_id, NOW)
    with staff.database.read() as session:
        with pytest.raises(NotSignedIn, match="no_session"):
            sessions.resume(session, by_pin.secret, NOW)
        assert sessions.resume(session, by_password.secret, NOW).actor == tove
    assert code_of(staff, tablet, tove, PIN) == "tablet_not_enrolled"


@pytest.mark.parametrize("secret", [None, "", "some other browser"])
def test_a_pin_opens_nothing_elsewhere(staff: Staff, tove: Actor, secret: str | None) -> None:
    assert code_of(staff, secret, tove, PIN) == "tablet_not_enrolled"


def test_a_wrong_pin_an_unknown_person_and_one_without_a_pin_are_told_alike(
    staff: Staff, tablet: str, tove: Actor
) -> None:
    without = staff.add("kim", Role.TECHNICIAN)
    nobodies = [replace(tove, person_id=number) for number in (9999, 0, 10**30)]
    told = [code_of(staff, tablet, who, "9517") for who in (tove, without, *nobodies)]
    assert told == ["wrong_pin"] * 5


def test_wrong_pins_are_slowed_down(staff: Staff, tablet: str, tove: Actor) -> None:
    told = [code_of(staff, tablet, tove, "9517") for _ in range(6)]
    assert told == ["wrong_pin"] * 5 + ["too_many_tries"]
    assert code_of(staff, tablet, tove, PIN) == "too_many_tries"
    assert take_over(staff, tablet, tove, at=later(minutes=1)).actor.by_pin


def test_after_ten_wrong_ones_in_a_row_the_pin_is_gone(
    staff: Staff, tablet: str, tove: Actor
) -> None:
    wrong = wrong_ones(staff, tablet, tove, WRONG_UNTIL_GONE)
    assert names(staff, tablet) == []
    assert code_of(staff, tablet, tove, PIN, wrong + timedelta(minutes=15)) == "wrong_pin"
    assert events(staff).count("person.pin_gone") == 1
    set_pin(staff, tove, "7193")
    assert take_over(staff, tablet, tove, "7193").actor.person_id == tove.person_id


def test_a_right_one_between_them_begins_the_count_anew(
    staff: Staff, tablet: str, tove: Actor
) -> None:
    at = wrong_ones(staff, tablet, tove, WRONG_UNTIL_GONE - 1) + timedelta(minutes=15)
    assert take_over(staff, tablet, tove, at=at).actor.by_pin
    wrong_ones(staff, tablet, tove, WRONG_UNTIL_GONE - 1, at)
    assert names(staff, tablet) == ["Tove"]


def wrong_ones(staff: Staff, tablet: str, who: Actor, count: int, at: datetime = NOW) -> datetime:
    """So many wrong PINs, each after the pause that the one before it brought."""
    while count:
        try:
            take_over(staff, tablet, who, "9517", at)
        except TooManyTries as pause:
            at += timedelta(seconds=pause.retry_after_s)
        except BadInput:
            count -= 1
    return at


def test_setting_a_pin_asks_for_the_password(staff: Staff, tove: Actor) -> None:
    with pytest.raises(BadInput) as refused:
        set_pin(staff, tove, "7193", "not the password")
    assert refused.value.problems[0].code == "wrong_password"


def test_only_the_hash_is_on_record_and_the_log_says_that_it_was_set(
    staff: Staff, tove: Actor
) -> None:
    with staff.database.read() as session:
        rows = scoped(session, tove, Person).where(Person.id == tove.person_id)
        stored = session.scalars(rows).one().pin_hash or ""
    assert stored.startswith("$argon2id$")
    assert "person.pin_set" in events(staff)


def test_the_list_has_those_with_a_pin_who_may_come_in(
    staff: Staff, tablet: str, tove: Actor
) -> None:
    staff.add("kim", Role.TECHNICIAN)
    others = [staff.add(name, Role.TECHNICIAN) for name in ("anna", "bo")]
    for other in others:
        set_pin(staff, other)
    assert names(staff, tablet) == ["Anna", "Bo", "Tove"]
    with staff.database.write() as session:
        people.disable(session, staff.owner, others[0].person_id or 0, NOW)
    joining.reset_password(staff.database, staff.owner, others[1].person_id or 0, NOW, CHEAP)
    assert names(staff, tablet) == ["Tove"]
    assert [code_of(staff, tablet, other, PIN) for other in others] == ["wrong_pin"] * 2


def test_a_pin_can_be_taken_away(staff: Staff, tablet: str, tove: Actor) -> None:
    with staff.database.write() as session:
        pins.take_away(session, tove, NOW)
    with staff.database.read() as session:
        assert not pins.has_pin(session, tove)
    assert code_of(staff, tablet, tove, PIN) == "wrong_pin"


def test_a_pin_that_was_changed_while_it_was_verified_does_not_open(
    staff: Staff, tablet: str, tove: Actor, monkeypatch: pytest.MonkeyPatch
) -> None:
    verify = CHEAP.verify

    def meanwhile(pin: str, stored: str | None) -> bool:
        monkeypatch.undo()
        set_pin(staff, tove, "7193")
        return verify(pin, stored)

    monkeypatch.setattr(CHEAP, "verify", meanwhile)
    assert code_of(staff, tablet, tove, PIN) == "wrong_pin"


@pytest.mark.parametrize("pin", ["", "123", "482", "481715937", "48 26", "48a6", "٤٨٢٦", "-482"])
def test_four_to_eight_digits_are_needed(pin: str) -> None:
    with pytest.raises(BadInput) as refused:
        check_pin(pin, "pin")
    assert refused.value.problems[0].code == "pin_not_digits"


@pytest.mark.parametrize(
    "pin",
    ["0000", "1234", "4321", "7890", "9876", "1212", "1122", "1112", "2468", "2580", "1397", "1984",
     "2026", "123123", "12345678", "48174817", "258046"],
)  # fmt: skip
def test_what_a_guesser_tries_first_is_refused(pin: str) -> None:
    assert is_common(pin)


@pytest.mark.parametrize("pin", ["4817", "7193", "0417", "86207", "930517", "48171593"])
def test_others_are_taken(pin: str) -> None:
    check_pin(pin, "pin")
    assert not is_common(pin)


def test_few_of_all_pins_of_four_digits_are_refused() -> None:
    """A rule that refuses most would help the guesser."""
    refused = sum(is_common(f"{pin:04}") for pin in range(10_000))
    assert refused < 1_000
