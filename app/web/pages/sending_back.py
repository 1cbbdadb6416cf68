"""An inspector sends a job back with a reason; a technician answers, or measures again."""

from dataclasses import dataclass

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.services import jobs, sending_back
from app.services.jobs import JobView
from app.services.permissions import Actor, allowed
from app.services.road_facts import SentBack
from app.services.sending_back import Exchange
from app.web.again import shown_again
from app.web.database import Read, Write
from app.web.door import pages
from app.web.form_state import FormState
from app.web.forms import Sent
from app.web.pages.ask import FloorAskPage, Question, Words, ask_then_act
from app.web.rendering import see, show
from app.web.routes import path_to
from app.web.visits import Here
from app.wording.moments import moment
from app.wording.translation import _


@dataclass(frozen=True, slots=True)
class ExchangeLine:
    """A reason or an answer, in words."""

    head: str
    words: str


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the inspector wants before signing, said to whoever looks."""

    head: str
    why: str
    answer: str
    """Where it can be answered without measuring; empty for those who may not."""


def of_sending_back(number: str) -> Words:
    """The technician reads the reason on the job and on the floor."""
    return Words(
        title=_("Send job {number} back").format(number=number),
        lead=(
            _("The technician sees the reason on the job, and it waits for them again."),
            _("Until it is measured again or answered, no certificate can be signed."),
        ),
        label=_("What is to be measured again, or answered"),
        button=_("Send it back"),
        back_label=_("Sign-off of {number}").format(number=number),
    )


ask_then_act(
    Question(
        path="/jobs/{number}/send-back",
        name="send_back",
        action="jobs.send_back",
        known=jobs.read,
        act=sending_back.send_back,
        words=of_sending_back,
        back="job",
        left_to="sign_off_form",
    )
)


@pages.add("GET", "/jobs/{number}/answer", "jobs.answer")
def answer_form(request: Request, visit: Here, session: Read, number: str) -> Response:
    """What the inspector wants to know, and the place for the answer."""
    return show(request, visit, answer_page(session, visit.person, number, FormState()))


@pages.add("POST", "/jobs/{number}/answer", "jobs.answer")
def answer(request: Request, visit: Here, session: Write, form: Sent, number: str) -> Response:
    """The job waits for the inspector again."""

    def again(state: FormState) -> FloorAskPage:
        return answer_page(session, visit.person, number, state)

    with shown_again(request, visit, form.values(), again):
        sending_back.answer(session, visit.person, number, form.text("answer"), visit.now)
    return see("job", number=number)


def answer_page(session: Session, actor: Actor, number: str, state: FormState) -> FloorAskPage:
    """The question with the inspector's own words above it."""
    wanted = jobs.read(session, actor, number).sent_back
    return FloorAskPage(
        title=_("Answer the inspector"),
        form=state,
        lead=(wanted.why or _("erased"),) if wanted else (_("This job waits for no answer."),),
        field="answer",
        label=_("Your answer"),
        hint=_(
            "For something that is to be measured again, go back and measure instead. Where it "
            "names a part that was damaged at check-in, the certificate quotes it"
        ),
        button=_("Answer"),
        action=path_to("answer", number=number),
        back=path_to("job", number=number),
        back_label=number,
    )


def wanted_of(job: JobView, actor: Actor) -> Wanted | None:
    """Why the job was sent back, while that stands."""
    return None if job.closed else wanted_words(job.sent_back, job.number, actor)


def wanted_words(one: SentBack | None, number: str, actor: Actor) -> Wanted | None:
    """The reason in words, with the place to answer."""
    if one is None:
        return None
    return Wanted(
        head=sent_back_head(one.by, moment(one.at)),
        why=one.why or _("erased"),
        answer=path_to("answer_form", number=number) if allowed(actor, "jobs.answer") else "",
    )


def answered_of(job: JobView) -> ExchangeLine | None:
    """The answer that waits for the inspector."""
    if job.closed or job.answered is None:
        return None
    head = answered_head(job.answered.by, moment(job.answered.at))
    return ExchangeLine(head, job.answered.words or _("erased"))


def withdrawn_of(job: JobView) -> ExchangeLine | None:
    """The certificate that was withdrawn, with the reason, until it is measured or signed again."""
    one = job.withdrawn
    if one is None:
        return None
    head = _("Certificate {number} was withdrawn by {name}, {moment}").format(
        number=one.number, name=one.by or _("not stated"), moment=moment(one.at)
    )
    return ExchangeLine(head, one.why or _("erased"))


def exchange_lines(found: tuple[Exchange, ...]) -> tuple[ExchangeLine, ...]:
    """Reasons and answers in words, in their order."""
    return tuple(ExchangeLine(head_of(one), one.words or _("erased")) for one in found)


def head_of(one: Exchange) -> str:
    """What it is, by whom and when."""
    if one.kind == "sent_back":
        return sent_back_head(one.by, moment(one.at))
    return answered_head(one.by, moment(one.at))


def answered_head(by: str | None, when: str) -> str:
    """Who answered, and when."""
    return _("Answered by {name}, {moment}").format(name=by or _("not stated"), moment=when)


def sent_back_head(by: str | None, when: str) -> str:
    """Who sent the job back, and when."""
    return _("Sent back by {name}, {moment}").format(name=by or _("not stated"), moment=when)
