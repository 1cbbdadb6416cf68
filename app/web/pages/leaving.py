"""A machine leaves: handed over with what was left here, or its job cancelled."""

from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar

from fastapi import Request
from starlette.responses import Response

from app.errors import BadInput, Problem
from app.services import jobs
from app.services.as_it_came import AsItCame, as_it_came
from app.services.closings import Closing
from app.services.jobs import JobView
from app.services.lookup import GIVEN_BACK, HANDED_OVER, REOPENED
from app.web.again import shown_again
from app.web.database import Read, Write
from app.web.door import pages
from app.web.form_state import FormState, Option
from app.web.forms import Form, Sent
from app.web.pages.road import closed_because, leaving
from app.web.pages.seen import since_on_hold
from app.web.pages.words import Fact, machine_name, nameless, no_reason
from app.web.rendering import Page, see, show
from app.web.visits import Here
from app.wording import jobs as words
from app.wording.leaving import as_it_came as as_it_came_words
from app.wording.moments import moment
from app.wording.translation import _

FIELDS = ("handed_over_to", "given_back", "kept_because", "told")
STILL_HERE = "still_here"


@dataclass(frozen=True, slots=True)
class Held:
    """An open hold, as the customer is told of it."""

    what: str
    beside: str
    since: str


@dataclass(frozen=True, kw_only=True)
class HandOverPage(Page):
    template: ClassVar[str] = "pages/hand_over.html"
    number: str
    machine: str
    """Make, model, plate and frame number: what leaves."""
    cautions: tuple[str, ...]
    came: tuple[str, ...]
    """What of the machine as it came is still to be told, sentences."""
    cancelled: str
    """That the job was cancelled, and why; else empty."""
    holds: tuple[Held, ...]
    must_tell: bool
    things: tuple[Option, ...]
    """What was left with the machine, ticked as it is given back."""
    customer: str


@dataclass(frozen=True, kw_only=True)
class CancelPage(Page):
    template: ClassVar[str] = "pages/cancel.html"
    number: str
    customer: str
    machine: str
    """Make, model, plate and frame number."""
    where: tuple[Option, ...]


@pages.add("GET", "/jobs/{number}/hand-over", "jobs.hand_over")
def hand_over_form(request: Request, visit: Here, session: Read, number: str) -> Response:
    """What is to be told and given back as the machine leaves."""
    job = jobs.read(session, visit.person, number)
    state = FormState({"handed_over_to": job.customer.name or ""})
    came = as_it_came(session, visit.person, number)
    return show(request, visit, hand_over_page(job, came, state, ()))


@pages.add("POST", "/jobs/{number}/hand-over", "jobs.hand_over")
def hand_over(request: Request, visit: Here, session: Write, form: Sent, number: str) -> Response:
    """The machine leaves the shop."""
    job = jobs.read(session, visit.person, number)
    given = form.all("given_back")
    came = as_it_came(session, visit.person, number)

    def again(state: FormState) -> Page:
        return hand_over_page(job, came, state, given)

    with shown_again(request, visit, form.values(), again, FIELDS):
        jobs.hand_over(
            session,
            visit.person,
            number,
            form.text("handed_over_to"),
            visit.now,
            given_back=given,
            kept_because=form.text("kept_because"),
            told=bool(form.text("told")) if must_tell(job) else None,
        )
    return see("job", number=number)


def hand_over_page(
    job: JobView, came: AsItCame, state: FormState, given: tuple[str, ...]
) -> HandOverPage:
    """The form in words."""
    return HandOverPage(
        title=_("Hand the machine over"),
        form=state,
        number=job.number,
        machine=machine_of(job),
        cautions=leaving(job),
        came=as_it_came_words(came.damaged, came.not_rideable),
        cancelled=closed_because(job),
        holds=tuple(
            Held(
                what=words.item(one.item),
                beside=one.note or "",
                since=since_on_hold(job, one.item),
            )
            for one in job.holds
            if one.closed_at is None
        ),
        must_tell=must_tell(job),
        things=tuple(Option(one, one, one in given) for one in job.belongings),
        customer=job.customer.name or "",
    )


def machine_of(job: JobView) -> str:
    """Make, model, plate and frame number in one line."""
    machine = job.machine
    return " · ".join(filter(None, [machine_name(machine), machine.plate, machine.frame_number]))


def must_tell(job: JobView) -> bool:
    """Something is open of which whoever fetches the machine has to be told."""
    standing = [one for one in job.surveys if one.superseded_by is None]
    held = any(one.closed_at is None for one in job.holds)
    return held or bool(standing and standing[-1].finding != "within")


@pages.add("GET", "/jobs/{number}/cancel", "jobs.cancel")
def cancel_form(request: Request, visit: Here, session: Read, number: str) -> Response:
    """Why the job ends without being done, and where the machine is."""
    job = jobs.read(session, visit.person, number)
    return show(request, visit, cancel_page(job, FormState({STILL_HERE: "yes"})))


@pages.add("POST", "/jobs/{number}/cancel", "jobs.cancel")
def cancel(request: Request, visit: Here, session: Write, form: Sent, number: str) -> Response:
    """Ends the job; what was recorded stays."""
    job = jobs.read(session, visit.person, number)

    def again(state: FormState) -> Page:
        return cancel_page(job, state)

    with shown_again(request, visit, form.values(), again, ("reason", STILL_HERE)):
        here = is_still_here(form)
        jobs.cancel(session, visit.person, number, form.text("reason"), visit.now, here)
    return see("job", number=number)


def is_still_here(form: Form) -> bool:
    """What was chosen. Raises BadInput where nothing was."""
    if form.text(STILL_HERE) not in ("yes", "no"):
        empty = [] if form.text("reason") else [Problem("text_empty", "reason")]
        raise BadInput([*empty, Problem("still_here_or_not", STILL_HERE)])
    return form.text(STILL_HERE) == "yes"


def cancel_page(job: JobView, state: FormState) -> CancelPage:
    """The question in words."""
    return CancelPage(
        title=_("Cancel job {number}").format(number=job.number),
        form=state,
        number=job.number,
        customer=job.customer.name or _("erased"),
        machine=machine_of(job),
        where=(
            Option("yes", _("it stands here, and is still to be handed over")),
            Option("no", _("it has left the shop already")),
        ),
    )


def closing_facts(found: tuple[Closing, ...], erased_at: datetime | None) -> tuple[Fact, ...]:
    """How the job was closed and opened again, newest first."""
    return tuple(
        Fact(" · ".join(filter(None, [moment(one.at), one.by])), said_of(one, erased_at))
        for one in found
    )


def closings_head(found: tuple[Closing, ...]) -> str:
    """What stands above them: a job that was only closed was not opened again."""
    reopened = any(one.kind == REOPENED for one in found)
    return _("Closed and opened again") if reopened else _("How it was closed")


def said_of(one: Closing, erased_at: datetime | None) -> str:
    """One of them in words; erased_at: when the customer was erased."""
    erased = erased_at if erased_at is not None and erased_at >= one.at else None
    if one.kind not in (HANDED_OVER, GIVEN_BACK):
        head = _("Opened again") if one.kind == REOPENED else _("Cancelled")
        return f"{head}: {one.words or no_reason(erased)}"
    taker = nameless() if erased else _("not stated")
    parts = [_("Handed over to {name}").format(name=one.to or taker)]
    if one.given_back:
        parts.append(_("given back: {things}").format(things=", ".join(one.given_back)))
    if one.kept_here:
        kept = _("not given back: {things}").format(things=", ".join(one.kept_here))
        parts.append(f"{kept} ({one.words})" if one.words else kept)
    if erased:
        parts.append(_("what was given back was erased, if it was noted"))
    if one.told:
        parts.append(_("whoever fetched it was told what is open"))
    return " · ".join(parts)
