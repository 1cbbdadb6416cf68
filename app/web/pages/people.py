"""The shop's people: for the owner."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from starlette.responses import Response

from app.errors import BadInput, Fact, Problem
from app.services import joining, people
from app.services.joining import OneTimePassword
from app.services.people import PersonView
from app.services.permissions import ACTIONS, Role
from app.web.again import shown_again
from app.web.database import Read, Records, Write
from app.web.door import pages
from app.web.form_state import FormState, Option
from app.web.forms import Form, Sent
from app.web.rendering import Page, see, show
from app.web.routes import path_to
from app.web.visits import Here
from app.wording import jobs as words
from app.wording.moments import moment
from app.wording.translation import _


@dataclass(frozen=True, slots=True)
class Person:
    """One person in the list."""

    id: int
    name: str
    sign_in_name: str
    title: str
    roles: str
    state: str


@dataclass(frozen=True, kw_only=True)
class PeoplePage(Page):
    template: ClassVar[str] = "pages/people.html"
    people: tuple[Person, ...]
    roles: tuple[Option, ...]


@dataclass(frozen=True, kw_only=True)
class PersonPage(Page):
    template: ClassVar[str] = "pages/person.html"
    person: Person
    disabled: bool
    roles: tuple[Option, ...]
    may: tuple[str, ...]
    """What the roles include, a clause each."""
    events: str
    """Address of what the event log tells of this person."""


@dataclass(frozen=True, kw_only=True)
class OneTimePage(Page):
    template: ClassVar[str] = "pages/one_time.html"
    sign_in_name: str
    password: str
    until: str


@pages.add("GET", "/people", "people.read")
def people_list(request: Request, visit: Here, session: Read) -> Response:
    """Everybody, and the form for somebody new."""
    found = people.list_people(session, visit.person)
    return show(request, visit, list_page(found, FormState(), ()))


@pages.add("POST", "/people", "people.write")
def add_person(request: Request, visit: Here, database: Records, form: Sent) -> Response:
    """Adds a person and shows the one-time password, this once."""

    def again(state: FormState) -> Page:
        with database.read() as session:
            return list_page(people.list_people(session, visit.person), state, form.all("roles"))

    with shown_again(request, visit, form.values(), again, ("roles",)):
        made = joining.add_person(
            database,
            visit.person,
            form.text("sign_in_name"),
            form.text("name"),
            roles_of(form),
            visit.now,
            title=form.text("title"),
            email=form.text("email"),
            passwords=request.app.state.passwords,
        )
    return show(request, visit, one_time_page(made))


@pages.add("GET", "/people/{person}", "people.read")
def person(request: Request, visit: Here, session: Read, person: int) -> Response:
    """One person."""
    found = people.see_person(session, visit.person, person)
    return show(request, visit, person_page(found, FormState()))


@pages.add("POST", "/people/{person}", "people.write")
def change_person(
    request: Request, visit: Here, session: Write, form: Sent, person: int
) -> Response:
    """Changes how somebody is called and what they may do."""
    found = people.see_person(session, visit.person, person)
    with shown_again(
        request, visit, form.values(), lambda state: person_page(found, state), ("roles",), "roles"
    ):
        people.change_person(
            session,
            visit.person,
            person,
            form.text("name"),
            form.text("title"),
            form.text("email"),
            visit.now,
        )
        people.set_roles(session, visit.person, person, roles_of(form), visit.now)
    return see("person", person=person)


@pages.add("POST", "/people/{person}/reset", "people.write")
def reset_person(request: Request, visit: Here, database: Records, person: int) -> Response:
    """Gives a new one-time password and shows it, this once."""
    made = joining.reset_password(
        database, visit.person, person, visit.now, request.app.state.passwords
    )
    return show(request, visit, one_time_page(made))


@pages.add("POST", "/people/{person}/disable", "people.write")
def disable_person(request: Request, visit: Here, session: Write, person: int) -> Response:
    """Lets somebody in no more, at once."""
    found = people.see_person(session, visit.person, person)
    with shown_again(request, visit, {}, lambda state: person_page(found, state), (), "roles"):
        people.disable(session, visit.person, person, visit.now)
    return see("person", person=person)


@pages.add("POST", "/people/{person}/enable", "people.write")
def enable_person(visit: Here, session: Write, person: int) -> Response:
    """Lets somebody in again."""
    people.enable(session, visit.person, person, visit.now)
    return see("person", person=person)


def roles_of(form: Form) -> frozenset[Role]:
    """The roles that were ticked. Raises BadInput for one that does not exist."""
    known = {role.value for role in Role}
    unknown = [text for text in form.all("roles") if text not in known]
    if unknown:
        facts: dict[str, Fact] = {"met": unknown[0][:40], "allowed": tuple(sorted(known))}
        raise BadInput([Problem("not_one_of", "roles", facts)], "not_one_of")
    return frozenset(Role(text) for text in form.all("roles"))


def role_options(chosen: frozenset[str]) -> tuple[Option, ...]:
    """All roles, those that are held ticked."""
    return tuple(Option(role.value, words.role(role.value), role.value in chosen) for role in Role)


def list_page(
    found: tuple[PersonView, ...], state: FormState, chosen: tuple[str, ...]
) -> PeoplePage:
    """The list with the form below it."""
    return PeoplePage(
        title=_("People"),
        form=state,
        people=tuple(person_of(one) for one in found),
        roles=role_options(frozenset(chosen)),
    )


def person_page(found: PersonView, state: FormState) -> PersonPage:
    """One person with the form filled in from the records."""
    held = {"name": found.name, "title": found.title, "email": found.email}
    return PersonPage(
        title=found.name,
        form=FormState({**held, **state.values}, state.errors),
        person=person_of(found),
        disabled=found.disabled,
        roles=role_options(frozenset(role.value for role in found.roles)),
        may=tuple(
            one.description for one in ACTIONS.values() if not one.roles.isdisjoint(found.roles)
        ),
        events=path_to("event_log_list", {"person": f"person:{found.id}"}),
    )


def person_of(one: PersonView) -> Person:
    """A person in words."""
    if one.disabled:
        state = _("cannot sign in")
    elif one.one_time_until:
        state = _("has a one-time password until {moment}").format(
            moment=moment(one.one_time_until)
        )
    else:
        state = ""
    roles = ", ".join(words.role(role.value) for role in Role if role in one.roles)
    return Person(one.id, one.name, one.sign_in_name, one.title, roles, state)


def one_time_page(made: OneTimePassword) -> OneTimePage:
    """The password, to be handed over in person."""
    return OneTimePage(
        title=_("One-time password"),
        sign_in_name=made.sign_in_name,
        password=made.password,
        until=moment(made.until),
    )
