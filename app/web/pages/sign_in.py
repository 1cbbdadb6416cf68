"""Signing in and out, and changing the password."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from starlette.responses import RedirectResponse, Response

from app.errors import BadInput, Problem
from app.services import sessions
from app.services import sign_in as signing_in
from app.services.passwords import SHORTEST
from app.web.again import shown_again
from app.web.cookies import clear_session, set_session, tablet_secret
from app.web.database import Records, Write
from app.web.door import pages
from app.web.form_state import FormState
from app.web.forms import Sent
from app.web.rendering import Page, see, show
from app.web.routes import OPEN
from app.web.visits import Here, Visit
from app.wording.translation import _


@dataclass(frozen=True, kw_only=True)
class SignInPage(Page):
    template: ClassVar[str] = "pages/sign_in.html"
    by_pin: bool = False
    """Somebody came in by PIN and wants what only a password opens."""
    on_tablet: bool = False
    """The tablet is enrolled: a PIN opens it too."""


@dataclass(frozen=True, kw_only=True)
class PasswordPage(Page):
    template: ClassVar[str] = "pages/password.html"
    forced: bool
    shortest: int


@pages.add("GET", "/sign-in", OPEN)
def sign_in_form(request: Request, visit: Here) -> Response:
    """The form; whoever is signed in already goes on."""
    target = local_target(request.query_params.get("next", ""))
    if visit.actor and not visit.actor.by_pin:
        return RedirectResponse(target, status_code=303)
    return show(request, visit, sign_in_page(request, visit, FormState({"next": target})))


@pages.add("POST", "/sign-in", OPEN)
def sign_in(request: Request, visit: Here, database: Records, form: Sent) -> Response:
    """A new session with a new secret, never the one that the browser brought along."""
    values = {name: form.text(name) for name in ("sign_in_name", "next", "on_floor")}

    def again(state: FormState) -> Page:
        return sign_in_page(request, visit, state)

    with shown_again(request, visit, values, again, ("password",)):
        actor = signing_in.sign_in(
            database,
            form.text("sign_in_name"),
            form.exact("password"),
            visit.address,
            visit.now,
            request.app.state.passwords,
        )
    with database.write() as session:
        if visit.session:
            # Whoever it belongs to: its cookie leaves this browser, and no one else holds it.
            ended = visit.session
            sessions.close(session, ended.actor, ended.session_id, visit.now)
        opened = sessions.open_session(
            session,
            actor,
            visit.now,
            visit.address,
            request.headers.get("user-agent", ""),
            on_floor=bool(values["on_floor"]),
        )
    answer = RedirectResponse(local_target(values["next"]), status_code=303)
    set_session(request, answer, opened.secret)
    return answer


@pages.add("POST", "/sign-out", "account.use")
def sign_out(request: Request, visit: Here, session: Write) -> Response:
    """The session is over at once, here and for every copy of its cookie."""
    assert visit.session is not None
    sessions.close(session, visit.person, visit.session.session_id, visit.now)
    answer = see("sign_in_form")
    clear_session(request, answer)
    return answer


@pages.add("GET", "/password", "account.use")
def change_password_form(request: Request, visit: Here) -> Response:
    """The form; a one-time password must be changed before anything else."""
    return show(request, visit, password_page(visit.person.must_change_password, FormState()))


@pages.add("POST", "/password", "account.use")
def change_password(request: Request, visit: Here, database: Records, form: Sent) -> Response:
    """The new password takes the place of the old one and ends all other sessions."""
    assert visit.session is not None
    forced = visit.person.must_change_password
    fields = ("current_password", "new_password", "new_password_again")
    with shown_again(request, visit, {}, lambda state: password_page(forced, state), fields):
        if form.exact("new_password") != form.exact("new_password_again"):
            raise BadInput([Problem("passwords_differ", "new_password_again")])
        signing_in.change_password(
            database,
            visit.person,
            form.exact("current_password"),
            form.exact("new_password"),
            visit.now,
            visit.session.session_id,
            request.app.state.passwords,
        )
    with database.write() as session:
        fresh = sessions.rotate(session, visit.person, visit.session.session_id, visit.now)
    answer = see("today")
    set_session(request, answer, fresh.secret)
    return answer


def sign_in_page(request: Request, visit: Visit, state: FormState) -> SignInPage:
    """The form, with what there is to say about PINs."""
    return SignInPage(
        title=_("Sign in"),
        form=state,
        by_pin=visit.actor is not None and visit.actor.by_pin,
        on_tablet=tablet_secret(request) is not None,
    )


def password_page(forced: bool, state: FormState) -> PasswordPage:
    """The page with what is asked of a password."""
    return PasswordPage(
        title=_("Choose your own password") if forced else _("Change the password"),
        form=state,
        forced=forced,
        shortest=SHORTEST,
    )


def local_target(target: str) -> str:
    """A path of our own to go on to; anything else would lead people to another site."""
    ours = target.startswith("/") and not target.startswith("//") and "\\" not in target
    return target if ours and target.isprintable() and "\t" not in target else "/"
