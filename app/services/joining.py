"""How people join: the first start, new people, a new one-time password.

Passwords are hashed before the writing unit begins, so these take the `Database`.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from app.errors import Conflict, Problem
from app.records.scope import across_shops, scoped
from app.records.search_text import comparable
from app.records.session import Database
from app.records.tables import Person, Shop
from app.services import audit, throttle
from app.services.passwords import PASSWORDS, Passwords, one_time_password
from app.services.people import add_roles, name_problems, person_of, refuse
from app.services.permissions import Actor, Role, require
from app.services.sessions import end_all_of

ONE_TIME_FOR = timedelta(hours=24)


@dataclass(frozen=True, slots=True)
class OneTimePassword:
    """Shown once, to be handed over in person; must be changed at the first sign-in."""

    shop_id: int
    person_id: int
    sign_in_name: str
    password: str
    until: datetime


def first_start(
    database: Database,
    now: datetime,
    shop_name: str = "Workshop",
    sign_in_name: str = "owner",
    passwords: Passwords = PASSWORDS,
    time_zone: str = "UTC",
) -> OneTimePassword | None:
    """Make the shop and its owner when there is nobody yet; None when there is somebody.

    Safe when called twice at once: the second finds the owner.
    """
    if _somebody(database):
        return None
    password = one_time_password()
    password_hash = passwords.hash(password)
    with database.write() as session:
        if session.scalars(across_shops(Person).limit(1)).first() is not None:
            return None
        shop = session.scalars(across_shops(Shop).limit(1)).first()
        if shop is None:
            shop = Shop(name=shop_name, created_at=now, time_zone=time_zone)
            session.add(shop)
            session.flush()
        actor = Actor(shop.id, "set-up", frozenset(Role))
        owner = _new_person(session, actor, sign_in_name, sign_in_name, frozenset(Role), now)
        return _give_one_time(session, actor, owner, password, password_hash, now)


def _somebody(database: Database) -> bool:
    with database.read() as session:
        return session.scalars(across_shops(Person).limit(1)).first() is not None


def add_person(
    database: Database,
    actor: Actor,
    sign_in_name: str,
    name: str,
    roles: frozenset[Role],
    now: datetime,
    title: str = "",
    email: str = "",
    passwords: Passwords = PASSWORDS,
) -> OneTimePassword:
    """Add a person with a one-time password.

    Raises BadInput (`required`, `too_long`, `no_role`), Conflict `sign_in_name_taken`.
    """
    require(actor, "people.write")
    password = one_time_password()
    password_hash = passwords.hash(password)
    with database.write() as session:
        person = _new_person(session, actor, sign_in_name, name, roles, now)
        person.title, person.email = title.strip(), email.strip()
        return _give_one_time(session, actor, person, password, password_hash, now)


def reset_password(
    database: Database,
    actor: Actor,
    person_id: int,
    now: datetime,
    passwords: Passwords = PASSWORDS,
) -> OneTimePassword:
    """Give a new one-time password; ends the person's sessions and any pause of the account."""
    require(actor, "people.write")
    password = one_time_password()
    password_hash = passwords.hash(password)
    with database.write() as session:
        person = person_of(session, actor.shop_id, person_id)
        end_all_of(session, actor, person.id, now)
        for kind in ("account", "confirmation"):
            throttle.clear(session, actor.shop_id, kind, person.sign_in_key)
        return _give_one_time(session, actor, person, password, password_hash, now)


def _new_person(
    session: Session,
    actor: Actor,
    sign_in_name: str,
    name: str,
    roles: frozenset[Role],
    now: datetime,
) -> Person:
    problems = name_problems({"sign_in_name": sign_in_name, "name": name}, {})
    refuse(problems + ([] if roles else [Problem("no_role", "roles")]))
    key = comparable(sign_in_name)
    taken = scoped(session, actor, Person).where(Person.sign_in_key == key)
    if session.scalars(taken).first() is not None:
        raise Conflict("sign_in_name_taken", "sign_in_name", name=sign_in_name)
    person = Person(
        shop_id=actor.shop_id,
        sign_in_name=sign_in_name.strip(),
        sign_in_key=key,
        name=name.strip(),
        created_at=now,
    )
    session.add(person)
    session.flush()
    add_roles(session, person, roles)
    audit.record(
        session, actor, "person.added", f"person:{person.id}", now,
        {"roles": sorted(roles)}, {"sign_in_name": person.sign_in_name, "name": person.name},
    )  # fmt: skip
    return person


def _give_one_time(
    session: Session,
    actor: Actor,
    person: Person,
    password: str,
    password_hash: str,
    now: datetime,
) -> OneTimePassword:
    person.password_hash = password_hash
    person.password_set_at = now
    person.one_time_until = now + ONE_TIME_FOR
    # Whoever needs a new password may have lost the PIN too, to somebody else's eyes.
    person.pin_hash = None
    audit.record(session, actor, "person.one_time_password", f"person:{person.id}", now)
    return OneTimePassword(
        actor.shop_id, person.id, person.sign_in_name, password, person.one_time_until
    )
