"""One question with one text for an answer: a reason, a name, a note."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any, ClassVar

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.services.permissions import Actor
from app.web.again import shown_again
from app.web.database import Read, Write
from app.web.door import pages
from app.web.form_state import FormState
from app.web.forms import Sent
from app.web.rendering import Page, see, show
from app.web.routes import path_to
from app.web.visits import Here


@dataclass(frozen=True, kw_only=True)
class AskPage(Page):
    template: ClassVar[str] = "pages/ask.html"
    cautions: tuple[str, ...] = ()
    lead: tuple[str, ...]
    """What to know before answering, a sentence each."""
    field: str = "reason"
    label: str
    hint: str = ""
    long: bool = True
    """The answer may have several lines."""
    button: str
    action: str
    back: str
    back_label: str


@dataclass(frozen=True, kw_only=True)
class FloorAskPage(AskPage):
    """The same on the technician's tablet."""

    on_the_floor: ClassVar[bool] = True


@dataclass(frozen=True, kw_only=True, slots=True)
class Words:
    """What a question says, in the reader's language."""

    title: str
    lead: tuple[str, ...]
    label: str
    hint: str = ""
    button: str
    back_label: str = ""
    """What the page is called to which one goes back; empty: by its number."""


def _no_cautions(_known: object) -> tuple[str, ...]:
    return ()


@dataclass(frozen=True, kw_only=True, slots=True)
class Question:
    """What is asked before something is done to a job or a certificate, known by its number."""

    path: str
    name: str
    """The route that acts; the one that asks is called the same with `_form`."""
    action: str
    """A key of the permission table."""
    known: Callable[[Session, Actor, str], object]
    """Raises NotFound where there is nothing to ask about."""
    act: Callable[[Session, Actor, str, str, datetime], object]
    """Takes the number, the answer and the moment."""
    words: Callable[[str], Words]
    back: str
    """The page that is seen afterwards."""
    left_to: str = ""
    """The page that is seen by who does not answer; empty: the same."""
    field: str = "reason"
    long: bool = True
    on_the_floor: bool = False
    cautions: Callable[[Any], tuple[str, ...]] = _no_cautions
    """Takes what is known; said before all else."""

    def page(self, number: str, state: FormState, known: object) -> AskPage:
        """The question as a page, with what was answered to it before."""
        kind = FloorAskPage if self.on_the_floor else AskPage
        words = self.words(number)
        return kind(
            title=words.title,
            form=state,
            cautions=self.cautions(known),
            lead=words.lead,
            field=self.field,
            label=words.label,
            hint=words.hint,
            long=self.long,
            button=words.button,
            action=path_to(self.name, number=number),
            back=path_to(self.left_to or self.back, number=number),
            back_label=words.back_label or number,
        )


def ask_then_act(question: Question) -> None:
    """Adds the two routes of a question: the one that asks and the one that acts."""

    def ask(request: Request, visit: Here, session: Read, number: str) -> Response:
        known = question.known(session, visit.person, number)
        return show(request, visit, question.page(number, FormState(), known))

    def act(request: Request, visit: Here, session: Write, form: Sent, number: str) -> Response:
        def again(state: FormState) -> AskPage:
            return question.page(number, state, question.known(session, visit.person, number))

        with shown_again(request, visit, form.values(), again):
            question.act(session, visit.person, number, form.text(question.field), visit.now)
        return see(question.back, number=number)

    pages.add("GET", question.path, question.action, name=f"{question.name}_form")(ask)
    pages.add("POST", question.path, question.action, name=question.name)(act)
