"""All points of a measurement in progress, and points that none of its steps asks for."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.chassis.survey import FEATURES
from app.errors import BadInput, Conflict
from app.schemas.survey_csv import placed_by_row, rows_from_csv
from app.services import drafts
from app.services.drafts import DraftView
from app.services.permissions import allowed
from app.web.again import shown_again
from app.web.database import Read, Write
from app.web.decimals import readings_in
from app.web.door import pages
from app.web.form_state import FormState, Option
from app.web.forms import Form, Sent, nested
from app.web.pages.draft_words import Reading, reading_of, state_word
from app.web.pages.heading import FIELDS, heading_of, up_options, values_of
from app.web.pages.step_rows import rows_text
from app.web.rendering import Page, see, show
from app.web.visits import Here, Visit
from app.wording import labels
from app.wording.moments import moment
from app.wording.translation import _

READINGS = ("x", "y", "z", "u", "offset")
NAMES = ("feature", "label", "station", "turn")
POINT = "points.0."
FEATURE_ORDER = (
    "pivot", "pivot_face", "steer_target", "head_bore", "head_face", "level_line", "control",
    "pair", "rear_axle", "axle_face", "fork_leg", "front_rim", "rear_rim", "axis",
)  # fmt: skip
"""In the order of a measurement: the datum first."""
assert frozenset(FEATURE_ORDER) == FEATURES


@dataclass(frozen=True, kw_only=True)
class PointsPage(Page):
    template: ClassVar[str] = "pages/draft_points.html"
    on_the_floor: ClassVar[bool] = True
    number: str
    draft: int
    version: str
    open: bool
    """Points can be added, by whoever looks."""
    state: str
    points: tuple[Reading, ...]
    standing: int
    saved: str
    last: Reading | None
    features: tuple[Option, ...]
    turns: tuple[Option, ...]
    upward: tuple[Option, ...]


@pages.add("GET", "/jobs/{number}/drafts/{draft}/points", "drafts.read")
def draft_points(request: Request, visit: Here, session: Read, number: str, draft: int) -> Response:
    """The points as they stand, newest first."""
    found = drafts.read(session, visit.person, number, draft)
    return show(request, visit, page_for(visit, found, FormState(next_values(found))))


@pages.add("POST", "/jobs/{number}/drafts/{draft}/points", "drafts.write")
def add_point(
    request: Request, visit: Here, session: Write, form: Sent, number: str, draft: int
) -> Response:
    """Saves one reading; what was typed is kept beside the number that it stands for."""
    with shown_again(
        request, visit, form.values(), lambda s: reread(session, visit, number, draft, s)
    ):
        drafts.add_points(
            session, visit.person, number, draft, [typed_point(form)], visit.now, version_of(form)
        )
    return see("draft_points", number=number, draft=draft)


@pages.add("POST", "/jobs/{number}/drafts/{draft}/table", "drafts.write")
def add_table(
    request: Request, visit: Here, session: Write, form: Sent, number: str, draft: int
) -> Response:
    """Adds the points of a pasted table, all or none."""
    with shown_again(
        request,
        visit,
        form.values(),
        lambda s: reread(session, visit, number, draft, s),
        (of_table(form),),
        of_table(form),
    ):
        add_rows(session, visit, form, number, draft)
    return see("draft_points", number=number, draft=draft)


def of_table(form: Form) -> str:
    """The field that the rows came in."""
    return "rows" if form.file("rows") else "table"


def add_rows(session: Session, visit: Visit, form: Form, number: str, draft: int) -> None:
    """Adds the rows of a table. Raises BadInput that names every wrong cell by its row."""
    rows = rows_from_csv(rows_text(form))
    points = [point for _line, point in rows]
    version = version_of(form)
    try:
        drafts.add_points(session, visit.person, number, draft, points, visit.now, version)
    except BadInput as error:
        raise placed_by_row(error, rows) from None


@pages.add("POST", "/jobs/{number}/drafts/{draft}/points/{point}/undo", "drafts.write")
def undo_point(
    request: Request, visit: Here, session: Write, form: Sent, number: str, draft: int, point: int
) -> Response:
    """Takes a reading back; it stays on record, struck through."""
    with shown_again(request, visit, {}, lambda s: reread(session, visit, number, draft, s)):
        drafts.undo(session, visit.person, number, draft, visit.now, point, version_of(form))
    return see("draft_points", number=number, draft=draft)


@pages.add("POST", "/jobs/{number}/drafts/{draft}/heading", "drafts.write")
def set_heading(
    request: Request, visit: Here, session: Write, form: Sent, number: str, draft: int
) -> Response:
    """Changes the pieces of the heading that the form shows; all others stay as they are."""
    with shown_again(
        request, visit, form.values(), lambda s: reread(session, visit, number, draft, s), FIELDS
    ):
        typed = heading_of(form, visit)
        pieces = {name: typed.get(name) for name in FIELDS}
        known = drafts.read(session, visit.person, number, draft)
        if not form.text("up") and not values_of(known.header)["up"]:
            # A direction that the form has no word for was not changed by it either.
            del pieces["up"]
        drafts.set_pieces(session, visit.person, number, draft, pieces, visit.now)
    return see("draft_points", number=number, draft=draft)


def typed_point(form: Form) -> dict[str, object]:
    """The reading of the form: numbers, and beside them what was typed."""
    rows = nested((key, value) for key, value in form.fields if key.startswith(POINT)).get("points")
    sent = rows[0] if isinstance(rows, list) and rows and isinstance(rows[0], dict) else {}
    point = readings_in(sent, READINGS, POINT)
    kept = {key: value for key, value in point.items() if value != ""}
    typed = {name: form.text(POINT + name) for name in READINGS if form.text(POINT + name)}
    return {**kept, "as_entered": typed}


def version_of(form: Form) -> int:
    """The version that the page showed. Raises Conflict when the form does not say it."""
    text = form.text("version")
    if not (text.isascii() and text.isdecimal() and len(text) <= 9):
        raise Conflict("draft_changed")
    return int(text)


def reread(session: Session, visit: Visit, number: str, draft: int, state: FormState) -> PointsPage:
    """The page as the records now have it, with the form as it was filled in."""
    found = drafts.read(session, visit.person, number, draft)
    filled = {**next_values(found), **state.values}
    return page_for(visit, found, FormState(filled, state.errors))


def page_for(visit: Visit, found: DraftView, state: FormState) -> PointsPage:
    """The page of a draft."""
    readings = tuple(reading_of(point) for point in found.points)
    standing = [one for one in readings if one.stands]
    return PointsPage(
        title=_("All points"),
        form=state,
        number=found.job_number,
        draft=found.id,
        version=str(found.version),
        open=found.state == "open" and allowed(visit.person, "drafts.write"),
        state=state_word(found.state),
        points=tuple(reversed(readings)),
        standing=len(standing),
        saved=moment(found.changed_at),
        last=standing[-1] if standing else None,
        features=tuple(Option(code, labels.feature(code)) for code in FEATURE_ORDER),
        turns=(
            Option("", _("straight ahead, or not a steering target")),
            Option("left", _("to the left")),
            Option("right", _("to the right")),
        ),
        upward=up_options(),
    )


def next_values(found: DraftView) -> dict[str, str]:
    """The names of the last reading: the next one is most often of the same kind."""
    values = values_of(found.header)
    last = next((point for point in reversed(found.points) if point.stands), None)
    sent: Mapping[str, object] = last.sent if last else {"feature": FEATURE_ORDER[0]}
    names = {POINT + name: str(sent.get(name) or "") for name in NAMES}
    return {**values, **names}
