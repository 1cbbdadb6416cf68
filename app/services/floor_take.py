"""Readings taken at a step of the floor, and what is remembered of a draft from one to the next."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy.orm import Session

from app.chassis.progress import Progress
from app.errors import Conflict, NotFound
from app.records.tables import Draft, Job
from app.records.tables import DraftPoint as PointRow
from app.schemas.floor import ReadingIn, ReadingsIn
from app.schemas.reading import checked
from app.services import audit, drafts, floor_acts, floor_road, floor_told
from app.services.draft_views import with_new
from app.services.floor_acts import Earlier
from app.services.floor_memory import Memory, Met, Stand, met
from app.services.floor_points import points_of
from app.services.floor_road import Road
from app.services.floor_told import Taken
from app.services.floor_views import Done, FloorView
from app.services.permissions import Actor, require


@dataclass(frozen=True, slots=True)
class Seen:
    """A draft after its last change: its steps, and these as the page shows them."""

    road: Road
    view: FloorView
    taken: Taken | None = None
    """The points as the engine takes them, once they were looked at."""


SEEN: Memory[Seen] = Memory()


def take(
    session: Session,
    actor: Actor,
    number: str,
    draft_id: int,
    step: str | None,
    readings: Sequence[Mapping[str, object]],
    request_key: str | None,
    now: datetime,
    known: Met | None = None,
) -> Done:
    """Stores the readings of a step, all or none of them. known: the draft's records, where nothing
    was written since they were read.

    A reading is `x`, `y`, `z` and, if known, `u`, `offset`, `cov`, `as_entered`, `name` (the target
    that it is of; the next missing one unless told), `supersedes` (id of the point that it
    replaces). step None: where live points go. Raises NotFound `no_such_step`, BadInput, Conflict
    `draft_not_open`, `job_closed`, `draft_paused`, `request_key_reused`, `no_live_step`,
    `step_takes_no_points`, `step_complete`.
    """
    require(actor, "drafts.write")
    found = known or met(session, actor, number, draft_id)
    job, draft = found.job, found.draft
    asked = floor_acts.request(request_key, "taken", step, [dict(one) for one in readings])
    act = floor_acts.earlier(session, actor, draft, asked)
    if act is not None:
        return done_before(session, actor, job, draft, act)
    found.require_open()
    sent = checked(ReadingsIn, {"readings": list(readings)}).readings
    before_it = seen(session, actor, number, draft_id, found.stand)
    before = before_it.road
    if before.standing.paused_at is not None:
        raise Conflict("draft_paused", None)
    floor_told.keep_reference(session, job, before.reference)
    floor_told.keep_survey(session, draft, before_it.taken)
    code = step or _live_step(session, actor, draft)
    points = points_of(step_of(before, code), _named(before, sent))
    rows = drafts.add_to(session, actor, job, draft, points, now, before.draft)
    ids = [row.id for row in rows]
    facts: dict[str, audit.Value] = {"points": ids}
    floor_acts.add(session, actor, draft, "taken", code, asked, facts, now)
    after = _after(actor, draft, before, rows)
    if step is None and not unfinished(after, code):
        floor_told.state_of(session, actor, draft).live_step = after.next_measured(code)
    _remember(session, actor, found, before_it, after)
    return done(session, actor, draft, after, code, ids)


def _after(actor: Actor, draft: Draft, before: Road, rows: Sequence[PointRow]) -> Road:
    by = actor.name if actor.person_id is not None else None
    return floor_road.with_points(before, with_new(before.draft, draft, rows, by))


def _remember(session: Session, actor: Actor, found: Met, known: Seen, after: Road) -> None:
    """What comes next is nearly always the page of this draft: it finds all of it ready."""
    job, draft = found.job, found.draft
    state = floor_told.state_of(session, actor, draft)
    view = floor_road.shown(session, actor, job, draft, after, known.view)
    key = found.key_under(state.mark)
    SEEN.put_after_commit(session, key, Seen(after, view, floor_told.survey_of(session, draft)))


def seen(session: Session, actor: Actor, number: str, draft_id: int, found: Stand) -> Seen:
    """Steps and points are read once after each change; the visual check belongs to the job."""

    def read() -> Seen:
        rows = met(session, actor, number, draft_id)
        road = floor_road.read(session, actor, rows.job, rows.draft)
        return Seen(road, floor_road.shown(session, actor, rows.job, rows.draft, road))

    return SEEN.recalled(session, found.key_of_view(), read)


def shown_anew(session: Session, actor: Actor, job: Job, draft: Draft) -> FloorView:
    """The road as a change just made it."""
    found = floor_road.read(session, actor, job, draft)
    return floor_road.shown(session, actor, job, draft, found)


def step_of(found: Road, code: str) -> Progress:
    """A step as it stands. Raises NotFound `no_such_step`."""
    one = found.find(code)
    if one is None:
        raise NotFound("no_such_step", None, met=code[:80])
    return one


def _named(found: Road, readings: Sequence[ReadingIn]) -> list[ReadingIn]:
    """What takes a target's place is of that target."""
    labels = {point.id: point.sent.get("label") for point in found.draft.standing}
    return [
        _under(one, labels.get(one.supersedes)) if one.supersedes and not one.name else one
        for one in readings
    ]


def _under(reading: ReadingIn, name: object) -> ReadingIn:
    return reading if name is None else reading.model_copy(update={"name": str(name)})


def _live_step(session: Session, actor: Actor, draft: Draft) -> str:
    state = floor_told.state_row(session, actor, draft)
    if state is None or state.live_step is None:
        raise Conflict("no_live_step")
    return state.live_step


def done(
    session: Session,
    actor: Actor,
    draft: Draft,
    found: Road,
    code: str | None,
    ids: Sequence[int],
) -> Done:
    """What became of a request, with what was noticed about its points."""
    state = floor_told.state_row(session, actor, draft) if ids else None
    told = floor_road.told_about(found, state.told, ids) if state else ()
    stays = unfinished(found, code) or any(one.asks_again for one in told)
    return Done(
        draft_id=draft.id,
        version=draft.version,
        points=tuple(ids),
        told=told,
        plausible=not any(one.grave for one in told),
        next_step=code if stays else found.next_after(code),
        again=False,
    )


def unfinished(found: Road, code: str | None) -> bool:
    """Whether the step still wants points: then it stays on the screen."""
    one = None if code is None else found.find(code)
    return one is not None and one.state != "done"


def done_before(session: Session, actor: Actor, job: Job, draft: Draft, act: Earlier) -> Done:
    """What became of a request when it came the first time."""
    ids = json.loads(act.facts).get("points", [])
    found = floor_road.read(session, actor, job, draft)
    return replace(done(session, actor, draft, found, act.step, ids), again=True)
