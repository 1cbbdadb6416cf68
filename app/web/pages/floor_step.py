"""One step of a measurement a screen: where to measure, the reading, and one large action."""

import json
import secrets
from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from markupsafe import Markup
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.errors import NotFound
from app.services import floor
from app.services.draft_views import DraftPoint
from app.services.floor_memory import Memory
from app.services.floor_views import FloorView, StepView, Told
from app.services.permissions import allowed
from app.web.database import Read
from app.web.door import floor_pages
from app.web.form_state import FormState, Option
from app.web.kept_pages import KeptPage, kept
from app.web.pages.draft_words import Reading, reading_of
from app.web.pages.floor_beside import GONE, IfEmpty, drawings_to_come, if_empty, taken_back
from app.web.pages.floor_drawing import drawing
from app.web.pages.floor_told import (
    ToldLine,
    is_blamed,
    repeat_sentence,
    step_path,
    told_lines,
    wrong_elsewhere,
    wrong_point,
    wrong_word,
)
from app.web.pages.floor_words import (
    MovedLine,
    PlanLine,
    PointLine,
    by_another,
    moved_line,
    place_of,
    plan_line,
    point_lines,
    points_word,
    repeated,
)
from app.web.pages.heading import OWN, UNKNOWN, stated_options, values_of
from app.web.rendering import Link, Page
from app.web.visits import Here, Visit
from app.wording import labels
from app.wording import steps as words
from app.wording.moments import moment
from app.wording.translation import _

PAGES: Memory[KeptPage] = Memory()
FACES = frozenset({"pivot_face", "axle_face", "head_face", "front_rim", "rear_rim"})
"""Features whose points lie a probe's radius off the surface."""
FORM_OF = {"play": "confirm", "cautions": "confirm"}


@dataclass(frozen=True, slots=True)
class TakenPoint:
    """A point as it is read back."""

    id: int
    reading: Reading
    place: str
    by: str
    """Who took it, where that was somebody else than whoever looks."""


@dataclass(frozen=True, kw_only=True)
class FloorStepPage(Page):
    template: ClassVar[str] = "pages/floor_step.html"
    on_the_floor: ClassVar[bool] = True
    number: str
    draft: int
    step: str
    kind: str
    """`points`, `confirm`, or the kind of a step that has a form of its own."""
    place: str
    group: str
    back: Link | None
    on: Link
    """The step after this one, else the list of all."""
    go_on: Link
    """What the measurement asks for next."""
    following: str
    """Address of the next step that is still to be done, were this one done; empty without one."""
    state: str
    drawing: Markup | None
    drawings_to_come: tuple[Markup, ...]
    """The same for each further target or end of the step, for who goes on without network."""
    drawn_roughly: bool
    to_do: tuple[str, ...]
    cautions: tuple[str, ...]
    points: tuple[PointLine, ...]
    counted: str
    missing: int
    names: tuple[Option, ...]
    faces: bool
    if_empty: IfEmpty
    open: bool
    paused: str
    asked_to_pause: bool
    repeats: tuple[str, ...]
    request_key: str
    seen: str
    told: tuple[ToldLine, ...]
    moved: MovedLine | None
    elsewhere: tuple[Link, ...]
    """Other steps where something implausible stands."""
    taken: TakenPoint | None
    """The point that was just stored, read back in large."""
    taken_is_wrong: bool
    gone: tuple[str, ...]
    """The readings that were just taken back."""
    repeat: str
    """That somebody else had read the point just stored before."""
    wrong: int | None
    """The reading of this step that is to be replaced; the form holds its numbers."""
    wrong_word: str
    asks_again: bool
    """The step is done, and yet had better be measured anew."""
    last_point: int
    saved: str
    points_saved: int
    version: int
    live: bool
    live_here: bool
    plan: PlanLine | None
    plan_shown: bool
    """Before the first point there is nothing to foresee; nor while a reading is implausible."""
    upward: tuple[Option, ...]


@floor_pages.add("GET", "/jobs/{number}/drafts/{draft}/steps/{step}", "drafts.read")
def floor_step(
    request: Request, visit: Here, session: Read, number: str, draft: int, step: str
) -> Response:
    """One step as it stands; nothing is evaluated."""
    taken = request.query_params.get("taken", "")
    stamp, key = floor.stamp(session, visit.person, number, draft), new_key()

    def made() -> FloorStepPage:
        asks = request.query_params.get("pause") == "ask"
        gone = request.query_params.get(GONE, "")
        return page_for(session, visit, number, draft, step, None, taken, key, asks, gone)

    return kept(PAGES, request, visit, session, stamp, key, made)


def page_for(
    session: Session,
    visit: Visit,
    number: str,
    draft: int,
    code: str,
    state: FormState | None,
    taken: str = "",
    request_key: str = "",
    asked_to_pause: bool = False,
    gone: str = "",
) -> FloorStepPage:
    """The page of a step. state: the form as it was filled in; None: as it stands on record."""
    view = floor.road(session, visit.person, number, draft)
    step = view.step(code)
    if step is None:
        raise NotFound("no_such_step", None, met=code)
    codes = [one.code for one in view.steps]
    at = codes.index(code)
    open_draft = view.draft.state == "open" and allowed(visit.person, "drafts.write")
    picture, exact = drawing(view, step, view.nominals)
    wrong = wrong_point(step, taken) if step.feature and open_draft else None
    return FloorStepPage(
        title=words.name(step),
        form=FormState(form_values(view, step, wrong)) if state is None else state,
        number=view.draft.job_number,
        draft=view.draft.id,
        step=code,
        kind="points" if step.feature else FORM_OF.get(step.kind, step.kind),
        place=_("Step {number} of {count}").format(number=at + 1, count=len(codes)),
        group=words.group(step.group),
        back=link_to(view, view.steps[at - 1]) if at else None,
        on=link_to(view, view.steps[at + 1]) if at + 1 < len(codes) else to_overview(view),
        go_on=go_on(view),
        following=following(view, at),
        state=step.state,
        drawing=picture,
        drawings_to_come=drawings_to_come(view, step) if open_draft else (),
        drawn_roughly=not exact,
        to_do=words.to_do(step),
        cautions=cautions_of(view, step),
        points=point_lines(step, visit.person.name),
        counted=points_word(step) if step.feature else "",
        missing=max(0, step.wanted - len(step.points)),
        names=names_of(step),
        faces=step.feature in FACES,
        if_empty=if_empty(view),
        open=open_draft and view.paused_at is None,
        paused=moment(view.paused_at) if view.paused_at and open_draft else "",
        asked_to_pause=asked_to_pause,
        repeats=repeated(view),
        request_key=request_key or new_key(),
        seen=json.dumps(seen_by(view, step)),
        told=told_lines(view, told_here(view, step, taken), code, taken),
        moved=moved_line(view.moved),
        elsewhere=wrong_elsewhere(view, step),
        taken=just_taken(view, taken, visit.person.name),
        taken_is_wrong=is_wrong(view, taken),
        gone=taken_back(view, gone),
        repeat=repeat_sentence(view, taken) if taken else "",
        wrong=wrong.id if wrong else None,
        wrong_word=wrong_word(step),
        asks_again=any(one.asks_again for one in step.told),
        last_point=last_point(view),
        saved=moment(view.saved_at),
        points_saved=len(view.draft.standing),
        version=view.saved_version,
        live=view.live_step is not None,
        live_here=view.live_step == code,
        plan=plan_line(view.plan, view) if view.plan else None,
        plan_shown=bool(view.draft.standing) and not any(one.grave for one in view.told),
        upward=stated_options(),
    )


def cautions_of(view: FloorView, step: StepView) -> tuple[str, ...]:
    """The cautions of a step; at the first one also that nobody has ordered the work."""
    told = [*unsure_lines(view, step), *words.cautions_at(step, view.draft.phase)]
    unsigned = not view.ordered and step.code == view.steps[0].code
    return (words.not_ordered(), *told) if unsigned else tuple(told)


def unsure_lines(view: FloorView, step: StepView) -> list[str]:
    """That nothing says how sure points are: at every step until the first point stands."""
    early = step.group == "before" or step.feature is not None
    line = "" if view.draft.standing or not early else unsure_line(view)
    return [line] if line else []


def unsure_line(view: FloorView) -> str:
    """That nothing says how sure the points are; empty where the instrument or each point does."""
    points = [point.sent for point in view.draft.standing]
    told = points and all(sent.get("u") is not None or sent.get("cov") for sent in points)
    unsure = view.figures.unsure
    return "" if unsure is None or told else words.unsure(unsure)


def new_key() -> str:
    """A key of one request, so that sending it twice stores it once."""
    return secrets.token_urlsafe(12)


def link_to(view: FloorView, step: StepView) -> Link:
    """A step to go to."""
    return Link(words.name(step), step_path(view, step.code))


def to_overview(view: FloorView) -> Link:
    """The list of all steps."""
    from_here = step_path(view, "").removesuffix("/steps/")
    return Link(_("All steps"), from_here)


def go_on(view: FloorView) -> Link:
    """What comes next in the measurement; the list of all steps where nothing is left."""
    step = view.step(view.current) if view.current else None
    return link_to(view, step) if step else to_overview(view)


def following(view: FloorView, at: int) -> str:
    """Where somebody without network goes on: what was fetched ahead may not be done already."""
    later = [one for one in view.steps[at + 1 :] if one.required and one.state != "done"]
    return step_path(view, later[0].code) if later else ""


def names_of(step: StepView) -> tuple[Option, ...]:
    """The targets or ends of a step, those that are still open first."""
    done = [name for name in step.names if name not in step.open_names]
    return tuple(
        Option(name, words.point(step, name) or labels.named(name))
        for name in (*step.open_names, *done)
    )


def form_values(view: FloorView, step: StepView, wrong: DraftPoint | None = None) -> dict[str, str]:
    """What the form holds before anybody typed: what is on record of this step. wrong: a reading
    that is to be replaced, whose numbers are kept to be corrected."""
    header = view.draft.header
    values = values_of(header)
    if step.kind == "mounting" and step.state == "done":
        values["up"] = values["up"] or (OWN if "up.x" in values else UNKNOWN)
    values["readings.0.name"] = step.next_name or ""
    if wrong is not None:
        values.update(numbers_of(wrong))
        values["readings.0.name"] = str(wrong.sent.get("label") or "") if step.names else ""
    for name in ("chain_adjusters", "fork_runout_mm"):
        sides = header.get(name)
        for side in ("left", "right"):
            value = sides.get(side) if isinstance(sides, dict) else None
            values[f"{name}.{side}"] = "" if value is None else f"{value:g}"
    for index, target in enumerate(view.targets):
        values[f"targets.{index}"] = target
    values.update(spacing_values(header.get("rig")))
    return values


def numbers_of(point: DraftPoint) -> dict[str, str]:
    """The numbers of a reading as they were typed."""
    read = {name: point.as_entered.get(name) or point.sent.get(name) for name in "xyz"}
    return {f"readings.0.{name}": "" if v is None else str(v) for name, v in read.items()}


def spacing_values(rig: object) -> dict[str, str]:
    """The calibrated distance of the targets, where one is on record."""
    spacing = rig.get("target_spacing_mm") if isinstance(rig, dict) else None
    if not isinstance(spacing, list | tuple) or not spacing:
        return {}
    _one, _other, distance, uncertainty = spacing[0]
    return {"spacing": f"{distance:g}", "spacing_u": f"{uncertainty:g}"}


PIECES = {
    "mounting": ("mounting", "up"),
    "temperature": ("part_temperature_c", "after_ride_in"),
    "adjusters": ("chain_adjusters",),
    "fork_runout": ("fork_runout_mm",),
    "rig": ("rig",),
}
"""The pieces of the heading that a step sets."""


def seen_by(view: FloorView, step: StepView) -> dict[str, object]:
    """What the page shows of the pieces that it may change."""
    seen = {name: view.draft.header.get(name) for name in PIECES.get(step.kind, ())}
    return {**seen, "targets": list(view.targets)} if step.kind == "rig" else seen


def just_taken(view: FloorView, taken: str, looks: str) -> TakenPoint | None:
    """The point that was just stored, read back in large."""
    return next(
        (
            TakenPoint(point.id, reading_of(point), place_of(point), by_another(point, looks))
            for point in view.draft.standing
            if str(point.id) == taken
        ),
        None,
    )


def told_here(view: FloorView, step: StepView, taken: str) -> list[Told]:
    """What was noticed at this step, and of the point that was just stored at another one."""
    of_taken = [one for one in view.told if taken and taken in map(str, one.points)]
    return [*[one for one in step.told if one not in of_taken], *of_taken]


def is_wrong(view: FloorView, taken: str) -> bool:
    """Whether something grave was noticed about the point that was just stored."""
    return any(
        str(point.id) == taken and is_blamed(view.told, point) for point in view.draft.standing
    )


def last_point(view: FloorView) -> int:
    """Id of the newest point; 0 where there is none."""
    return max((point.id for point in view.draft.points), default=0)
