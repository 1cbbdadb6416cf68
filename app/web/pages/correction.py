"""A correction noted: what was done, to which part, how, by whom, when; or one put right."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.errors import NotFound
from app.schemas.correction import METHODS, PARTS, CorrectionIn
from app.schemas.reading import checked
from app.schemas.visual_check import FRAME_HOLD_ITEMS
from app.services import corrections_ordered, jobs
from app.services.jobs import CorrectionView, JobView
from app.services.look_alikes import Doubt, standing_doubt
from app.services.words import words as typed
from app.web.again import shown_again
from app.web.database import Read, Write
from app.web.door import pages
from app.web.form_state import FormState, Option
from app.web.forms import Sent
from app.web.pages.words import Fact
from app.web.rendering import Page, see_saved, show
from app.web.routes import path_to
from app.web.visits import Here, Visit
from app.wording import cautions, holding, orders
from app.wording import corrections as words
from app.wording import jobs as job_words
from app.wording.moments import day, moment
from app.wording.translation import _

FIELDS = ("text", "part", "method", "instruction", "done_by", "done_on", "supersedes")
ASKED = ("agreed", "agreed_by")
"""Where the correction is not ordered."""
INSTEAD = "instead"


@dataclass(frozen=True, slots=True)
class Noted:
    """A correction that stands."""

    head: str
    words: str
    put_right: str
    """Where its words can be put right."""


@dataclass(frozen=True, kw_only=True)
class CorrectionPage(Page):
    template: ClassVar[str] = "pages/correction.html"
    on_the_floor: ClassVar[bool] = True
    number: str
    cautions: tuple[str, ...]
    doubt: Doubt | None
    """What the last measurement cannot tell apart."""
    holds: tuple[str, ...]
    """What is on hold, and what that means for the work."""
    ordered: str
    """What is ordered, in words."""
    word_needed: str
    """Why the customer's word is needed first; empty where a correction is ordered."""
    parts: tuple[Option, ...]
    methods: tuple[Option, ...]
    noted: tuple[Noted, ...]


@pages.add("GET", "/jobs/{number}/correction", "corrections.write")
def note_correction_form(request: Request, visit: Here, session: Read, number: str) -> Response:
    """The form; with the number of an earlier correction, filled in to put that right."""
    asked = request.query_params.get(INSTEAD, "")
    found = jobs.read(session, visit.person, number).corrections
    state = FormState(values_of(found, asked)) if asked else FormState()
    return show(request, visit, page_for(session, visit, number, state))


@pages.add("POST", "/jobs/{number}/correction", "corrections.write")
def note_correction(
    request: Request, visit: Here, session: Write, form: Sent, number: str
) -> Response:
    """Notes it."""

    def again(state: FormState) -> Page:
        return page_for(session, visit, number, state)

    with shown_again(request, visit, form.values(), again, (*FIELDS, *ASKED)):
        text = typed(form.text("text"), "text")
        sent = checked(CorrectionIn, {**{name: form.text(name) for name in FIELDS}, "text": text})
        agreed, by = bool(form.text("agreed")), form.text("agreed_by")
        corrections_ordered.note(session, visit.person, number, sent, agreed, by, visit.now)
    return see_saved(request, "job", number=number)


def values_of(found: tuple[CorrectionView, ...], asked: str) -> dict[str, str]:
    """An earlier correction as values of the form. Raises NotFound."""
    one = next((one for one in found if str(one.id) == asked), None)
    if one is None:
        raise NotFound("no_such_correction", None, met=asked[:40])
    return {
        "text": one.text,
        "part": one.part or "",
        "method": one.method or "",
        "instruction": one.instruction or "",
        "done_by": one.done_by or "",
        "done_on": one.done_on.isoformat() if one.done_on else "",
        "supersedes": asked,
    }


def page_for(session: Session, visit: Visit, number: str, state: FormState) -> CorrectionPage:
    """The form, below what must be known before anything is pulled."""
    found = jobs.read(session, visit.person, number)
    right = bool(state.value("supersedes"))
    needed = None if right else corrections_ordered.word_needed(session, visit.person, found)
    ordered = found.authorised_scope or _("not stated")
    return CorrectionPage(
        title=_("Put a correction right") if right else _("Note a correction"),
        form=state,
        number=number,
        cautions=tuple(cautions.before_correction()),
        doubt=standing_doubt(session, visit.person, found),
        holds=holds_of(found),
        ordered=ordered,
        word_needed=orders.word_needed(needed, ordered) if needed else "",
        parts=(Option("", _("not said")), *(Option(code, words.part(code)) for code in PARTS)),
        methods=(
            Option("", _("not said")),
            *(Option(code, words.method(code)) for code in METHODS),
        ),
        noted=tuple(noted_of(number, one) for one in found.corrections),
    )


def holds_of(found: JobView) -> tuple[str, ...]:
    """The open holds, each with what it means for a correction."""
    return tuple(
        holding.before_correction(
            job_words.item(one.item), one.note or "", frame=one.item in FRAME_HOLD_ITEMS
        )
        for one in found.holds
        if one.closed_at is None
    )


def noted_of(number: str, one: CorrectionView) -> Noted:
    """A correction in words, with the way to put it right."""
    place = path_to("note_correction_form", {INSTEAD: str(one.id)}, number=number)
    fact = fact_of(one)
    return Noted(fact.label, fact.value, place)


def fact_of(one: CorrectionView) -> Fact:
    """A correction in two texts: when and by whom, and what was done."""
    noted = _("noted on {moment}").format(moment=moment(one.done_at))
    when = day(one.done_on) if one.done_on else noted
    how = ", ".join(filter(None, [words.part(one.part or ""), words.method(one.method or "")]))
    said = f"{how}: {one.text}" if how else one.text
    followed = _("maker's instruction: {words}").format(words=one.instruction or "")
    label = " · ".join(filter(None, [when, one.done_by or one.by]))
    return Fact(label, f"{said} ({followed})" if one.instruction else said)
