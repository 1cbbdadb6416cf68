"""The steps of a draft as they stand, from its rows; nothing is evaluated here."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from sqlalchemy import func
from sqlalchemy.orm import Session

from app.chassis.own_stations import turned
from app.chassis.progress import (
    Progress,
    Taken,
    current,
    own_names,
    own_returns,
    progress_on,
    targets_of,
)
from app.chassis.sequence import Step, after_pause, steps
from app.chassis.survey import Reference
from app.records.scope import scoped
from app.records.tables import Draft, Job, VisualCheckItem
from app.schemas.visual_check import ITEMS
from app.services import audit, floor_acts, floor_outline, floor_told
from app.services.draft_views import DraftPoint, DraftView, view
from app.services.floor_acts import Standing
from app.services.floor_views import FloorView, Moved, StepView, Told
from app.services.permissions import Actor
from app.services.survey_documents import figures_of

HEADING_OF = {
    "temperature": ("part_temperature_c",),
    "mounting": ("mounting", "up"),
    "adjusters": ("chain_adjusters",),
    "fork_runout": ("fork_runout_mm",),
}
"""Pieces of the heading that say that a step is done, however they came there."""


LATER = frozenset({"closing", "beside"})
"""Groups that come after all else, whenever their points were taken."""


@dataclass(frozen=True, slots=True)
class Road:
    """A draft with its steps, before it is shown."""

    draft: DraftView
    found: tuple[Progress, ...]
    standing: Standing
    targets: tuple[str, ...]
    looked_at: bool
    reference: Reference
    suggested: tuple[Step, ...]
    """All steps before any station has a name of its own: other targets alone change them."""

    @property
    def step_of(self) -> dict[int, str]:
        """The step of each standing point by its id."""
        points = self.draft.standing
        return {points[place].id: one.step.code for one in self.found for place in one.points}

    def find(self, code: str) -> Progress | None:
        return next((one for one in self.found if one.step.code == code), None)

    def next_after(self, code: str | None) -> str | None:
        return current(self.found, code)

    def next_measured(self, code: str) -> str | None:
        """The next step that takes points, for an instrument that goes on measuring."""
        measured = [one for one in self.found if one.step.feature is not None]
        return current(measured, code)

    def returns(self) -> int:
        """The highest number of a return among the standing points."""
        return own_returns([taken(point) for point in self.draft.standing])

    def resumed_facts(self, untouched: bool = False) -> dict[str, audit.Value]:
        """What is written down when the measurement is taken up again.

        untouched: somebody answers for it that nothing was touched since. One end of the pivot
        then shows it at once; the returns that close the measurement hold it against all the rest.
        """
        steps = self.repeats
        number = self.returns() + (1 if steps else 0)
        if not untouched:
            return {"number": number, "steps": list(steps)}
        first = [code for code in steps if code.startswith("pivot.")][:1]
        return {"number": number, "steps": first, "untouched": True}

    def restarted_facts(self, scope: str, gone: Sequence[int]) -> dict[str, audit.Value]:
        """What is written down when what was measured is put away."""
        number = 0 if scope == "everything" else self.returns()
        return {"scope": scope, "number": number, "points": list(gone)}

    @property
    def repeated_steps(self) -> tuple[str, ...]:
        """The same as steps of this road: any station will do, straight ahead is named."""
        return tuple("station.ahead" if code == "station" else code for code in self.repeats)

    @property
    def repeats(self) -> tuple[str, ...]:
        """What a pause would have measured again."""
        return after_pause(one.step.code for one in self.found if one.state != "open")


class Shown(NamedTuple):
    """A draft's road, and how the page shows it."""

    road: Road
    view: FloorView


def read(session: Session, actor: Actor, job: Job, draft: Draft) -> Road:
    """The steps and what is done of them."""
    acts = floor_acts.listing(session, actor, draft)
    found = view(session, actor, job, draft)
    if acts:
        found = replace(found, changed_at=max(found.changed_at, acts[-1].at))
    return _road(
        found,
        floor_acts.standing(acts),
        looked_at(session, actor, job),
        floor_told.reference_of(session, actor, job),
    )


def with_points(before: Road, found: DraftView) -> Road:
    """The same again after points came or went: nothing else changed."""
    return _road(found, before.standing, before.looked_at, before.reference, before)


def _road(
    found: DraftView,
    standing: Standing,
    looked: bool,
    reference: Reference,
    before: Road | None = None,
) -> Road:
    points = [taken(point) for point in found.standing]
    noted = standing.noted | (_in_heading(found.header) - standing.overtaken)
    noted |= {"visual_check"} if looked else set()
    targets = targets_of(points, standing.targets)
    if before is not None and before.targets == targets:
        suggested = before.suggested
    else:
        suggested = steps(reference, found.phase, targets, standing.again)
    on_the_way = progress_on(suggested, found.phase, points, noted, _turned(found, points))
    return Road(found, in_time(on_the_way), standing, targets, looked, reference, suggested)


def in_time(found: Sequence[Progress]) -> tuple[Progress, ...]:
    """What a pause has measured again stands after the last group that was begun before it."""
    again = [one for one in found if one.step.group == "again"]
    rest = [one for one in found if one.step.group != "again"]
    begun = [one.step.group for one in rest if one.points and one.step.group not in LATER]
    if not again or not begun:
        return tuple(found)
    at = max(place for place, one in enumerate(rest) if one.step.group == begun[-1]) + 1
    return (*rest[:at], *again, *rest[at:])


def _turned(found: DraftView, points: Sequence[Taken]) -> Mapping[str, float]:
    """How far apart the stations are; asked only where they were given names of their own."""
    if not own_names(points, found.phase):
        return {}
    sent = [p.sent for p in found.standing if p.sent["feature"] == "steer_target"]
    return turned(floor_told.bare(sent, found.header.get("up")))


def taken(point: DraftPoint) -> Taken:
    """Feature, label and station of a point."""
    sent = point.sent
    return str(sent["feature"]), _text(sent.get("label")), _text(sent.get("station"))


def _text(value: object) -> str | None:
    return None if value is None else str(value)


def _in_heading(header: Mapping[str, object]) -> frozenset[str]:
    return frozenset(
        step for step, pieces in HEADING_OF.items() if all(header.get(name) for name in pieces)
    ) | ({"temperature"} if header.get("part_temperature_c") is not None else frozenset())


def looked_at(session: Session, actor: Actor, job: Job) -> bool:
    """The visual check is done when every item of it was answered."""
    items = func.count(func.distinct(VisualCheckItem.item))
    rows = scoped(session, actor, VisualCheckItem).with_only_columns(items)
    asked = rows.where(VisualCheckItem.job_id == job.id, VisualCheckItem.item.in_(ITEMS))
    return (session.scalar(asked) or 0) >= len(ITEMS)


def shown(session: Session, actor: Actor, job: Job, draft: Draft, road: Road) -> FloorView:
    """The road as the page shows it."""
    state = floor_told.state_row(session, actor, draft)
    told = () if state is None else told_of(road, state.told)
    here = road.next_after(None)
    return FloorView(
        draft=road.draft,
        ordered=job.authorised_at is not None,
        steps=_steps(road, told, here),
        current=here,
        told=told,
        moved=_moved(road, told),
        paused_at=road.standing.paused_at,
        repeats=road.repeated_steps,
        live_step=state.live_step if state else None,
        targets=road.targets,
        saved_version=road.draft.version,
        saved_at=road.draft.changed_at,
        nominals=floor_outline.of_job(session, actor, job),
        figures=figures_of(session, actor, job, road.draft.header),
        plan=None,
    )


def shown_after(
    before: Shown, road: Road, told: tuple[Told, ...], live_step: str | None
) -> FloorView:
    """The same where nothing but points changed since it was shown as before."""
    here = road.next_after(None)
    return replace(
        before.view,
        draft=road.draft,
        steps=_steps(road, told, here, before),
        current=here,
        told=told,
        moved=_moved(road, told),
        repeats=road.repeated_steps,
        live_step=live_step,
        targets=road.targets,
        saved_version=road.draft.version,
        saved_at=road.draft.changed_at,
    )


def told_of(road: Road, text: str) -> tuple[Told, ...]:
    """What is kept of what was noticed, in words."""
    return floor_told.told_of(text, road.step_of, road.draft)


def _steps(
    road: Road, told: Sequence[Told], here: str | None, before: Shown | None = None
) -> tuple[StepView, ...]:
    """before: of these steps, most of which still stand as they stood."""
    points = road.draft.standing
    known = before if before is not None and len(before.road.found) == len(road.found) else None
    made = []
    for place, one in enumerate(road.found):
        its_points = tuple([points[at] for at in one.points])
        its_told = tuple([item for item in told if one.step.code in item.steps])
        current = one.step.code == here
        if known is not None and known.road.found[place] == one:
            step = known.view.steps[place]
            if (step.current, step.points, step.told) == (current, its_points, its_told):
                made.append(step)
                continue
        made.append(_step(one, its_points, its_told, current))
    return tuple(made)


def _step(
    one: Progress, points: tuple[DraftPoint, ...], told: tuple[Told, ...], current: bool
) -> StepView:
    step = one.step
    return StepView(
        code=step.code,
        kind=step.kind,
        group=step.group,
        feature=step.feature,
        label=step.label,
        station=step.station,
        turn=step.turn,
        turn_deg=step.turn_deg,
        names=step.names,
        open_names=one.open_names,
        wanted=step.wanted,
        least=step.least,
        keys=step.keys,
        required=step.required,
        state=one.state,
        current=current,
        points=points,
        told=told,
    )


def _moved(road: Road, told: Sequence[Told]) -> Moved | None:
    found = next((one for one in told if one.code == "set_up_moved"), None)
    if found is None:
        return None
    scope = str(found.facts["scope"])
    if scope == "unknown":
        # What is to be put away is known when the datum was measured again.
        return None
    steering = [one for one in road.found if one.step.feature == "steer_target" and one.points]
    if scope == "steering":
        stations = tuple(str(one.step.station) for one in steering)
        return Moved(scope, stations, sum(len(one.points) for one in steering))
    return Moved(scope, (), len(road.draft.standing))


def told_about(told: Sequence[Told], points: Sequence[int]) -> tuple[Told, ...]:
    """What was noticed about some of the points."""
    wanted = set(points)
    return tuple([one for one in told if not wanted.isdisjoint(one.points) or not one.points])
