"""The visual check: what is looked for on a crashed machine, answered item by item."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.errors import BadInput, Problem
from app.schemas.reading import checked
from app.schemas.visual_check import HOLD_ITEMS, ITEMS, VisualCheckIn
from app.services import visual_checks
from app.services.visual_checks import VisualCheckView
from app.web.again import shown_again
from app.web.database import Read, Write
from app.web.door import pages
from app.web.form_state import FormState, Option
from app.web.forms import Form, Sent
from app.web.rendering import Page, see, show
from app.web.visits import Here, Visit
from app.wording import cautions
from app.wording import jobs as words
from app.wording.translation import _

PARTS = ("answer", "note")


@dataclass(frozen=True, slots=True)
class Row:
    """One item of the check."""

    code: str
    name: str
    holds: bool
    """Seen, it means replacement and opens a hold."""


@dataclass(frozen=True, kw_only=True)
class VisualCheckPage(Page):
    template: ClassVar[str] = "pages/visual_check.html"
    on_the_floor: ClassVar[bool] = True
    number: str
    caution: str
    rows: tuple[Row, ...]
    answers: tuple[Option, ...]


@pages.add("GET", "/jobs/{number}/visual-check", "visual_checks.write")
def visual_check_form(request: Request, visit: Here, session: Read, number: str) -> Response:
    """The list with the latest answers."""
    standing = visual_checks.listing(session, visit.person, number)
    return show(request, visit, page_for(number, FormState(values_of(standing))))


@pages.add("POST", "/jobs/{number}/visual-check", "visual_checks.write")
def visual_check(
    request: Request, visit: Here, session: Write, form: Sent, number: str
) -> Response:
    """Adds what was answered anew; what is as it stood is not said twice."""
    with shown_again(request, visit, form.values(), lambda state: page_for(number, state)):
        checks = changed(session, visit, number, form)
        visual_checks.answer(session, visit.person, number, checks, visit.now)
    return see("job", number=number)


def changed(session: Session, visit: Visit, number: str, form: Form) -> list[VisualCheckIn]:
    """The answers that differ from those on record. Raises BadInput with every problem."""
    before = values_of(visual_checks.listing(session, visit.person, number))
    found: list[VisualCheckIn] = []
    problems: list[Problem] = []
    for item in ITEMS:
        sent = {part: form.text(f"{item}.{part}") for part in PARTS}
        if not any(sent.values()) or all(
            sent[part] == before.get(f"{item}.{part}", "") for part in PARTS
        ):
            continue
        if sent["answer"] == "seen" and not sent["note"]:
            problems.append(seen_without_note(item))
            continue
        try:
            found.append(checked(VisualCheckIn, {"item": item, **sent}))
        except BadInput as error:
            problems += [Problem(p.code, f"{item}.{p.field}", p.facts) for p in error.problems]
    if not problems and not found:
        problems.append(Problem("nothing_answered", f"{ITEMS[0]}.answer"))
    if problems:
        raise BadInput(problems, problems[0].code)
    return found


def seen_without_note(item: str) -> Problem:
    """Damage that was seen is of no use to anybody who cannot find it again."""
    return Problem("seen_without_note", f"{item}.note", {"item": words.item(item)})


def values_of(standing: tuple[VisualCheckView, ...]) -> dict[str, str]:
    """The answers on record as values of the form; what nobody answered stays open."""
    values: dict[str, str] = {}
    for one in standing:
        if one.checked_at:
            values[f"{one.item}.answer"] = one.answer
            values[f"{one.item}.note"] = one.note or ""
    return values


def page_for(number: str, state: FormState) -> VisualCheckPage:
    """The list in the order of a walk round the machine."""
    return VisualCheckPage(
        title=_("Visual check"),
        form=state,
        number=number,
        caution=cautions.everywhere()[1],
        rows=tuple(Row(code, words.item(code), code in HOLD_ITEMS) for code in ITEMS),
        answers=tuple(Option(code, words.answer(code)) for code in words.ANSWERS),
    )
