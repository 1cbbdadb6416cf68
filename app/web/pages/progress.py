"""A certificate between the signature of a person and the file in the register."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import PlainTextResponse, Response

from app.services import certificates, issuing_progress
from app.services.issuing_progress import Progress
from app.services.permissions import allowed
from app.web.again import shown_again
from app.web.database import Read, Records
from app.web.door import pages
from app.web.form_state import FormState
from app.web.forms import Sent
from app.web.pages.ask import Question, Words, ask_then_act
from app.web.rendering import Page, see, show
from app.web.visits import Here, Visit
from app.wording import progress as words
from app.wording.translation import _

STANDS_STILL = frozenset({"waits_for_key", "waits_for_person"})


@dataclass(frozen=True, kw_only=True)
class ProgressPage(Page):
    template: ClassVar[str] = "pages/progress.html"
    number: str
    job: str
    sentence: str
    told: tuple[str, ...]
    """What is known beyond that, a sentence each."""
    advice: str
    mark: str
    """Changes with the state: the script looks whether it is still the same."""
    goes_on: bool
    may_resume: bool
    wants_key: bool
    may_give_up: bool


@pages.add("GET", "/certificates/{number}/progress", "certificates.read")
def progress(request: Request, visit: Here, session: Read, number: str) -> Response:
    """How far it is; once it is stored, the certificate itself."""
    found = issuing_progress.progress(session, visit.person, number)
    if found.state == "stored":
        return see("certificate", number=number)
    return show(request, visit, page_of(found, visit, FormState()))


@pages.add("GET", "/certificates/{number}/progress/mark", "certificates.read")
def progress_mark(visit: Here, session: Read, number: str) -> Response:
    """A word that changes when the page would say something else."""
    return PlainTextResponse(mark_of(issuing_progress.progress(session, visit.person, number)))


@pages.add("POST", "/certificates/{number}/resume", "certificates.issue")
def resume(request: Request, visit: Here, database: Records, form: Sent, number: str) -> Response:
    """Have it tried again under its number."""

    def again(state: FormState) -> Page:
        with database.read() as session:
            return page_for(session, visit, number, state)

    with shown_again(request, visit, {}, again, ("key_password",), "key_password"):
        issuing_progress.resume(
            request.app.state.issuing,
            visit.person,
            number,
            form.exact("key_password") or None,
            visit.now,
        )
    return see("progress", number=number)


def of_giving_up(number: str) -> Words:
    """The number is never given again."""
    return Words(
        title=_("Give certificate {number} up").format(number=number),
        lead=(_("It is not finished. Its number stays in the register as void, with the reason."),),
        label=_("Reason"),
        button=_("Give it up"),
    )


ask_then_act(
    Question(
        path="/certificates/{number}/give-up",
        name="give_up",
        action="certificates.issue",
        known=certificates.certificate,
        act=issuing_progress.give_up,
        words=of_giving_up,
        back="progress",
    )
)


def page_for(session: Session, visit: Visit, number: str, state: FormState) -> ProgressPage:
    """The page, with what was refused told beside its field."""
    return page_of(issuing_progress.progress(session, visit.person, number), visit, state)


def page_of(found: Progress, visit: Visit, state: FormState) -> ProgressPage:
    """How far it is, in words."""
    still = found.state in STANDS_STILL
    may = allowed(visit.person, "certificates.issue")
    return ProgressPage(
        title=_("Certificate {number}").format(number=found.number),
        form=state,
        number=found.number,
        job=found.job_number,
        sentence=words.state(found.state),
        told=tuple(filter(None, told_of(found))),
        advice=words.advice(found.state, found.problem),
        mark=mark_of(found),
        goes_on=not still and found.state != "void",
        may_resume=still and may,
        wants_key=found.state == "waits_for_key" or bool(state.errors),
        may_give_up=found.state != "void" and may,
    )


def told_of(found: Progress) -> tuple[str, ...]:
    """What is known beyond the state."""
    return (
        words.place(found.ahead) if found.state == "queued" else "",
        words.problem(found.problem) if found.state != "void" else found.reason or "",
        words.next_try(found.next_try_at) if found.next_try_at else "",
    )


def mark_of(found: Progress) -> str:
    """The state and what it says."""
    return f"{found.state} {found.ahead} {found.tries} {found.problem or ''}".strip()
