"""The shop's people: who they are and what they may.

How they join stands in `joining`, how they get in in `sign_in`.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import BadInput, Conflict, NotFound, Problem
from app.records.scope import across_shops, scoped
from app.records.search_text import comparable
from app.records.tables import Person, PersonRole, Shop
from app.services import audit
from app.services.permissions import Actor, Role, require
from app.services.sessions import end_all_of

LONGEST_LINE = 300
LARGEST_ID = 2**31 - 1


@dataclass(frozen=True, slots=True)
class PersonView:
    id: int
    sign_in_name: str
    name: str
    title: str
    email: str
    roles: frozenset[Role]
    disabled: bool
    one_time_until: datetime | None
    """The one-time password has not been changed yet; it ends then."""
    created_at: datetime


def only_shop(session: Session) -> int:
    """The id of the one shop that this installation serves. Raises NotFound before first start."""
    shop_id = session.scalars(across_shops(Shop).with_only_columns(Shop.id).limit(1)).first()
    if shop_id is None:
        raise NotFound("no_shop_yet", "shop")
    return shop_id


def list_people(session: Session, actor: Actor) -> tuple[PersonView, ...]:
    """All people of the shop, by name; those who left are marked `disabled`."""
    require(actor, "people.read")
    people = session.scalars(scoped(session, actor, Person).order_by(Person.sign_in_key)).all()
    roles = roles_of(session, actor.shop_id)
    return tuple(_view(person, roles.get(person.id, frozenset())) for person in people)


def see_person(session: Session, actor: Actor, person_id: int) -> PersonView:
    """One person. Raises NotFound `no_such_person`."""
    require(actor, "people.read")
    person = person_of(session, actor.shop_id, person_id)
    return _view(person, roles_of(session, actor.shop_id).get(person.id, frozenset()))


def find_person(session: Session, actor: Actor, sign_in_name: str) -> PersonView:
    """One person by sign-in name. Raises NotFound `no_such_person`."""
    require(actor, "people.read")
    key = comparable(sign_in_name)
    query = scoped(session, actor, Person).where(Person.sign_in_key == key)
    person = session.scalars(query).one_or_none()
    if person is None:
        raise NotFound("no_such_person", "person", name=sign_in_name)
    return see_person(session, actor, person.id)


def change_person(
    session: Session,
    actor: Actor,
    person_id: int,
    name: str,
    title: str,
    email: str,
    now: datetime,
) -> PersonView:
    """Change how a person is named, on certificates too from now on."""
    require(actor, "people.write")
    refuse(name_problems({"name": name}, {"title": title, "email": email}))
    person = person_of(session, actor.shop_id, person_id)
    person.name, person.title, person.email = name.strip(), title.strip(), email.strip()
    audit.record(
        session, actor, "person.changed", f"person:{person.id}", now,
        personal={"name": person.name, "title": person.title, "email": person.email},
    )  # fmt: skip
    return see_person(session, actor, person_id)


def set_roles(
    session: Session, actor: Actor, person_id: int, roles: frozenset[Role], now: datetime
) -> PersonView:
    """Give the person exactly these roles. Raises Conflict `last_owner`, BadInput `no_role`."""
    require(actor, "people.write")
    if not roles:
        raise BadInput([Problem("no_role", "roles")])
    person = person_of(session, actor.shop_id, person_id)
    if Role.OWNER not in roles:
        _keep_an_owner(session, actor, person_id)
    rows = session.scalars(
        scoped(session, actor, PersonRole).where(PersonRole.person_id == person.id)
    ).all()
    for row in rows:
        if row.role not in roles:
            session.delete(row)
    add_roles(session, person, roles - {Role(row.role) for row in rows})
    session.flush()
    audit.record(
        session, actor, "person.roles_set", f"person:{person.id}", now, {"roles": sorted(roles)}
    )
    return see_person(session, actor, person_id)


def disable(session: Session, actor: Actor, person_id: int, now: datetime) -> PersonView:
    """Let the person sign in no more, at once. Raises Conflict `last_owner`."""
    require(actor, "people.write")
    person = person_of(session, actor.shop_id, person_id)
    _keep_an_owner(session, actor, person_id)
    if person.disabled_at is None:
        person.disabled_at = now
        end_all_of(session, actor, person.id, now)
        audit.record(session, actor, "person.disabled", f"person:{person.id}", now)
    return see_person(session, actor, person_id)


def enable(session: Session, actor: Actor, person_id: int, now: datetime) -> PersonView:
    """Let a disabled person sign in again, with the old password."""
    require(actor, "people.write")
    person = person_of(session, actor.shop_id, person_id)
    if person.disabled_at is not None:
        person.disabled_at = None
        audit.record(session, actor, "person.enabled", f"person:{person.id}", now)
    return see_person(session, actor, person_id)


def roles_of(session: Session, shop_id: int) -> dict[int, frozenset[Role]]:
    """Roles of all people of the shop, by their ids."""
    found: dict[int, frozenset[Role]] = {}
    for row in session.scalars(scoped(session, shop_id, PersonRole)):
        found[row.person_id] = found.get(row.person_id, frozenset()) | {Role(row.role)}
    return found


def person_of(session: Session, shop_id: int, person_id: int) -> Person:
    """The row of a person of the shop. Raises NotFound `no_such_person`."""
    query = scoped(session, shop_id, Person).where(Person.id == person_id)
    # A larger number cannot be an id, and the databases would not take it.
    person = session.scalars(query).one_or_none() if 0 < person_id <= LARGEST_ID else None
    if person is None:
        raise NotFound("no_such_person", "person", id=person_id)
    return person


def add_roles(session: Session, person: Person, roles: Iterable[Role]) -> None:
    """Give the person further roles."""
    session.add_all(
        PersonRole(shop_id=person.shop_id, person_id=person.id, role=str(role))
        for role in sorted(roles)
    )


def name_problems(needed: Mapping[str, str], optional: Mapping[str, str]) -> list[Problem]:
    """What is wrong with one-line texts: missing, longer than a line, more than one line."""
    problems = [Problem("required", field) for field, text in needed.items() if not text.strip()]
    for field, text in {**needed, **optional}.items():
        if len(text) > LONGEST_LINE:
            facts = {"met": len(text), "limit": LONGEST_LINE}
            problems.append(Problem("too_long", field, facts))
        elif not text.isprintable():
            problems.append(Problem("not_one_line", field))
    return problems


def refuse(problems: list[Problem]) -> None:
    """Raise BadInput when there are any."""
    if problems:
        raise BadInput(problems)


def _keep_an_owner(session: Session, actor: Actor, leaving_id: int) -> None:
    owners = scoped(session, actor, PersonRole).where(
        PersonRole.role == Role.OWNER, PersonRole.person_id != leaving_id
    )
    others = [row.person_id for row in session.scalars(owners)]
    active = scoped(session, actor, Person).where(
        Person.id.in_(others), Person.disabled_at.is_(None)
    )
    if session.scalars(active.limit(1)).first() is None:
        raise Conflict("last_owner", "roles")


def _view(person: Person, roles: frozenset[Role]) -> PersonView:
    return PersonView(
        id=person.id,
        sign_in_name=person.sign_in_name,
        name=person.name,
        title=person.title,
        email=person.email,
        roles=roles,
        disabled=person.disabled_at is not None,
        one_time_until=person.one_time_until,
        created_at=person.created_at,
    )
