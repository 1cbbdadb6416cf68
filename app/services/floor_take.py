"""Readings taken at a step of the floor, and what is remembered of a draft from one to the next."""

import json
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cached_property, partial

from sqlalchemy.orm import Session

from app.chassis.progress import Progress
from app.errors import Conflict, JigbookError, NotFound
from app.records.tables import Draft, Job
from app.records.tables import DraftPoint as PointRow
from app.schemas.floor import ReadingIn, ReadingsIn
from app.schemas.reading import checked
from app.services import drafts, floor_acts, floor_ahead, floor_road, floor_told
from app.services.draft_changes import moved_on
from app.services.draft_views import SENT, with_new
from app.services.floor_acts import Earlier
from app.services.floor_memory import Memory, Stand, records, stand
from app.services.floor_points import points_of
from app.services.floor_repeats import read_by_others
from app.services.floor_road import Road, Shown
from app.services.floor_told import Taken
from app.services.floor_views import Done, FloorView, Told
from app.services.permissions import Actor, require


@dataclass(frozen=True)
class Seen:
    """A draft after its last change."""

    road: Road
    show: Callable[[], FloorView]
    """How the page shows it."""
    taken: Taken | None = None
    """The points as the engine takes them, once they were looked at."""

    @cached_property
    def view(self) -> FloorView:
        """Made when somebody looks at it: whoever waits for an answer need not wait for this."""
        return self.show()


SEEN: Memory[Seen] = Memory()
AGAIN = ("again", "return.")
"""How codes of steps begin that measure something again."""


def take(
    session: Session,
    actor: Actor,
    number: str,
    draft_id: int,
    step: str | None,
    readings: Sequence[Mapping[str, object]],
    request_key: str | None,
    now: datetime,
    known: Stand | None = None,
) -> Done:
    """Stores the readings of a step, all or none of them. known: how the draft stands, where
    nothing was written since that was asked.

    A reading is `x`, `y`, `z` and, if known, `u`, `offset`, `cov`, `as_entered`, `name` (the target
    that it is of; the next missing one unless told), `supersedes` (id of the point that it
    replaces). step None: where live points go. Raises NotFound `no_such_step`, BadInput, Conflict
    `draft_not_open`, `job_closed`, `draft_paused`, `request_key_reused`, `no_live_step`,
    `step_takes_no_points`, `step_complete`.
    """
    require(actor, "drafts.write")
    found = known or stand(session, actor, number, draft_id)
    asked = floor_acts.request(request_key, "taken", step, [dict(one) for one in readings])
    act = floor_acts.earlier(session, actor, draft_id, asked)
    if act is not None:
        return done_before(session, actor, *records(session, actor, number, draft_id), act)
    found.require_open(number)
    sent = checked(ReadingsIn, {"readings": list(readings)}).readings
    before_it = seen(session, actor, number, draft_id, found)
    before = before_it.road
    if before.standing.paused_at is not None:
        raise Conflict("draft_paused", None)
    code = step or _live_step(found)
    points = points_of(step_of(before, code), _named(before, sent))
    rows = drafts.add_rows(session, actor, before.draft, points, now)
    ids = [row.id for row in rows]
    after = _after(actor, found, before, rows)
    taken = _taken(session, actor, number, before_it, after)
    told = floor_ahead.noticed(found, points, taken, before.reference)
    live = found.live_step
    if step is None and not unfinished(after, code):
        live = after.next_measured(code)
    mark = moved_on(
        session, actor, number, draft_id, found.version, drafts.ADDED, now,
        {"points": len(rows)}, told=told, live_step=live,
    )  # fmt: skip
    floor_acts.add(session, actor, draft_id, "taken", code, asked, {"points": ids}, now)
    said = floor_road.told_of(after, told)
    show = partial(floor_road.shown_after, Shown(before, before_it.view), after, said, live)
    key = replace(found, mark=mark, version=after.draft.version).key_of_view()
    # What comes next is nearly always the page of this draft: it finds all of it known.
    SEEN.put_after_commit(session, key, Seen(after, show, taken))
    return done(after, code, ids, said)


def measures_again(step: str | None) -> bool:
    """Whether a step may measure something again; None is wherever live points go."""
    return step is None or step.startswith(AGAIN)


def look_ahead(
    session: Session,
    actor: Actor,
    number: str,
    draft_id: int,
    step: str | None,
    readings: Sequence[Mapping[str, object]],
) -> None:
    """Works out what `take` will notice of these readings, where they measure something again;
    stores nothing. What is wrong with them is for `take` to say."""
    if not measures_again(step):
        return
    with suppress(JigbookError):
        require(actor, "drafts.write")
        found = stand(session, actor, number, draft_id)
        found.require_open(number)
        one = step_of(seen(session, actor, number, draft_id, found).road, step or _live_step(found))
        if one.step.repeats:
            _look_ahead(session, actor, number, found, draft_id, one, readings)


def _look_ahead(
    session: Session,
    actor: Actor,
    number: str,
    found: Stand,
    draft_id: int,
    one: Progress,
    readings: Sequence[Mapping[str, object]],
) -> None:
    before = seen(session, actor, number, draft_id, found)
    sent = checked(ReadingsIn, {"readings": list(readings)}).readings
    points = points_of(one, _named(before.road, sent))
    gone = {point.get("supersedes") for point in points}
    standing = [it for it in before.road.draft.standing if it.id not in gone]
    new = [{name: it[name] for name in (*SENT, "cov") if name in it} for it in points]
    # Points that are not stored yet have no number; only their places are looked at.
    after = [*[(it.id, it.sent) for it in standing], *[(-n, it) for n, it in enumerate(new, 1)]]
    taken = floor_told.grown(before.taken, after)
    if taken is None:
        job, draft = records(session, actor, number, draft_id)
        taken = floor_told.taken_from(session, actor, job, draft, after)
    floor_ahead.work_out(found, points, taken, before.road.reference)


def _after(actor: Actor, found: Stand, before: Road, rows: Sequence[PointRow]) -> Road:
    by = actor.name if actor.person_id is not None else None
    return floor_road.with_points(before, with_new(before.draft, found.version + 1, rows, by))


def _taken(session: Session, actor: Actor, number: str, before: Seen, after: Road) -> Taken:
    """The points as the engine takes them: as they were, with what came, else read anew."""
    points = [(point.id, point.sent) for point in after.draft.standing]
    known = floor_told.grown(before.taken, points)
    if known is not None:
        return known
    job, draft = records(session, actor, number, after.draft.id)
    return floor_told.taken_from(session, actor, job, draft, points)


def seen(session: Session, actor: Actor, number: str, draft_id: int, found: Stand) -> Seen:
    """Steps and points are read once after each change; the visual check belongs to the job."""

    def read() -> Seen:
        job, draft = records(session, actor, number, draft_id)
        road = floor_road.read(session, actor, job, draft)
        view = floor_road.shown(session, actor, job, draft, road)
        return Seen(road, lambda: view)

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


def _live_step(found: Stand) -> str:
    if found.live_step is None:
        raise Conflict("no_live_step")
    return found.live_step


def done(found: Road, code: str | None, ids: Sequence[int] = (), told: Sequence[Told] = ()) -> Done:
    """What became of a request, with what was noticed about its points."""
    of_these = floor_road.told_about(told, ids) if ids else ()
    repeats = _repeated(found, code, ids)
    wrong_here = any(one.grave and code in one.steps for one in told)
    asked = any(one.asks_again for one in of_these) or wrong_here or bool(repeats)
    stays = asked or unfinished(found, code)
    return Done(
        draft_id=found.draft.id,
        version=found.draft.version,
        points=tuple(ids),
        told=of_these,
        plausible=not any(one.grave for one in of_these),
        next_step=code if stays else found.next_after(code),
        again=False,
        repeats=repeats,
    )


def _repeated(found: Road, code: str | None, ids: Sequence[int]) -> tuple[int, ...]:
    """Ids of what somebody else read before at the same point."""
    one = None if code is None else found.find(code)
    if one is None:
        return ()
    points = [found.draft.standing[place] for place in one.points]
    earlier = [read_by_others(points, one.step.wanted, new) for new in ids]
    return tuple(dict.fromkeys([point.id for group in earlier for point in group]))


def unfinished(found: Road, code: str | None) -> bool:
    """Whether the step still wants points: then it stays on the screen."""
    one = None if code is None else found.find(code)
    return one is not None and one.state != "done"


def done_before(session: Session, actor: Actor, job: Job, draft: Draft, act: Earlier) -> Done:
    """What became of a request when it came the first time."""
    ids = json.loads(act.facts).get("points", [])
    found = floor_road.read(session, actor, job, draft)
    state = floor_told.state_row(session, actor, draft)
    told = floor_road.told_of(found, state.told) if state else ()
    return replace(done(found, act.step, ids, told), again=True)
