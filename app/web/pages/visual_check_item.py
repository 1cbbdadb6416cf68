"""One item of the visual check on one screen: three answers, where, what, and photos of it."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.errors import BadInput, NotFound, Problem
from app.schemas.photo import about_item
from app.schemas.reading import checked
from app.schemas.visual_check import HOLD_ITEMS, ITEMS, SINCE_SEEN, VisualCheckIn
from app.services import photos, visual_checks
from app.services.photos import PhotoView
from app.services.prepared_photo import PreparedPhoto
from app.services.visual_check_views import VisualCheckView
from app.web.by_script import gone_on, told_back
from app.web.database import Read, Records
from app.web.door import pages
from app.web.form_state import FormState, Option
from app.web.forms import Form, Sent
from app.web.pages.photos import Shot, capital, shot_of
from app.web.pages.seen import history_of
from app.web.pages.visual_check import TAPS, Check, answered_by, check_of
from app.web.rendering import Page, show
from app.web.routes import path_to
from app.web.sent_photos import FIELD, prepared_from
from app.web.visits import Here, Visit
from app.wording import cautions
from app.wording import jobs as words
from app.wording import visual_check as since_words
from app.wording.moments import moment
from app.wording.translation import _

ONE = "/jobs/{number}/visual-check/{item}"
FIELDS = ("answer", "place", "note", FIELD, "since_seen", "since_words")


@dataclass(frozen=True, kw_only=True)
class VisualCheckItemPage(Page):
    template: ClassVar[str] = "pages/visual_check_item.html"
    on_the_floor: ClassVar[bool] = True
    number: str
    item: str
    part: str
    where_in_the_list: str
    caution: str
    """What follows when it is seen; empty where nothing more does."""
    standing: str
    """The answer on record, with when and by whom; empty while nobody gave one."""
    taps: tuple[Option, ...]
    """Answers that need no more than one tap."""
    seen: bool
    """The answer on record."""
    since: tuple[Option, ...]
    """What may have been done about it since it was seen."""
    history: tuple[str, ...]
    """When it was seen before, what was done, what is seen now; nothing where it never was."""
    places: tuple[Option, ...]
    shots: tuple[Shot, ...]
    onward: str
    """Where the check goes on."""
    last: bool
    """Whether no other item is open."""


@dataclass(frozen=True, slots=True)
class Item:
    """What the page shows, read once, so that a refused form can be shown again."""

    check: Check
    code: str
    photos: tuple[PhotoView, ...]

    @property
    def answer(self) -> VisualCheckView:
        return answered_by(self.check.answers, self.code)


@pages.add("GET", ONE, "visual_checks.write")
def visual_check_item(
    request: Request, visit: Here, session: Read, number: str, item: str
) -> Response:
    """The item with its latest answer."""
    found = item_of(session, visit, number, item)
    return show(request, visit, page_for(found, FormState(values_of(found.answer))))


@pages.add("POST", ONE, "visual_checks.write")
def answer_item(
    request: Request, visit: Here, database: Records, form: Sent, number: str, item: str
) -> Response:
    """Takes the answer with its photos; these are made ready before the write lock is taken."""
    with database.read() as session:
        found = item_of(session, visit, number, item)
    values = {**form.values(), "place": places_sent(form)}
    with told_back(request, visit, values, lambda s: page_for(found, s), FIELDS, "answer"):
        prepared = prepared_from(request, form)
        given = answer_in(form, found, prepared)
        with database.write() as session:
            visual_checks.answer(session, visit.person, number, [given], visit.now)
            about = about_item(item)
            photos.add_all(session, visit.person, number, prepared, about, None, visit.now)
    return gone_on(request, place_after(found))


def item_of(session: Session, visit: Visit, number: str, item: str) -> Item:
    """The item with the whole check and its own photos. Raises NotFound."""
    check = check_of(session, visit.person, number)
    if item not in ITEMS:
        raise NotFound("no_such_item", None, met=item[:40])
    shown = photos.listing(session, visit.person, number)
    of_it = tuple(one for one in shown if one.stands and one.about == about_item(item))
    return Item(check, item, of_it)


def places_sent(form: Form) -> str:
    """The places that were ticked, as they are kept."""
    return ", ".join(filter(None, form.all("place")))


def answer_in(form: Form, found: Item, prepared: tuple[PreparedPhoto, ...]) -> VisualCheckIn:
    """The answer. Raises BadInput, also when something was seen and nobody could find it again."""
    place, note = places_sent(form), form.text("note")
    sent = {"item": found.code, "answer": form.text("answer"), "place": place, "note": note}
    sent |= {name: form.text(name) for name in ("since_seen", "since_words")}
    if not sent["answer"]:
        raise BadInput([Problem("nothing_answered", "answer")], "nothing_answered")
    given = checked(VisualCheckIn, sent)
    if given.answer == "seen" and not (place or note or prepared or found.photos):
        facts = {"item": capital(words.item(found.code))}
        raise BadInput([Problem("seen_without_note", "place", facts)], "seen_without_note")
    return given


def next_open(found: Item) -> str | None:
    """The first item after this one that nobody has answered, else the first of all of them."""
    left = [item for item in found.check.open_items if item != found.code]
    after = [item for item in left if ITEMS.index(item) > ITEMS.index(found.code)]
    return next(iter(after or left), None)


def place_after(found: Item) -> str:
    """Where the check goes on once this item is answered: the next one, else the whole list."""
    number, following = found.check.job.number, next_open(found)
    if following is None:
        return path_to("visual_check_form", number=number)
    return path_to("visual_check_item", number=number, item=following)


def values_of(standing: VisualCheckView) -> dict[str, str]:
    """What is on record, as values of the form."""
    return {"place": standing.place or "", "note": standing.note or ""}


def answer_option(standing: VisualCheckView, code: str) -> Option:
    """An answer as a button; the one on record is marked."""
    chosen = standing.checked_at is not None and standing.answer == code
    return Option(code, capital(words.answer(code)), chosen)


def page_for(found: Item, state: FormState) -> VisualCheckItemPage:
    """One item in words."""
    number, code = found.check.job.number, found.code
    place = _("{n} of {count}").format(n=ITEMS.index(code) + 1, count=len(ITEMS))
    return VisualCheckItemPage(
        title=capital(words.item(code)),
        form=state,
        number=number,
        item=code,
        part=words.item_group(code),
        where_in_the_list=place,
        caution=caution_of(code),
        standing=standing_words(found.answer),
        taps=tuple(answer_option(found.answer, one) for one in TAPS),
        seen=found.answer.answer == "seen",
        since=tuple(Option(one, since_words.choice(one)) for one in SINCE_SEEN),
        history=history_of(found.answer),
        places=places_for(code, state.value("place")),
        shots=tuple(shot_of(number, one) for one in found.photos),
        onward=place_after(found),
        last=next_open(found) is None,
    )


def caution_of(code: str) -> str:
    """What it means when this is seen."""
    if code in HOLD_ITEMS:
        hold = _("Seen, it opens a hold that no finding hides.")
        return f"{cautions.everywhere()[1]} {hold}"
    if code == "frame_paint":
        return _("Metal that stretched throws its paint off: look there for cracks and wrinkles.")
    return ""


def standing_words(standing: VisualCheckView) -> str:
    """The answer on record."""
    if standing.checked_at is None:
        return ""
    parts = [words.answer(standing.answer), moment(standing.checked_at), standing.checked_by]
    return " · ".join(filter(None, parts))


def places_for(code: str, chosen: str) -> tuple[Option, ...]:
    """Places to tick; one that was kept and is in no list is shown as well."""
    ticked = [part for part in chosen.split(", ") if part]
    listed = words.item_places(code)
    further = tuple(place for place in ticked if place not in listed)
    return tuple(Option(place, place, place in ticked) for place in (*listed, *further))
