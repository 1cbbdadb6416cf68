"""A step of a measurement in words: its points, what was noticed, and where it stands."""

from dataclasses import dataclass

from app.schemas.planning import PlanOut
from app.services.draft_views import DraftPoint
from app.services.floor_views import FloorView, Moved, StepView
from app.web.pages.draft_words import Reading, reading_of
from app.web.pages.floor_told import begun, step_path, wrong_word
from app.wording import labels
from app.wording import noticed as noticed_words
from app.wording import planning as plan_words
from app.wording import steps as words
from app.wording.translation import _, counted


@dataclass(frozen=True, slots=True)
class StepLine:
    """One step in the list of all."""

    name: str
    href: str
    state: str
    """`done`, `begun`, `open`, `next` or `wrong`: chooses the mark."""
    state_word: str
    detail: str
    noticed: str
    """What was noticed there, in two words; empty where nothing was."""


@dataclass(frozen=True, slots=True)
class GroupLine:
    """Steps under one heading."""

    name: str
    steps: tuple[StepLine, ...]


@dataclass(frozen=True, slots=True)
class PointLine:
    """A point that stands at this step."""

    id: int
    name: str
    reading: Reading
    by: str
    """Who took it, where that was somebody else than whoever looks."""


@dataclass(frozen=True, slots=True)
class MovedLine:
    """The set-up moved: what would be discarded, and how to start again."""

    scope: str
    sentence: str
    button: str


@dataclass(frozen=True, slots=True)
class PlanLine:
    """What is known so far, and what would help most."""

    now: str
    next: str


def groups_of(view: FloorView) -> tuple[GroupLine, ...]:
    """All steps in order, each group under its heading."""
    found: list[GroupLine] = []
    for step in view.steps:
        line = step_line(view, step)
        heading = words.group(step.group)
        if found and found[-1].name == heading:
            found[-1] = GroupLine(heading, (*found[-1].steps, line))
        else:
            found.append(GroupLine(heading, (line,)))
    return tuple(found)


def step_line(view: FloorView, step: StepView) -> StepLine:
    """One step of the list."""
    now, wrong = step.code == view.current, wrong_word(step)
    advice = any(not one.good for one in step.told)
    return StepLine(
        name=words.name(step),
        href=step_path(view, step.code),
        state="wrong" if wrong else "next" if now else step.state,
        state_word=_("next") if now else state_word(step),
        detail=points_word(step) if step.wanted > 1 or len(step.points) > 1 else "",
        noticed=wrong or (_("something was noticed") if advice else ""),
    )


def state_word(step: StepView) -> str:
    """How far a step is; of a station that nothing needs, that it would help."""
    if step.group == "steering" and step.state == "open" and not step.required:
        return _("not needed, would make the figures surer")
    return words.state(step.state)


def points_word(step: StepView) -> str:
    """How many points of a step are there: "2 of 3 points"."""
    taken = len(step.points)
    if taken > step.wanted:
        return counted("{count} point", "{count} points", taken).format(count=taken)
    return counted("{taken} of {count} point", "{taken} of {count} points", step.wanted).format(
        taken=taken, count=step.wanted
    )


def points_saved_word(count: int) -> str:
    """How many points of the measurement are saved."""
    return counted("{count} point", "{count} points", count).format(count=count)


def point_lines(step: StepView, looks: str) -> tuple[PointLine, ...]:
    """The points that stand, newest first. looks: name of whoever looks at them."""
    return tuple(
        PointLine(
            point.id,
            words.point(step, name_of(step, point.sent)),
            reading_of(point),
            by_another(point, looks),
        )
        for point in reversed(step.points)
    )


def by_another(point: DraftPoint, looks: str) -> str:
    """Who took a point, where that was somebody else."""
    return point.added_by if point.added_by and point.added_by != looks else ""


def place_of(point: DraftPoint) -> str:
    """Of which end or target a point is, and at which station, as people say it."""
    label, at = point.sent.get("label"), point.sent.get("station")
    named = labels.named if point.sent["feature"] == "steer_target" else words.named_end
    end = named(str(label)) if label else ""
    station = noticed_words.station(str(at)) if at else ""
    return " · ".join(part for part in (end, station) if part)


def name_of(step: StepView, sent: object) -> str | None:
    """Which target or end a point is of."""
    label = sent.get("label") if hasattr(sent, "get") else None
    return str(label) if label and label != step.label else None


def moved_line(moved: Moved | None) -> MovedLine | None:
    """What starting again would discard."""
    if moved is None:
        return None
    if moved.scope == "steering":
        stations = ", ".join(words.station(name) for name in moved.stations)
        sentence = _(
            "The steering's set-up did not stand still. The points of these stations would be put "
            "away, with that reason: {stations}. They stay on record here and never become part "
            "of a measurement."
        ).format(stations=stations)
        return MovedLine(moved.scope, sentence, _("Discard them and take the steering anew"))
    sentence = counted(
        "The set-up did not stand still. {count} point would be discarded, with that reason. It "
        "stays on record here and never becomes part of a measurement.",
        "The set-up did not stand still. {count} points would be discarded, with that reason. They "
        "stay on record here and never become part of a measurement.",
        moved.points,
    ).format(count=moved.points)
    return MovedLine(moved.scope, sentence, _("Discard them and begin anew"))


def plan_line(plan: PlanOut, view: FloorView) -> PlanLine:
    """The plan in one line, and what would help most in another."""
    looked_at = next(
        (one for one in plan["characteristics"] if one["key"] == plan["looked_at"]), None
    )
    now = looked_at["message"] if looked_at else plan["message"]
    decided = looked_at is not None and looked_at["decided"] is True
    return PlanLine(begun(now).rstrip("."), begun(best_of(plan, view, decided)).rstrip("."))


def best_of(plan: PlanOut, view: FloorView, decided: bool) -> str:
    """What would help most. While stations are still to come their steps say where the steering is
    turned, and nothing beside them says otherwise."""
    best = plan["best"]
    if best is None:
        return ""
    to_come = [one for one in view.steps if one.group == "steering" and one.state != "done"]
    if best["code"] == "station" and to_come:
        return plan_words.more_stations(words.name(to_come[0]), decided=decided)
    return best["message"]


def repeated(view: FloorView) -> tuple[str, ...]:
    """While a measurement rests: what will be measured again."""
    by_code = {step.code: step for step in view.steps}
    return tuple(words.once_more(by_code[code]) for code in view.repeats if code in by_code)
