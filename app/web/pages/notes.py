"""Notes and calls of a job: what was noted, who is to be called, and what came of a call."""

from dataclasses import dataclass, replace
from datetime import date
from typing import ClassVar
from urllib.parse import parse_qsl

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import RedirectResponse, Response

from app.schemas.note import WHOM, CallIn, NoteIn
from app.schemas.reading import checked
from app.services import jobs, notes
from app.services.calls_due import CallDue
from app.services.jobs import JobView
from app.services.notes import NoteView
from app.web.again import shown_again
from app.web.database import Read, Write
from app.web.door import pages
from app.web.form_state import FormState, Option
from app.web.forms import Form, Sent
from app.web.pages.calls import (
    NOTED,
    STANDS,
    dial,
    is_late,
    message_left,
    promise_of,
    promise_options,
    reason_of,
    tried,
)
from app.web.pages.today import filters_of
from app.web.rendering import Page, see_saved, show
from app.web.routes import path_to
from app.web.visits import Here, Visit
from app.wording import calls as words
from app.wording.moments import moment
from app.wording.translation import _, counted

MOST_SHOWN = 30
FIELDS = ("words", "call", "whom", "outcome", "promised_on")
SENT = ("words", "call", "takes_back")


@dataclass(frozen=True, slots=True)
class NoteLine:
    """One note or call, newest first."""

    head: str
    """When and by whom."""
    what: str
    """What kind of entry it is; empty for a plain note."""
    words: str
    id: str
    """Of a call that counts and can be taken back; else empty."""


@dataclass(frozen=True, slots=True)
class Number:
    """Somebody who can be called about the job."""

    whom: str
    """Code, for the form."""
    name: str
    phone: str
    dial: str
    due: tuple[str, ...]
    """Why they must be called; empty when they need not be."""
    tried: str
    days: tuple[Option, ...]
    """What may be promised instead of a day that is past; empty where none is."""


@dataclass(frozen=True, kw_only=True)
class NotesPage(Page):
    template: ClassVar[str] = "pages/notes.html"
    number: str
    notes: tuple[NoteLine, ...]
    older: str
    numbers: tuple[Number, ...]
    calls: tuple[Option, ...]
    note: FormState
    """The fields of a note."""
    called: FormState
    """Those of a call that was refused; its errors stand at the person's own fields."""
    closed: bool


@pages.add("GET", "/jobs/{number}/notes", "jobs.note")
def notes_form(request: Request, visit: Here, session: Read, number: str) -> Response:
    """All notes and calls of a job, with the forms for more."""
    return show(request, visit, page_for(session, visit, number, FormState()))


@pages.add("POST", "/jobs/{number}/notes", "jobs.note")
def add_note(request: Request, visit: Here, session: Write, form: Sent, number: str) -> Response:
    """Notes something, or that somebody is to be called."""

    def again(state: FormState) -> Page:
        return page_for(session, visit, number, state)

    with shown_again(request, visit, form.values(), again, FIELDS):
        sent = {name: form.text(name) for name in SENT if form.text(name)}
        notes.add(session, visit.person, number, checked(NoteIn, sent), visit.now)
    if form.text("takes_back") and "back" in form.values():
        return RedirectResponse(list_again(form.text("back")), status_code=303)
    return see_saved(request, "notes_form", number=number)


@pages.add("POST", "/jobs/{number}/calls", "jobs.note")
def note_call(request: Request, visit: Here, session: Write, form: Sent, number: str) -> Response:
    """Notes what came of a call; then back to the list, or to the job's notes."""

    def again(state: FormState) -> Page:
        page, called = page_for(session, visit, number, FormState()), of_call(state)
        return replace(page, form=called, called=called)

    with shown_again(request, visit, form.values(), again, FIELDS):
        sent = checked(CallIn, sent_call(form))
        made = notes.called(session, visit.person, number, sent, visit.now)
    if "back" in form.values():
        return RedirectResponse(list_again(form.text("back"), str(made.id)), status_code=303)
    return see_saved(request, "notes_form", number=number)


def sent_call(form: Form) -> dict[str, object]:
    """A call as the schema has it."""
    sent: dict[str, object] = {name: form.text(name) for name in ("whom", "outcome", "words")}
    promised = form.text("promised_on")
    if promised == STANDS:
        sent["promise_stands"] = True
    elif promised:
        sent["promised_on"] = promised
    return sent


def of_call(state: FormState) -> FormState:
    """The state of one call's fields, which stand on the page once for each person."""
    whom = state.value("whom")
    errors = tuple(
        replace(one, anchor=f"{one.anchor}-{whom}") if one.anchor else one for one in state.errors
    )
    return FormState(state.values, errors)


def list_again(query: str, noted: str = "") -> str:
    """The address of today's list with these filters and the call that was just noted; nothing
    else that was sent goes in."""
    asked = {**filters_of(dict(parse_qsl(query))), NOTED: noted}
    return path_to("today", {name: value for name, value in asked.items() if value})


def page_for(session: Session, visit: Visit, number: str, state: FormState) -> NotesPage:
    """Notes, calls and numbers of a job in words."""
    job = jobs.read(session, visit.person, number)
    noted = notes.listing(session, visit.person, number)
    due = notes.calls_of(session, visit.person, number, visit.today)
    return NotesPage(
        title=_("Notes and calls"),
        form=state,
        number=number,
        notes=tuple(line_of(one) for one in noted[:MOST_SHOWN]),
        older=older(len(noted) - MOST_SHOWN),
        numbers=numbers_of(job, due, visit.today),
        calls=(
            Option("", _("nobody")),
            *(Option(code, words.whom(code)) for code in WHOM),
        ),
        note=state,
        called=FormState(),
        closed=job.closed,
    )


def older(count: int) -> str:
    """How many entries are not shown; empty when all are."""
    if count <= 0:
        return ""
    return counted("{count} older entry", "{count} older entries", count).format(count=count)


def line_of(note: NoteView) -> NoteLine:
    """A note or a call in words."""
    whom = words.whom(note.whom or "")
    kinds = {
        "note": "",
        "call_wanted": _("Call the {whom}").format(whom=whom),
        "called": _("Called the {whom}: {outcome}").format(
            whom=whom, outcome=words.outcome(note.outcome or "")
        ),
    }
    head = " · ".join(filter(None, [moment(note.at), note.by]))
    what = _("A call taken back") if note.takes_back else kinds[note.kind]
    if note.taken_back:
        what = _("{what} (taken back: it counts no more)").format(what=what)
    counts = note.whom and not note.taken_back
    if promise := promise_of(note):
        what = f"{what} · {promise}"
    return NoteLine(head, what, note.words or "", str(note.id) if counts else "")


def numbers_of(job: JobView, due: tuple[CallDue, ...], today: date) -> tuple[Number, ...]:
    """Customer and adjuster, with why they must be called."""
    calls = {one.whom: one for one in due}
    people = (
        ("customer", job.customer.name, job.customer.phone),
        ("adjuster", job.claim.adjuster or job.claim.insurer_name, job.claim.adjuster_phone),
    )
    return tuple(
        number_of(code, name, phone or "", calls.get(code), today)
        for code, name, phone in people
        if name or phone or code in calls
    )


def number_of(code: str, name: str | None, phone: str, due: CallDue | None, today: date) -> Number:
    """One of them."""
    return Number(
        whom=code,
        name=f"{name} ({words.whom(code)})" if name else words.whom(code),
        phone=phone,
        dial=dial(phone),
        due=tuple(reason_of(one) for one in due.reasons) if due else (),
        tried=" · ".join(filter(None, [message_left(due), tried(due)])) if due else "",
        days=promise_options(today) if due and is_late(due) else (),
    )
