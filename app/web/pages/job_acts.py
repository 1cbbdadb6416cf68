"""What is done to a job with one sentence: opened again, a hold closed."""

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.errors import NotFound
from app.services import jobs, visual_checks
from app.web.again import shown_again
from app.web.database import Read, Write
from app.web.door import pages
from app.web.form_state import FormState
from app.web.forms import Sent
from app.web.pages.ask import AskPage, Question, Words, ask_then_act
from app.web.rendering import see, show
from app.web.routes import path_to
from app.web.visits import Here, Visit
from app.wording import cautions
from app.wording import jobs as words
from app.wording.translation import _


def of_reopening(number: str) -> Words:
    """Why a closed job goes on; that it was closed stays on record."""
    return Words(
        title=_("Open job {number} again").format(number=number),
        lead=(_("That it was closed stays on record."),),
        label=_("Reason"),
        button=_("Open it again"),
    )


QUESTIONS = (
    Question(
        path="/jobs/{number}/reopen",
        name="reopen",
        action="jobs.cancel",
        known=jobs.read,
        act=jobs.reopen,
        words=of_reopening,
        back="job",
    ),
)
for question in QUESTIONS:
    ask_then_act(question)


@pages.add("GET", "/jobs/{number}/holds/{hold}/close", "holds.close")
def close_hold_form(
    request: Request, visit: Here, session: Read, number: str, hold: int
) -> Response:
    """Why the hold no longer stands."""
    about = hold_words(session, visit, number, hold)
    return show(request, visit, close_hold_page(number, hold, about, FormState()))


@pages.add("POST", "/jobs/{number}/holds/{hold}/close", "holds.close")
def close_hold(
    request: Request, visit: Here, session: Write, form: Sent, number: str, hold: int
) -> Response:
    """Closes the hold, with the reason."""

    def again(state: FormState) -> AskPage:
        return close_hold_page(number, hold, hold_words(session, visit, number, hold), state)

    with shown_again(request, visit, form.values(), again):
        visual_checks.close_hold(
            session, visit.person, number, hold, form.text("reason"), visit.now
        )
    return see("job", number=number)


def hold_words(session: Session, visit: Visit, number: str, hold: int) -> str:
    """What was seen, with its place and note. Raises NotFound."""
    holds = visual_checks.holds(session, visit.person, number)
    found = next((one for one in holds if one.id == hold), None)
    if found is None:
        raise NotFound("no_such_hold", None, met=hold)
    return ": ".join(filter(None, [words.item(found.item), found.note]))


def close_hold_page(number: str, hold: int, about: str, state: FormState) -> AskPage:
    """What must be known before a hold is closed. about: what was seen."""
    return AskPage(
        title=_("Close a hold"),
        form=state,
        lead=tuple(filter(None, [about, cautions.everywhere()[1]])),
        label=_("Reason"),
        hint=_("What was replaced or examined, and by whom"),
        button=_("Close the hold"),
        action=path_to("close_hold", number=number, hold=hold),
        back=path_to("job", number=number),
        back_label=number,
    )
