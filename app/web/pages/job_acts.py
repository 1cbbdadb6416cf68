"""What is done to a job with one sentence: a correction noted, handed over, cancelled."""

from fastapi import Request
from starlette.responses import Response

from app.errors import NotFound
from app.services import jobs, visual_checks
from app.web.again import shown_again
from app.web.database import Read, Write
from app.web.door import pages
from app.web.form_state import FormState
from app.web.forms import Sent
from app.web.pages.ask import AskPage, FloorAskPage
from app.web.rendering import see, show
from app.web.routes import path_to
from app.web.visits import Here
from app.wording import cautions
from app.wording import jobs as words
from app.wording.translation import _


@pages.add("GET", "/jobs/{number}/correction", "corrections.write")
def correction_form(request: Request, visit: Here, session: Read, number: str) -> Response:
    """Before anything is pulled, the cautions; then what was done."""
    jobs.read(session, visit.person, number)
    return show(request, visit, correction_page(number, FormState()))


@pages.add("POST", "/jobs/{number}/correction", "corrections.write")
def note_correction(
    request: Request, visit: Here, session: Write, form: Sent, number: str
) -> Response:
    """Notes what was done to the machine."""
    with shown_again(request, visit, form.values(), lambda s: correction_page(number, s)):
        jobs.note_correction(session, visit.person, number, form.text("text"), visit.now)
    return see("job", number=number)


def correction_page(number: str, state: FormState) -> AskPage:
    """What was corrected, with the cautions above it."""
    return FloorAskPage(
        title=_("Note a correction"),
        form=state,
        lead=tuple(cautions.before_correction()),
        field="text",
        label=_("What was done, where, and with what"),
        hint="",
        long=True,
        button=_("Note the correction"),
        action=path_to("note_correction", number=number),
        back=path_to("job", number=number),
        back_label=number,
    )


@pages.add("GET", "/jobs/{number}/hand-over", "jobs.hand_over")
def hand_over_form(request: Request, visit: Here, session: Read, number: str) -> Response:
    """To whom the machine goes."""
    jobs.read(session, visit.person, number)
    return show(request, visit, hand_over_page(number, FormState()))


@pages.add("POST", "/jobs/{number}/hand-over", "jobs.hand_over")
def hand_over(request: Request, visit: Here, session: Write, form: Sent, number: str) -> Response:
    """The machine leaves the shop."""
    with shown_again(request, visit, form.values(), lambda s: hand_over_page(number, s)):
        jobs.hand_over(session, visit.person, number, form.text("handed_over_to"), visit.now)
    return see("job", number=number)


def hand_over_page(number: str, state: FormState) -> AskPage:
    """The last step of the road."""
    return AskPage(
        title=_("Hand the machine over"),
        form=state,
        lead=(_("Nothing can be added to the job afterwards."),),
        field="handed_over_to",
        label=_("To whom"),
        hint="",
        long=False,
        button=_("Handed over"),
        action=path_to("hand_over", number=number),
        back=path_to("job", number=number),
        back_label=number,
    )


@pages.add("GET", "/jobs/{number}/cancel", "jobs.cancel")
def cancel_form(request: Request, visit: Here, session: Read, number: str) -> Response:
    """Why the job ends without being done."""
    jobs.read(session, visit.person, number)
    return show(request, visit, cancel_page(number, FormState()))


@pages.add("POST", "/jobs/{number}/cancel", "jobs.cancel")
def cancel(request: Request, visit: Here, session: Write, form: Sent, number: str) -> Response:
    """Ends the job."""
    with shown_again(request, visit, form.values(), lambda s: cancel_page(number, s)):
        jobs.cancel(session, visit.person, number, form.text("reason"), visit.now)
    return see("job", number=number)


def cancel_page(number: str, state: FormState) -> AskPage:
    """The reason stays on record."""
    return AskPage(
        title=_("Cancel job {number}").format(number=number),
        form=state,
        lead=(_("What was recorded stays on record; nothing can be added afterwards."),),
        field="reason",
        label=_("Reason"),
        hint="",
        long=True,
        button=_("Cancel this job"),
        action=path_to("cancel", number=number),
        back=path_to("job", number=number),
        back_label=number,
    )


@pages.add("GET", "/jobs/{number}/reopen", "jobs.cancel")
def reopen_form(request: Request, visit: Here, session: Read, number: str) -> Response:
    """Why a closed job goes on."""
    jobs.read(session, visit.person, number)
    return show(request, visit, reopen_page(number, FormState()))


@pages.add("POST", "/jobs/{number}/reopen", "jobs.cancel")
def reopen(request: Request, visit: Here, session: Write, form: Sent, number: str) -> Response:
    """Opens a job again that was closed by mistake."""
    with shown_again(request, visit, form.values(), lambda s: reopen_page(number, s)):
        jobs.reopen(session, visit.person, number, form.text("reason"), visit.now)
    return see("job", number=number)


def reopen_page(number: str, state: FormState) -> AskPage:
    """That it was closed stays on record."""
    return AskPage(
        title=_("Open job {number} again").format(number=number),
        form=state,
        lead=(_("That it was closed stays on record."),),
        field="reason",
        label=_("Reason"),
        hint="",
        long=True,
        button=_("Open it again"),
        action=path_to("reopen", number=number),
        back=path_to("job", number=number),
        back_label=number,
    )


@pages.add("GET", "/jobs/{number}/holds/{hold}/close", "holds.close")
def close_hold_form(
    request: Request, visit: Here, session: Read, number: str, hold: int
) -> Response:
    """Why the hold no longer stands."""
    holds = visual_checks.holds(session, visit.person, number)
    found = next((one for one in holds if one.id == hold), None)
    if found is None:
        raise NotFound("no_such_hold", None, met=hold)
    return show(request, visit, close_hold_page(number, hold, words.item(found.item), FormState()))


@pages.add("POST", "/jobs/{number}/holds/{hold}/close", "holds.close")
def close_hold(
    request: Request, visit: Here, session: Write, form: Sent, number: str, hold: int
) -> Response:
    """Closes the hold, with the reason."""

    def again(state: FormState) -> AskPage:
        return close_hold_page(number, hold, "", state)

    with shown_again(request, visit, form.values(), again):
        visual_checks.close_hold(
            session, visit.person, number, hold, form.text("reason"), visit.now
        )
    return see("job", number=number)


def close_hold_page(number: str, hold: int, item: str, state: FormState) -> AskPage:
    """What must be known before a hold is closed."""
    return AskPage(
        title=_("Close a hold"),
        form=state,
        lead=tuple(filter(None, [item, cautions.everywhere()[1]])),
        field="reason",
        label=_("Reason"),
        hint=_("What was replaced or examined, and by whom"),
        long=True,
        button=_("Close the hold"),
        action=path_to("close_hold", number=number, hold=hold),
        back=path_to("job", number=number),
        back_label=number,
    )
