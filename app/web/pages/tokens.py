"""Tokens with which programs use the JSON API: for the owner."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import ClassVar

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.errors import BadInput, Problem
from app.services import tokens
from app.services.permissions import ACTIONS, Actor, Role
from app.services.sign_in import confirm_password
from app.services.tokens import NewToken, TokenView
from app.web.again import shown_again
from app.web.database import Read, Records, Write
from app.web.door import pages
from app.web.form_state import FormState, Option
from app.web.forms import Form, Sent
from app.web.rendering import Page, see, show
from app.web.routes import OPEN, ROUTES
from app.web.visits import Here
from app.wording import jobs as words
from app.wording.moments import day, moment
from app.wording.translation import _


@dataclass(frozen=True, slots=True)
class Token:
    """One token in the list."""

    id: int
    name: str
    hint: str
    role: str
    made: str
    used: str
    ends: str
    """Until when it serves, or since when it does not."""
    open: bool


@dataclass(frozen=True, slots=True)
class May:
    """What a role includes, of what the API offers."""

    role: str
    clauses: tuple[str, ...]
    signs: bool
    """Certificates are signed in a person's name alone, whose password is sent each time."""


@dataclass(frozen=True, kw_only=True)
class TokensPage(Page):
    template: ClassVar[str] = "pages/tokens.html"
    tokens: tuple[Token, ...]
    roles: tuple[Option, ...]
    may: tuple[May, ...]


@dataclass(frozen=True, kw_only=True)
class NewTokenPage(Page):
    template: ClassVar[str] = "pages/new_token.html"
    name: str
    token: str
    ends: str
    may: May


@pages.add("GET", "/shop/tokens", "tokens.read")
def tokens_list(request: Request, visit: Here, session: Read) -> Response:
    """All tokens, and the form for another."""
    found = tokens.list_tokens(session, visit.person)
    return show(request, visit, list_page(found, FormState(), visit.now))


@pages.add("POST", "/shop/tokens", "tokens.write")
def make_token(request: Request, visit: Here, database: Records, form: Sent) -> Response:
    """Makes a token and shows it, this once. The owner's password is asked again: whoever sits
    down at an open session could else take a way in along that outlasts it."""

    def again(state: FormState) -> Page:
        with database.read() as session:
            found = tokens.list_tokens(session, visit.person)
        return list_page(found, state, visit.now)

    values = {field: form.text(field) for field in ("name", "role", "days")}
    with shown_again(request, visit, values, again, ("password",)):
        with database.read() as session:
            role, lasts = wish_of(form, session, visit.person)
        confirm_password(
            database,
            visit.person,
            form.exact("password"),
            visit.now,
            "token.create",
            request.app.state.passwords,
        )
        with database.write() as session:
            made = tokens.create_token(
                session, visit.person, values["name"], role, visit.now, lasts
            )
    return show(request, visit, new_page(made))


@pages.add("POST", "/shop/tokens/{api_token}/revoke", "tokens.write")
def revoke_token(visit: Here, session: Write, api_token: int) -> Response:
    """It opens nothing any more, at once."""
    tokens.revoke_by_id(session, visit.person, api_token, visit.now)
    return see("tokens_list")


def wish_of(form: Form, session: Session, actor: Actor) -> tuple[Role, timedelta | None]:
    """Role, and how long it is to last. Raises BadInput with all that is wrong but the password;
    Conflict for a name that is taken."""
    problems: list[Problem] = []
    role, lasts = Role.DESK, None
    with gathered(problems):
        tokens.free_name(session, actor, form.text("name"))
    with gathered(problems):
        role = role_of(form)
    with gathered(problems):
        lasts = tokens.lasting(days_of(form))
    if problems:
        raise BadInput(problems, problems[0].code)
    return role, lasts


@contextmanager
def gathered(problems: list[Problem]) -> Iterator[None]:
    """What is wrong inside is kept, to be told with the rest."""
    try:
        yield
    except BadInput as error:
        problems += error.problems


def role_of(form: Form) -> Role:
    """The one role that was chosen. Raises BadInput."""
    text = form.text("role")
    if text not in {role.value for role in Role}:
        raise BadInput([Problem("nothing_chosen", "role")], "nothing_chosen")
    return Role(text)


def days_of(form: Form) -> int | None:
    """For how many days; None when the field was left empty. Raises BadInput for other text."""
    text = form.text("days")
    if not text:
        return None
    if not (text.isascii() and text.isdecimal() and len(text) <= 6):
        facts = {"met": text[:40], "needed": "whole_number"}
        raise BadInput([Problem("wrong_type", "days", facts)], "wrong_type")
    return int(text)


def list_page(found: tuple[TokenView, ...], state: FormState, now: datetime) -> TokensPage:
    """The list in words, those that still open something first."""
    listed = [token_of(one, now) for one in found]
    return TokensPage(
        title=_("Tokens for programs"),
        form=state,
        tokens=tuple(sorted(listed, key=lambda one: not one.open)),
        roles=tuple(Option(role.value, words.role(role.value)) for role in Role),
        may=tuple(may_of(role) for role in Role),
    )


def token_of(one: TokenView, now: datetime) -> Token:
    """A token in words."""
    over = one.expires_at is not None and now >= one.expires_at
    return Token(
        id=one.id,
        name=one.name,
        hint=f"{one.hint}…",
        role=words.role(one.role.value),
        made=made_of(one),
        used=moment(one.last_used_at) if one.last_used_at else _("never"),
        ends=ends_of(one, over=over),
        open=one.revoked_at is None and not over,
    )


def made_of(one: TokenView) -> str:
    """By whom it was made, and when."""
    if one.made_by is None:
        return _("{day}, by the command line").format(day=day(one.created_at))
    return _("{day}, by {name}").format(day=day(one.created_at), name=one.made_by)


def ends_of(one: TokenView, *, over: bool) -> str:
    """Whether it opens anything, and how long."""
    if one.revoked_at is not None:
        return _("revoked {moment}").format(moment=moment(one.revoked_at))
    if one.expires_at is None:
        return _("until it is revoked")
    ended = _("over since {moment}") if over else _("until {moment}")
    return ended.format(moment=moment(one.expires_at))


def new_page(made: NewToken) -> NewTokenPage:
    """The token itself, and what it may do."""
    return NewTokenPage(
        title=_("New token"),
        name=made.view.name,
        token=made.token,
        ends=ends_of(made.view, over=False),
        may=may_of(made.view.role),
    )


def may_of(role: Role) -> May:
    """What a token of this role may do: what the API offers, where the role includes it."""
    offered = {route.action for route in ROUTES.values() if route.door == "api"} - {OPEN}
    held = [code for code, one in ACTIONS.items() if code in offered and role in one.roles]
    return May(
        role=words.role(role.value),
        clauses=tuple(_(ACTIONS[code].description) for code in held),
        signs="certificates.issue" in held,
    )
