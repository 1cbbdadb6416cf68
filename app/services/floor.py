"""The floor: a measurement taken step by step, each reading looked at when it comes.

Whatever is sent may come twice, when its answer was lost: it carries a request key and is stored
once. Points of two tablets never conflict; only changes of the same thing do.
"""

from collections.abc import Hashable, Mapping
from dataclasses import replace
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import BadInput, Conflict, Problem
from app.records.tables import Draft, Job
from app.schemas.floor import RigTargetsIn
from app.schemas.planning import PlanOut
from app.schemas.reading import checked
from app.services import audit, drafts, floor_acts, floor_road, floor_told, planning
from app.services.draft_changes import changed, require_open, row_of, to_change
from app.services.floor_memory import Memory, Stand, stand
from app.services.floor_take import (
    done,
    done_before,
    look_ahead,
    measures_again,
    seen,
    shown_anew,
    step_of,
    take,
)
from app.services.floor_temperature import pieces_of
from app.services.floor_views import Done, FloorView, News
from app.services.lookup import job_row
from app.services.permissions import Actor, require

__all__ = ["Done", "FloorView", "News", "Stand", "look_ahead", "measures_again", "stand", "take"]

ANSWERED_FOR_MIN = 15
"""How long a person at the machine can say of that nothing was touched (ours)."""
PLANS: Memory[PlanOut] = Memory()
TARGETS = "targets"
"""The one piece that is no part of a heading: names of the steering targets."""


def road(
    session: Session, actor: Actor, number: str, draft_id: int, known: Stand | None = None
) -> FloorView:
    """All steps of a draft and how they stand; nothing is evaluated. known: how it stands,
    where nothing was written since that was asked.

    Raises NotFound `no_such_job`, `no_such_draft`.
    """
    require(actor, "drafts.read")
    found = known or stand(session, actor, number, draft_id)
    view = seen(session, actor, number, draft_id, found).view
    return replace(view, plan=PLANS.get(found.key()))


def stamp(session: Session, actor: Actor, number: str, draft_id: int) -> Hashable:
    """Two roads with the same stamp are the same; None where there is nothing to know it by.

    Cheaper than the road: pages that were made of it are known by this. Raises as `road` does.
    """
    require(actor, "drafts.read")
    found = stand(session, actor, number, draft_id)
    key = found.key_of_view()
    return None if key is None else (key, PLANS.get(found.key()) is None)


def rests(session: Session, actor: Actor, number: str, draft_id: int) -> bool:
    """Whether the draft rests because its job is closed. Raises as `road` does."""
    require(actor, "drafts.read")
    return stand(session, actor, number, draft_id).rests


def record(
    session: Session,
    actor: Actor,
    number: str,
    draft_id: int,
    step: str,
    pieces: Mapping[str, object],
    request_key: str | None,
    now: datetime,
    seen: Mapping[str, object] | None = None,
) -> Done:
    """Stores what a step without points says: pieces of the heading, each by itself, and that the
    step is done (no pieces: merely confirmed).

    Pieces are those of `schemas.draft.HeadingIn`, and `targets` (names) of the step `rig`. seen:
    what the sender saw of these pieces; one that somebody else changed meanwhile is a Conflict
    `heading_changed`. Raises as `take` does, and Conflict `step_takes_points`,
    `step_answered_elsewhere` (the visual check, item by item).
    """
    job, draft = _found(session, actor, number, draft_id)
    asked = floor_acts.request(request_key, "recorded", step, dict(pieces))
    act = floor_acts.earlier(session, actor, draft.id, asked)
    if act is not None:
        return done_before(session, actor, job, draft, act)
    require_open(session, actor, job, draft)
    before = floor_road.read(session, actor, job, draft)
    if step_of(before, step).step.feature is not None:
        raise Conflict("step_takes_points", step)
    if step == "visual_check":
        raise Conflict("step_answered_elsewhere", step)
    facts: dict[str, audit.Value] = {}
    if TARGETS in pieces:
        named = checked(RigTargetsIn, {TARGETS: pieces[TARGETS]}).targets
        facts[TARGETS] = list(dict.fromkeys(named))
    heading = {name: value for name, value in pieces.items() if name != TARGETS}
    if step == "mounting" and "mounting" in heading and not heading["mounting"]:
        # An empty answer is none: the step would count as done with nothing said.
        raise BadInput([Problem("text_empty", "heading.mounting")], "text_empty")
    heading = pieces_of(step, heading, before.draft.header)
    if heading:
        drafts.set_pieces(session, actor, number, draft_id, heading, now, seen)
    floor_acts.add(session, actor, draft.id, "recorded", step, asked, facts, now)
    said: dict[str, audit.Value] = {"step": step, **facts}
    changed(session, actor, job, draft, "draft.step_recorded", now, said, look=False)
    after = floor_road.read(session, actor, job, draft)
    return done(after, step)


def undo(
    session: Session,
    actor: Actor,
    number: str,
    draft_id: int,
    point_id: int | None,
    request_key: str | None,
    now: datetime,
) -> Done:
    """Takes a point back (the last that stands unless told); it is kept and marked."""
    job, draft = _found(session, actor, number, draft_id)
    asked = floor_acts.request(request_key, "undone", point_id)
    act = floor_acts.earlier(session, actor, draft.id, asked)
    if act is not None:
        return done_before(session, actor, job, draft, act)
    before = floor_road.read(session, actor, job, draft)
    left_over = drafts.undo(session, actor, number, draft_id, now, point_id)
    after = floor_road.with_points(before, left_over)
    left = {point.id for point in after.draft.standing}
    gone = [point.id for point in before.draft.standing if point.id not in left]
    code = before.step_of.get(gone[0]) if gone else None
    floor_acts.add(session, actor, draft.id, "undone", code, asked, {"undone": gone}, now)
    return done(after, code)


def pause(
    session: Session,
    actor: Actor,
    number: str,
    draft_id: int,
    request_key: str | None,
    now: datetime,
) -> FloorView:
    """Lets the measurement rest; `FloorView.repeats` says what must be measured again."""
    job, draft = _found(session, actor, number, draft_id)
    asked = floor_acts.request(request_key, "paused")
    if floor_acts.earlier(session, actor, draft.id, asked) is None:
        to_change(session, actor, number, draft_id, None)
        if not floor_acts.is_paused(session, actor, draft):
            floor_acts.add(session, actor, draft.id, "paused", None, asked, {}, now)
            changed(session, actor, job, draft, "draft.paused", now, {}, look=False)
    return shown_anew(session, actor, job, draft)


def resume(
    session: Session,
    actor: Actor,
    number: str,
    draft_id: int,
    request_key: str | None,
    now: datetime,
    untouched: bool = False,
) -> FloorView:
    """Takes it up again: the datum is measured again first. untouched: soon after, and the person
    answers for it that nothing was touched; that is recorded, and one end of the pivot suffices.

    Raises as `take` does, and Conflict `pause_too_long` for what nobody can answer for.
    """
    job, draft = _found(session, actor, number, draft_id)
    asked = floor_acts.request(request_key, "resumed", *(["untouched"] if untouched else []))
    if floor_acts.earlier(session, actor, draft.id, asked) is None:
        to_change(session, actor, number, draft_id, None)
        if floor_acts.is_paused(session, actor, draft):
            repeats = floor_road.read(session, actor, job, draft)
            if untouched:
                _require_short(repeats.standing.paused_at, now)
            facts = repeats.resumed_facts(untouched)
            floor_acts.add(session, actor, draft.id, "resumed", None, asked, facts, now)
            changed(session, actor, job, draft, "draft.resumed", now, facts, look=False)
    return shown_anew(session, actor, job, draft)


def _require_short(paused_at: datetime | None, now: datetime) -> None:
    minutes = 0 if paused_at is None else int((now - paused_at).total_seconds() // 60)
    if minutes >= ANSWERED_FOR_MIN:
        raise Conflict("pause_too_long", None, met=minutes, limit=ANSWERED_FOR_MIN)


def restart_after_move(
    session: Session,
    actor: Actor,
    number: str,
    draft_id: int,
    scope: str,
    request_key: str | None,
    now: datetime,
) -> FloorView:
    """Puts away what was measured before the set-up moved; kept, with the reason `set_up_moved`.

    scope: `steering` (its stations alone) or `everything`. Raises as `take` does.
    """
    job, draft = _found(session, actor, number, draft_id)
    asked = floor_acts.request(request_key, "restarted", scope)
    if floor_acts.earlier(session, actor, draft.id, asked) is None:
        to_change(session, actor, number, draft_id, None)
        before = floor_road.read(session, actor, job, draft)
        gone = drafts.put_away(session, actor, draft, scope, now)
        facts = before.restarted_facts(scope, gone)
        floor_acts.add(session, actor, draft.id, "restarted", None, asked, facts, now)
        changed(session, actor, job, draft, "draft.restarted", now, facts)
    return shown_anew(session, actor, job, draft)


def aim(
    session: Session, actor: Actor, number: str, draft_id: int, step: str | None, now: datetime
) -> FloorView:
    """Says where points go that an instrument sends; None: nowhere.

    Raises NotFound, Conflict as `take` does.
    """
    job, draft = to_change(session, actor, number, draft_id, None)
    if step is not None:
        found = step_of(floor_road.read(session, actor, job, draft), step)
        if found.step.feature is None:
            raise Conflict("step_takes_no_points", step)
    floor_told.state_of(session, actor, draft).live_step = step
    changed(session, actor, job, draft, "draft.live_step_set", now, {"step": step}, look=False)
    return shown_anew(session, actor, job, draft)


def news(
    session: Session, actor: Actor, number: str, draft_id: int, after: int, since: int = 0
) -> News | None:
    """What came since version `after`; None when nothing did. Cheap enough to be asked often.

    since: id of the last point that the sender knows of.
    """
    require(actor, "drafts.read")
    found = stand(session, actor, number, draft_id)
    if found.version <= after:
        return None
    shown = seen(session, actor, number, draft_id, found).view
    fresh = tuple(point for point in shown.draft.standing if point.id > since)
    return News(found.version, shown.live_step, fresh, shown.told)


def plan(session: Session, actor: Actor, number: str, draft_id: int) -> PlanOut:
    """What is known so far and what one more point or station would bring; worked out once for
    each version of the draft. While something implausible stands, nothing follows from the points:
    that comes first. Raises Refusal where no further point would set right what is wrong."""
    require(actor, "drafts.read")
    found = stand(session, actor, number, draft_id)

    def work() -> PlanOut:
        told = seen(session, actor, number, draft_id, found).view.told
        wrong = next((one for one in told if one.grave), None)
        if wrong is not None:
            return planning.first_put_right(wrong.code, wrong.feature, wrong.sentence)
        made = drafts.plan(session, actor, number, draft_id)
        first, anew = made["needed_first"], next((one for one in told if one.asks_again), None)
        if anew is not None and first is not None and first["code"] == "too_few_stations":
            # Counted among the stations it would contradict what was said of it.
            return planning.first_put_right(anew.code, anew.feature, anew.sentence)
        return made

    return PLANS.recalled(session, found.key(), work)


def _found(session: Session, actor: Actor, number: str, draft_id: int) -> tuple[Job, Draft]:
    require(actor, "drafts.write")
    job = job_row(session, actor, number)
    return job, row_of(session, actor, job, draft_id)
