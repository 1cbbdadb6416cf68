"""What is done at a step: readings taken and taken back, the measurement paused and taken up.

The page's script sends the same forms and asks for JSON. Every form carries a request key, so
that one whose answer was lost can be sent again and is stored once.
"""

import json
from collections.abc import Mapping
from contextlib import AbstractContextManager, suppress

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import JSONResponse, Response

from app.errors import BadInput, JigbookError, NotFound, Problem
from app.records.session import Database
from app.services import floor
from app.services.floor_views import Done, FloorView, StepView
from app.web.again import TOLD_ON_THE_FORM, ShownAgain, shown_again
from app.web.by_script import refused, wants_json
from app.web.database import Write
from app.web.decimals import numbers_in, readings_in
from app.web.door import floor_pages
from app.web.form_state import FormState
from app.web.forms import Form, Sent, nested
from app.web.pages.floor_beside import GONE
from app.web.pages.floor_step import PIECES, FloorStepPage, page_for
from app.web.pages.floor_told import repeat_sentence
from app.web.pages.heading import stated_up
from app.web.pages.step_rows import (
    NUMBERS,
    READING,
    fields_of,
    first_field,
    readings_in_rows,
    rows_text,
)
from app.web.rendering import see
from app.web.routes import path_to
from app.web.visits import Here, Visit
from app.web.writing_visits import before_writing

SIDES = ("left", "right")
MOST_TARGETS = 3
STEP = "/jobs/{number}/drafts/{draft}/steps/{step}"
DRAFT = "/jobs/{number}/drafts/{draft}"


def look_ahead(
    database: Database,
    visit: Visit,
    form: Form,
    number: str,
    draft: int,
    step: str,
    **_more: object,
) -> None:
    """What was measured again is looked at before the write lock is taken; what is wrong with the
    form is told when it is stored."""
    if not floor.measures_again(step):
        return
    with suppress(JigbookError), database.read() as session:
        found = floor.road(session, visit.person, number, draft).step(step)
        if found is not None and found.feature is not None:
            readings = readings_of(form, found)
            floor.look_ahead(session, visit.person, number, draft, step, readings)


@floor_pages.add("POST", STEP, "drafts.write")
@before_writing(look_ahead)
def take_step(
    request: Request,
    visit: Here,
    session: Write,
    form: Sent,
    number: str,
    draft: int,
    step: str,
) -> Response:
    """Stores what a step asks for: its readings, or what the step itself says."""
    if wants_json(request):
        return taken_by_script(session, visit, form, number, draft, step)
    with shown_again(
        request,
        visit,
        form.values(),
        lambda state: again(session, visit, number, draft, step, state),
        fields_of(form),
        first_field(form),
    ):
        done = stored(session, visit, form, number, draft, step)
    return see_next(number, draft, step, done)


def taken_by_script(
    session: Session, visit: Visit, form: Form, number: str, draft: int, step: str
) -> Response:
    """The same, answered for the script. Raises ShownAgain with what is wrong."""
    try:
        done = stored(session, visit, form, number, draft, step)
    except TOLD_ON_THE_FORM as error:
        raise ShownAgain(refused_to_script(form, error)) from error
    return JSONResponse(
        {
            "saved": True,
            "again": done.again,
            "version": done.version,
            "plausible": done.plausible,
            "told": told_to_script(session, visit, number, done),
            "next": next_path(number, draft, step, done),
        }
    )


def told_to_script(session: Session, visit: Visit, number: str, done: Done) -> list[str]:
    """What was noticed; and that somebody else had read the same point, also of what waited."""
    told = [one.sentence for one in done.told]
    if not done.repeats:
        return told
    view = floor.road(session, visit.person, number, done.draft_id)
    return [*told, repeat_sentence(view, str(done.points[-1]))]


def refused_to_script(form: Form, error: JigbookError) -> Response:
    """What is wrong, as JSON with the same words."""
    return refused(form.values(), error, fields_of(form), first_field(form))


def see_next(number: str, draft: int, step: str, done: Done) -> Response:
    """Go and see the next step; this one again where something is wrong with what came."""
    return see_at(next_path(number, draft, step, done))


def see_at(path: str) -> Response:
    answer = see("today")
    answer.headers["location"] = path
    return answer


def next_path(number: str, draft: int, step: str, done: Done) -> str:
    """Where the road goes on, with the point to read back."""
    query = {"taken": str(done.points[-1])} if done.points else None
    there = step if not done.plausible else done.next_step
    if there is None:
        return path_to("draft", query, number=number, draft=draft)
    return path_to("floor_step", query, number=number, draft=draft, step=there)


def again(
    session: Session, visit: Visit, number: str, draft: int, step: str, state: FormState
) -> FloorStepPage:
    """The step with what was filled in. Its key stays: nothing was stored under it."""
    known = page_for(session, visit, number, draft, step, None).form
    filled = FormState({**known.values, **state.values}, state.errors)
    return page_for(session, visit, number, draft, step, filled)


def stored(session: Session, visit: Visit, form: Form, number: str, draft: int, code: str) -> Done:
    """Stores the form by what the step is. Raises NotFound `no_such_step`."""
    known = floor.stand(session, visit.person, number, draft)
    view = floor.road(session, visit.person, number, draft, known)
    step = view.step(code)
    if step is None:
        raise NotFound("no_such_step", None, met=code)
    key = form.text("request_key") or None
    if step.feature is None:
        return floor.record(
            session, visit.person, number, draft, code, pieces_of(form, step, view), key,
            visit.now, seen_of(form),
        )  # fmt: skip
    readings = readings_of(form, step)
    return floor.take(session, visit.person, number, draft, code, readings, key, visit.now, known)


def readings_of(form: Form, step: StepView) -> list[dict[str, object]]:
    """What was sent: a file, pasted rows, or the reading that was typed."""
    text = rows_text(form)
    return readings_in_rows(text, step) if text else [typed(form)]


def typed(form: Form) -> dict[str, object]:
    """One reading: numbers, and beside them what was typed."""
    own = [(key, value) for key, value in form.fields if key.startswith(READING)]
    sent = nested(own).get("readings")
    first = sent[0] if isinstance(sent, list) and sent and isinstance(sent[0], dict) else {}
    replaced = first.get("supersedes", "")
    # What takes a reading's place is of the same target, whatever the form shows by now.
    names = NUMBERS if replaced else (*NUMBERS, "name")
    values = {name: first.get(name, "") for name in names}
    read = readings_in(values, NUMBERS, READING)
    missing = [Problem("number_empty", READING + name) for name in "xyz" if name not in read]
    if missing:
        raise BadInput(missing, missing[0].code)
    kept = {key: value for key, value in read.items() if value != ""}
    written = {name: form.text(READING + name) for name in NUMBERS if form.text(READING + name)}
    return {**kept, **replacing(replaced), "as_entered": written}


def replacing(replaced: object) -> dict[str, object]:
    """The reading whose place is taken, as the service takes it."""
    if not isinstance(replaced, str) or not replaced:
        return {}
    if not (replaced.isascii() and replaced.isdecimal() and len(replaced) < 10 and int(replaced)):
        facts = {"met": replaced[:40]}
        raise BadInput([Problem("no_such_point", "readings.0.supersedes", facts)], "no_such_point")
    return {"supersedes": int(replaced)}


def pieces_of(form: Form, step: StepView, view: FloorView) -> dict[str, object]:
    """What a step without points says. Raises BadInput for what is no number."""
    if step.kind == "mounting":
        return mounting_of(form)
    if step.kind == "temperature":
        name = "part_temperature_c"
        read = numbers_in({name: form.text(name)}, [name])
        return {
            name: read.get(name),
            "after_ride_in": bool(form.text("after_ride_in")),
        }
    if step.kind == "adjusters":
        return {"chain_adjusters": sides_of(form, "chain_adjusters")}
    if step.kind == "fork_runout":
        return {"fork_runout_mm": sides_of(form, "fork_runout_mm")}
    return rig_of(form, view) if step.kind == "rig" else {}


def mounting_of(form: Form) -> dict[str, object]:
    """How the machine stands, and which way is up: both are said. Raises BadInput."""
    missing = [] if form.text("mounting") else [Problem("text_empty", "mounting")]
    try:
        up = stated_up(form)
    except BadInput as error:
        raise BadInput([*missing, *error.problems], error.code) from None
    if missing:
        raise BadInput(missing, missing[0].code)
    return {"mounting": form.text("mounting"), "up": up}


def sides_of(form: Form, name: str) -> dict[str, object] | None:
    """Left and right as far as they were filled in."""
    values = {side: form.text(f"{name}.{side}") for side in SIDES}
    return numbers_in(values, SIDES, f"{name}.") or None


def rig_of(form: Form, view: FloorView) -> dict[str, object]:
    """Names of the targets, and their calibrated distance where it is known."""
    given = [form.text(f"targets.{index}") for index in range(MOST_TARGETS)]
    names = [name for name in given if name] or list(view.targets)
    distance = numbers_in(
        {"spacing": form.text("spacing"), "spacing_u": form.text("spacing_u")},
        ["spacing", "spacing_u"],
    )
    rig = dict(known_rig(view))
    if "spacing" in distance and len(names) > 1:
        between = [*names[:2], distance["spacing"], distance.get("spacing_u")]
        if between[-1] is None:
            problem = Problem("number_empty", "spacing_u")
            raise BadInput([problem], problem.code)
        rig["target_spacing_mm"] = [between]
    else:
        rig.pop("target_spacing_mm", None)
    return {"targets": names, "rig": rig or None}


def known_rig(view: FloorView) -> Mapping[str, object]:
    """What is on record of the rig besides: a program may have set it."""
    rig = view.draft.header.get("rig")
    return rig if isinstance(rig, dict) else {}


def seen_of(form: Form) -> dict[str, object] | None:
    """What the page showed of the pieces. What is not ours to read counts as nothing seen."""
    try:
        seen = json.loads(form.text("seen") or "null")
    except ValueError:
        return None
    known = {name for names in PIECES.values() for name in names} | {"targets"}
    return {k: v for k, v in seen.items() if k in known} if isinstance(seen, dict) else None


def step_shown_again(
    request: Request, visit: Visit, session: Session, number: str, draft: int, step: str
) -> AbstractContextManager[None]:
    """Where an act without fields of its own is refused, its step says why."""
    return shown_again(
        request, visit, {}, lambda state: again(session, visit, number, draft, step, state)
    )


@floor_pages.add("POST", STEP + "/undo", "drafts.write")
def undo_at_step(
    request: Request,
    visit: Here,
    session: Write,
    form: Sent,
    number: str,
    draft: int,
    step: str,
) -> Response:
    """Takes a point back, and goes to its step; it stays on record, struck through."""
    with step_shown_again(request, visit, session, number, draft, step):
        if form.text("all"):
            gone = undo_all(session, visit, number, draft, step)
            return see("floor_step", {GONE: gone}, number=number, draft=draft, step=step)
        chosen = form.text("point")
        point = int(chosen) if chosen.isascii() and chosen.isdecimal() and len(chosen) < 10 else 0
        key = form.text("request_key") or None
        done = floor.undo(session, visit.person, number, draft, point, key, visit.now)
    there = done.next_step or step
    return see("floor_step", {GONE: str(point)}, number=number, draft=draft, step=there)


def undo_all(session: Session, visit: Visit, number: str, draft: int, code: str) -> str:
    """Takes all points of a step back, and gives their ids. Sent twice it finds none left, so that
    it needs no key."""
    step = floor.road(session, visit.person, number, draft).step(code)
    if step is None:
        raise NotFound("no_such_step", None, met=code)
    for point in step.points:
        floor.undo(session, visit.person, number, draft, point.id, None, visit.now)
    return ",".join(str(point.id) for point in step.points)


@floor_pages.add("POST", STEP + "/aim", "drafts.write")
def aim_at_step(
    request: Request,
    visit: Here,
    session: Write,
    form: Sent,
    number: str,
    draft: int,
    step: str,
) -> Response:
    """Points that an instrument sends go to this step from now on; or to none."""
    there = step if form.text("live") else None
    with step_shown_again(request, visit, session, number, draft, step):
        floor.aim(session, visit.person, number, draft, there, visit.now)
    return see("floor_step", number=number, draft=draft, step=step)


@floor_pages.add("POST", STEP + "/pause", "drafts.write")
def pause_draft(
    request: Request,
    visit: Here,
    session: Write,
    form: Sent,
    number: str,
    draft: int,
    step: str,
) -> Response:
    """Lets the measurement rest, once somebody has said yes to what is then measured again."""
    with step_shown_again(request, visit, session, number, draft, step):
        if not form.text("sure"):
            return see("floor_step", {"pause": "ask"}, number=number, draft=draft, step=step)
        key = form.text("request_key") or None
        floor.pause(session, visit.person, number, draft, key, visit.now)
    return see("floor_step", number=number, draft=draft, step=step)


@floor_pages.add("POST", STEP + "/resume", "drafts.write")
def resume_draft(
    request: Request,
    visit: Here,
    session: Write,
    form: Sent,
    number: str,
    draft: int,
    step: str,
) -> Response:
    """Takes the measurement up again, where its datum is measured again first."""
    with step_shown_again(request, visit, session, number, draft, step):
        key = form.text("request_key") or None
        untouched = bool(form.text("untouched"))
        view = floor.resume(session, visit.person, number, draft, key, visit.now, untouched)
    return see("floor_step", number=number, draft=draft, step=view.current or step)


@floor_pages.add("POST", STEP + "/restart", "drafts.write")
def restart_draft(
    request: Request,
    visit: Here,
    session: Write,
    form: Sent,
    number: str,
    draft: int,
    step: str,
) -> Response:
    """After the set-up moved: puts away what it spoiled, and begins there again."""
    with step_shown_again(request, visit, session, number, draft, step):
        scope = form.text("scope")
        if scope not in ("steering", "everything"):
            raise NotFound("no_such_step", None, met=scope)
        key = form.text("request_key") or None
        view = floor.restart_after_move(session, visit.person, number, draft, scope, key, visit.now)
    return see("floor_step", number=number, draft=draft, step=view.current or step)
