"""The short PIN of each person: set with the password, it opens enrolled tablets and no more.

A PIN is far weaker than a password, so it reaches only what a technician may, only from tablets
that the owner has enrolled, and it ends for good after a few wrong ones in a row.
"""

import itertools
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import BadInput, Problem
from app.records.scope import scoped
from app.records.session import Database
from app.records.tables import Person
from app.services import audit, sessions, sign_in, tablets, throttle
from app.services.passwords import PASSWORDS, Passwords
from app.services.people import LARGEST_ID, person_of
from app.services.permissions import Actor, require

SHORTEST, LONGEST = 4, 8
WRONG_UNTIL_GONE = 10
"""Wrong PINs in a row after which it opens no more. With the pauses of `throttle` whoever tries
one after the other has had ten of ten thousand by then."""
FEWEST_DIGITS = 3
"""Different digits that a PIN must have."""
KEY_PATTERNS = ("2580", "0852", "1470", "0741", "3690", "0963", "1478", "3698", "1236", "9632",
                "7896", "7412", "1397", "1793", "1379", "3179", "7913", "1590", "3570")  # fmt: skip
"""Lines and corners of a keypad."""


@dataclass(frozen=True, slots=True)
class AtWork:
    """Who may be at work on a tablet."""

    tablet: str
    people: tuple[tuple[int, str], ...]
    """Ids and names of those with a PIN, by name."""


@dataclass(frozen=True, slots=True)
class TakenOver:
    """The person whose PIN was right; open a session for the actor on this tablet next."""

    actor: Actor
    tablet_id: int


def has_pin(session: Session, actor: Actor) -> bool:
    """Whether the person has a PIN now."""
    require(actor, "account.use")
    return person_of(session, actor.shop_id, actor.person_id or 0).pin_hash is not None


def set_pin(
    database: Database,
    actor: Actor,
    password: str,
    pin: str,
    now: datetime,
    passwords: Passwords = PASSWORDS,
) -> None:
    """Set the own PIN, or a new one; asks for the password.

    Raises BadInput `pin_not_digits`, `pin_common` (field `pin`), `wrong_password` (field
    `password`); TooManyTries.
    """
    require(actor, "account.use")
    check_pin(pin, "pin")
    sign_in.confirm_password(database, actor, password, now, "pin.set", passwords)
    pin_hash = passwords.hash(pin)
    with database.write() as session:
        person = person_of(session, actor.shop_id, actor.person_id or 0)
        person.pin_hash, person.pin_set_at = pin_hash, now
        throttle.clear(session, actor.shop_id, "pin", _subject(person.id))
        audit.record(session, actor, "person.pin_set", actor.mark, now)


def take_away(session: Session, actor: Actor, now: datetime) -> None:
    """Have no PIN any more."""
    require(actor, "account.use")
    person = person_of(session, actor.shop_id, actor.person_id or 0)
    if person.pin_hash is not None:
        person.pin_hash, person.pin_set_at = None, None
        audit.record(session, actor, "person.pin_taken_away", actor.mark, now)


def at_work(session: Session, secret: str | None) -> AtWork:
    """The people of a tablet's list, for whoever holds the tablet.

    Raises NotSignedIn `tablet_not_enrolled`.
    """
    tablet = tablets.of_secret(session, secret)
    rows = scoped(session, tablet.shop_id, Person).where(
        Person.pin_hash.is_not(None),
        Person.disabled_at.is_(None),
        Person.one_time_until.is_(None),
    )
    people = session.scalars(rows.order_by(Person.name, Person.id))
    return AtWork(tablet.name, tuple((person.id, person.name) for person in people))


def take_over(
    database: Database,
    secret: str | None,
    person_id: int,
    pin: str,
    now: datetime,
    passwords: Passwords = PASSWORDS,
) -> TakenOver:
    """The person with this PIN takes an enrolled tablet over.

    Raises NotSignedIn `tablet_not_enrolled`; BadInput `wrong_pin` (the same, after the same work,
    for a person who has none); TooManyTries.
    """
    with database.write() as session:
        tablet = tablets.of_secret(session, secret)
        shop_id, tablet_id = tablet.shop_id, tablet.id
        throttle.count_try(session, shop_id, "pin", _subject(person_id), now)
        pin_hash = _pin_hash(session, shop_id, person_id)
    right = passwords.verify(pin, pin_hash)
    with database.write() as session:
        # Once more: it may have been revoked, or the PIN changed, while this one was verified.
        still = tablets.of_secret(session, secret)
        if not right or _pin_hash(session, shop_id, person_id) != pin_hash:
            _note_wrong(session, shop_id, person_id, pin_hash is not None, now)
        else:
            still.last_seen_at = now
            return TakenOver(_taken_over(session, shop_id, person_id, now), tablet_id)
    raise BadInput([Problem("wrong_pin", "pin", {"limit": WRONG_UNTIL_GONE})])


def check_pin(pin: str, field: str) -> None:
    """Raise BadInput unless the PIN may be used."""
    if not (pin.isascii() and pin.isdecimal() and SHORTEST <= len(pin) <= LONGEST):
        facts = {"met": len(pin), "shortest": SHORTEST, "longest": LONGEST}
        raise BadInput([Problem("pin_not_digits", field, facts)])
    if is_common(pin):
        raise BadInput([Problem("pin_common", field)])


def is_common(pin: str) -> bool:
    """Whether a guesser tries it first: repeats, rows, years, patterns of the keys."""
    steps = {(int(b) - int(a)) % 10 for a, b in itertools.pairwise(pin)}
    half = pin[: len(pin) // 2]
    return (
        len(set(pin)) < FEWEST_DIGITS
        or len(steps) == 1
        or pin == half + half
        or any(pattern in pin for pattern in KEY_PATTERNS)
        or (len(pin) == SHORTEST and 1900 <= int(pin) <= 2099)
    )


def _pin_hash(session: Session, shop_id: int, person_id: int) -> str | None:
    rows = scoped(session, shop_id, Person).where(
        Person.id == person_id, Person.disabled_at.is_(None), Person.one_time_until.is_(None)
    )
    # The database cannot even look for a number larger than any id that it gives.
    person = session.scalars(rows).one_or_none() if 0 < person_id <= LARGEST_ID else None
    return None if person is None else person.pin_hash


def _taken_over(session: Session, shop_id: int, person_id: int, now: datetime) -> Actor:
    throttle.clear(session, shop_id, "pin", _subject(person_id))
    actor = sessions.actor_of(session, person_of(session, shop_id, person_id), by_pin=True)
    audit.record(session, actor, "person.took_over", actor.mark, now)
    return actor


def _note_wrong(
    session: Session, shop_id: int, person_id: int, has_one: bool, now: datetime
) -> None:
    """Of people with a PIN: after too many wrong ones it is gone."""
    if not has_one:
        return
    subject = f"person:{person_id}"
    audit.record_as(session, shop_id, "nobody", "person.pin_wrong", subject, now)
    if throttle.failures(session, shop_id, "pin", _subject(person_id)) >= WRONG_UNTIL_GONE:
        person_of(session, shop_id, person_id).pin_hash = None
        audit.record_as(session, shop_id, "nobody", "person.pin_gone", subject, now)


def _subject(person_id: int) -> str:
    return f"person:{person_id}"
