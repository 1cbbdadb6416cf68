"""The visual check: what is looked for on a crashed machine, and how far the list is answered."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import RedirectResponse, Response

from app.errors import BadInput, Problem
from app.schemas.photo import about_item
from app.schemas.reading import checked
from app.schemas.visual_check import HOLD_ITEMS, ITEMS, VisualCheckIn
from app.services import jobs, photos, second_looks, visual_checks
from app.services.jobs import JobView
from app.services.permissions import Actor, allowed
from app.services.second_looks import Look
from app.services.visual_check_views import VisualCheckView
from app.web.again import shown_again
from app.web.database import Read, Write
from app.web.door import pages
from app.web.form_state import FormState
from app.web.forms import Form, Sent
from app.web.pages.words import machine_name
from app.web.rendering import Link, Page, see_saved, show
from app.web.routes import path_to
from app.web.visits import Here
from app.wording import cautions
from app.wording import jobs as words
from app.wording.moments import moment
from app.wording.translation import _, counted

AGAIN = "again"
TAPS = ("not_seen", "not_checked")
"""Answers that one tap gives; what was seen needs a second one, with where and what."""


@dataclass(frozen=True, slots=True)
class Tap:
    """A button that gives an answer at once."""

    value: str
    label: str
    spoken: str
    """The same with its item, for those who do not see what stands beside it."""
    pressed: bool


@dataclass(frozen=True, slots=True)
class Row:
    """One item of the check."""

    code: str
    name: str
    holds: bool
    """Seen, it means replacement and opens a hold."""
    href: str
    seen: bool
    answered: bool
    taps: tuple[Tap, ...]
    said: str
    """Where, what, and how many photos."""


@dataclass(frozen=True, slots=True)
class Part:
    """The items of one part of the machine."""

    name: str
    rows: tuple[Row, ...]


@dataclass(frozen=True, kw_only=True)
class VisualCheckPage(Page):
    template: ClassVar[str] = "pages/visual_check.html"
    on_the_floor: ClassVar[bool] = True
    number: str
    machine: str
    caution: str
    progress: str
    onward: Link
    """The one thing to do next: the first open item, or on with the job."""
    home: Link
    """On with the job or the measurement, whatever is still open."""
    parts: tuple[Part, ...]
    may_look_again: bool
    """Somebody looked, and not just now."""
    last_look: str
    """When the newest answers were given, and by whom; empty where there are none."""
    second_looks: tuple[str, ...]
    """Looks that changed nothing, the newest first."""


@dataclass(frozen=True, slots=True)
class Check:
    """What the page shows, read once, so that a refused form can be shown again."""

    job: JobView
    answers: tuple[VisualCheckView, ...]
    photos: Counter[str | None]
    """How many stand, by what they show."""
    onward: Link

    @property
    def open_items(self) -> tuple[str, ...]:
        """Items that nobody has answered, in the order of the list."""
        return tuple(one.item for one in self.answers if one.checked_at is None)


@pages.add("GET", "/jobs/{number}/visual-check", "visual_checks.write")
def visual_check_form(request: Request, visit: Here, session: Read, number: str) -> Response:
    """The list with the latest answers."""
    return show(
        request, visit, page_for(check_of(session, visit.person, number), FormState(), visit.now)
    )


@pages.add("POST", "/jobs/{number}/visual-check", "visual_checks.write")
def visual_check(
    request: Request, visit: Here, session: Write, form: Sent, number: str
) -> Response:
    """Takes the answer of one tap, and shows the list where the next item stands; or that
    somebody looked at everything again and found it as it was."""
    found = check_of(session, visit.person, number)
    with shown_again(request, visit, {}, lambda state: page_for(found, state, visit.now)):
        if form.text(AGAIN):
            second_looks.look_again(session, visit.person, number, visit.now)
            return see_saved(request, "visual_check_form", number=number)
        given = tapped(form)
        visual_checks.answer(session, visit.person, number, [given], visit.now)
    below = ITEMS[ITEMS.index(given.item) :][:2][-1]
    place = path_to("visual_check_form", number=number)
    return RedirectResponse(f"{place}#{below}", status_code=303)


def check_of(session: Session, actor: Actor, number: str) -> Check:
    """The job with its answers and photos. Raises NotFound `no_such_job`."""
    job = jobs.read(session, actor, number)
    shown = photos.listing(session, actor, number)
    return Check(
        job=job,
        answers=job.visual_checks,
        photos=Counter(one.about for one in shown if one.stands),
        onward=onward_of(job, actor),
    )


def onward_of(job: JobView, actor: Actor) -> Link:
    """Where the check leads when it is done: back to the measurement that goes on, if any."""
    if job.drafts and allowed(actor, "drafts.read"):
        place = path_to("draft", number=job.number, draft=job.drafts[-1].id)
        return Link(_("Back to the measurement"), place)
    return Link(_("Back to the job"), path_to("job", number=job.number))


def tapped(form: Form) -> VisualCheckIn:
    """The answer of one tap. Raises BadInput when none was given."""
    item, _dot, answer = form.text("tap").partition(".")
    if answer not in TAPS:
        raise BadInput([Problem("nothing_answered", "tap")], "nothing_answered")
    return checked(VisualCheckIn, {"item": item, "answer": answer})


def page_for(found: Check, state: FormState, now: datetime) -> VisualCheckPage:
    """The list in the order of a walk round the machine."""
    left = len(found.open_items)
    progress = counted(
        "{left} of {count} items is open.", "{left} of {count} items are open.", left
    )
    return VisualCheckPage(
        title=_("Visual check"),
        form=state,
        number=found.job.number,
        machine=machine_name(found.job.machine),
        caution=cautions.everywhere()[1],
        progress=progress.format(left=left, count=len(ITEMS)) if left else _("All is answered."),
        onward=next_of(found),
        home=found.onward,
        parts=parts_of(found),
        may_look_again=second_looks.is_due(found.answers, now),
        last_look=last_look(found.answers),
        second_looks=tuple(
            look_words(one) for one in second_looks.second_looks(found.job.visual_answers)
        ),
    )


def last_look(answers: Sequence[VisualCheckView]) -> str:
    """When somebody looked last, and who."""
    looked = [(one.checked_at, one.checked_by) for one in answers if one.answer != "not_checked"]
    times = [(at, by) for at, by in looked if at is not None]
    if not times:
        return ""
    at, by = max(times, key=lambda one: one[0])
    return _("Looked at last: {when}").format(when=", ".join(filter(None, [moment(at), by])))


def look_words(one: Look) -> str:
    """A look that changed nothing."""
    items = counted("{count} item", "{count} items", one.items).format(count=one.items)
    when = ", ".join(filter(None, [moment(one.at), one.by]))
    return _("Looked again, nothing changed: {when} ({items})").format(when=when, items=items)


def next_of(found: Check) -> Link:
    """The first item that is open; when there is none, on with the job."""
    if not found.open_items:
        return found.onward
    first = found.open_items[0]
    label = _("Look for {item}").format(item=words.item(first))
    return Link(label, path_to("visual_check_item", number=found.job.number, item=first))


def parts_of(found: Check) -> tuple[Part, ...]:
    """The rows, under the parts of the machine."""
    rows = [(words.item_group(one.item), row_of(found, one)) for one in found.answers]
    names = dict.fromkeys(name for name, _row in rows)
    return tuple(Part(name, tuple(row for part, row in rows if part == name)) for name in names)


def row_of(found: Check, one: VisualCheckView) -> Row:
    """One item with its buttons."""
    answered = one.checked_at is not None
    name = words.item(one.item)
    return Row(
        code=one.item,
        name=name,
        holds=one.item in HOLD_ITEMS,
        href=path_to("visual_check_item", number=found.job.number, item=one.item),
        seen=answered and one.answer == "seen",
        answered=answered,
        taps=tuple(
            Tap(
                f"{one.item}.{code}",
                words.answer(code),
                f"{name}: {words.answer(code)}",
                answered and one.answer == code,
            )
            for code in TAPS
        ),
        said=said_of(one, found.photos[about_item(one.item)]),
    )


def said_of(one: VisualCheckView, shots: int) -> str:
    """What is on record of an item besides the answer."""
    pictures = counted("{count} photo", "{count} photos", shots).format(count=shots)
    return " · ".join(filter(None, [one.place, one.note, pictures if shots else ""]))


def answered_by(answers: Sequence[VisualCheckView], item: str) -> VisualCheckView:
    """The latest answer of one item."""
    return next(one for one in answers if one.item == item)
