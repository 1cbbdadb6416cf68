"""Getting in with a password, changing it, and giving it again before a signature.

Each takes the `Database`: a short writing unit counts the try, the slow verification runs outside
any unit, a second short one writes what came of it.
"""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import BadInput, NotSignedIn, Problem
from app.records.scope import scoped
from app.records.search_text import comparable
from app.records.session import Database
from app.records.tables import Person
from app.services import audit, sessions, throttle
from app.services.passwords import PASSWORDS, Passwords, check_rules
from app.services.people import only_shop, person_of
from app.services.permissions import Actor, require


@dataclass(frozen=True, slots=True)
class _Stored:
    """What is known of a person before the password is verified."""

    shop_id: int
    person_id: int | None
    password_hash: str | None
    one_time_until: datetime | None = None
    own_words: tuple[str, ...] = ()


def sign_in(
    database: Database,
    sign_in_name: str,
    password: str,
    address: str,
    now: datetime,
    passwords: Passwords = PASSWORDS,
) -> Actor:
    """The person with this name and password; open a session for the actor next.

    An actor with a one-time password has `must_change_password`.

    Raises NotSignedIn `sign_in_failed` (the same for an unknown name, a wrong password and a
    disabled person, after the same work), `one_time_password_over` (told only to who knows it),
    TooManyTries.
    """
    key, address = comparable(sign_in_name), throttle.network_of(address)
    with database.write() as session:
        stored = _stored_by_name(session, key)
        throttle.count_try(session, stored.shop_id, "address", address, now)
        throttle.count_try(session, stored.shop_id, "account", key, now)
    if not passwords.verify(password, stored.password_hash) or stored.person_id is None:
        _note_failure(database, stored, now)
        raise NotSignedIn("sign_in_failed")
    renewed = _renewed(passwords, password, stored)
    with database.write() as session:
        throttle.clear(session, stored.shop_id, "account", key)
        throttle.give_back(session, stored.shop_id, "address", address)
        if stored.one_time_until is None or now < stored.one_time_until:
            return _signed_in(session, stored, renewed, now)
    raise NotSignedIn("one_time_password_over")


def change_password(
    database: Database,
    actor: Actor,
    current: str,
    new: str,
    now: datetime,
    keep_session_id: int | None = None,
    passwords: Passwords = PASSWORDS,
) -> None:
    """Set a new password and end all other sessions of the person.

    Raises BadInput with `wrong_password` (field `current_password`), `password_too_short`,
    `password_too_long`, `password_common`, `password_same` (field `new_password`);
    TooManyTries.
    """
    require(actor, "account.use")
    stored = _verified(database, actor, current, "current_password", now, passwords)
    check_rules(new, "new_password", *stored.own_words)
    if new == current:
        raise BadInput([Problem("password_same", "new_password")])
    password_hash = passwords.hash(new)
    with database.write() as session:
        person = person_of(session, actor.shop_id, stored.person_id or 0)
        person.password_hash, person.password_set_at = password_hash, now
        person.one_time_until = None
        audit.record(session, actor, "person.password_changed", actor.mark, now)
        changed = sessions.actor_of(session, person)
        sessions.revoke_others(session, changed, keep_session_id, now)


def confirm_password(
    database: Database,
    actor: Actor,
    password: str,
    now: datetime,
    purpose: str,
    passwords: Passwords = PASSWORDS,
) -> None:
    """Make sure that it is still this person, before something is signed in their name.

    `purpose` is a code for the event log, like `certificate.issue`. Raises BadInput with
    `wrong_password` (field `password`), NotSignedIn for a token, TooManyTries.
    """
    require(actor, "account.use")
    _verified(database, actor, password, "password", now, passwords)
    with database.write() as session:
        audit.record(session, actor, "password.confirmed", actor.mark, now, {"for": purpose})


def signer(
    database: Database,
    actor: Actor,
    sign_in_name: str,
    password: str,
    now: datetime,
    passwords: Passwords = PASSWORDS,
) -> Actor:
    """The person in whose name a program asks for a signature, proven by their password.

    A token never signs: only people do. Raises NotAllowed when the token or the person may not;
    BadInput `wrong_password` (the same, after the same work, for an unknown name); TooManyTries.
    """
    require(actor, "certificates.issue")
    key = comparable(sign_in_name)
    with database.write() as session:
        stored = _stored_by_name(session, key)
        throttle.count_try(session, actor.shop_id, "confirmation", key, now)
    if not passwords.verify(password, stored.password_hash) or stored.person_id is None:
        _note_failure(database, stored, now)
        raise BadInput([Problem("wrong_password", "password")], "wrong_password")
    with database.write() as session:
        throttle.clear(session, actor.shop_id, "confirmation", key)
        person = sessions.actor_of(session, person_of(session, actor.shop_id, stored.person_id))
        audit.record(session, actor, "signer.confirmed", person.mark, now)
    require(person, "certificates.issue")
    return person


def _verified(
    database: Database,
    actor: Actor,
    password: str,
    field: str,
    now: datetime,
    passwords: Passwords,
) -> _Stored:
    if actor.person_id is None:
        raise NotSignedIn("not_a_person")
    with database.write() as session:
        person = person_of(session, actor.shop_id, actor.person_id)
        stored, key = _stored(person), person.sign_in_key
        throttle.count_try(session, actor.shop_id, "confirmation", key, now)
    if not passwords.verify(password, stored.password_hash):
        _note_failure(database, stored, now)
        raise BadInput([Problem("wrong_password", field)])
    with database.write() as session:
        throttle.clear(session, actor.shop_id, "confirmation", key)
    return stored


def _stored_by_name(session: Session, key: str) -> _Stored:
    shop_id = only_shop(session)
    person = session.scalars(
        scoped(session, shop_id, Person).where(
            Person.sign_in_key == key, Person.disabled_at.is_(None)
        )
    ).one_or_none()
    return _Stored(shop_id, None, None) if person is None else _stored(person)


def _stored(person: Person) -> _Stored:
    return _Stored(
        shop_id=person.shop_id,
        person_id=person.id,
        password_hash=person.password_hash,
        one_time_until=person.one_time_until,
        own_words=(person.sign_in_name, *person.name.split()),
    )


def _signed_in(session: Session, stored: _Stored, renewed: str | None, now: datetime) -> Actor:
    person = person_of(session, stored.shop_id, stored.person_id or 0)
    if person.disabled_at is not None or person.password_hash != stored.password_hash:
        # Disabled or changed while the password was being verified.
        raise NotSignedIn("sign_in_failed")
    if renewed is not None:
        person.password_hash = renewed
    actor = sessions.actor_of(session, person)
    audit.record(session, actor, "person.signed_in", actor.mark, now)
    return actor


def _renewed(passwords: Passwords, password: str, stored: _Stored) -> str | None:
    """A hash at today's costs when the stored one was made with others."""
    if stored.password_hash is None or not passwords.outdated(stored.password_hash):
        return None
    return passwords.hash(password)


def _note_failure(database: Database, stored: _Stored, now: datetime) -> None:
    """Failures of known people only: what was typed as an unknown name may be a password."""
    if stored.person_id is None:
        return
    with database.write() as session:
        subject = f"person:{stored.person_id}"
        audit.record_as(session, stored.shop_id, "nobody", "person.password_wrong", subject, now)
