"""What was noticed about a measurement, in words, each with what can be done about it at once."""

from collections.abc import Sequence
from dataclasses import dataclass

from app.services.draft_views import DraftPoint
from app.services.floor_repeats import read_by_others
from app.services.floor_views import FloorView, StepView, Told
from app.web.pages.draft_words import reading_of
from app.web.rendering import Link
from app.web.routes import path_to
from app.wording import steps as words
from app.wording.moments import moment
from app.wording.translation import _

OF_A_STATION = frozenset(
    {
        "targets_apart", "targets_swapped", "off_its_circle", "station_near", "stations_disagree",
        "turns_contradict", "set_up_moved",
    }
)  # fmt: skip
"""What is put right by measuring all points of a step anew."""
OF_A_READING = frozenset(
    {
        "point_implausible", "apart_implausible", "reading_off", "repeats_apart", "same_place",
        "return_elsewhere",
    }
)  # fmt: skip
MOST_ACTS = 4


@dataclass(frozen=True, slots=True)
class ToldAct:
    """A button: takes one point back, or all of its step."""

    action: str
    point: int | None
    label: str


@dataclass(frozen=True, slots=True)
class ToldLine:
    """Something that was noticed, in its three parts."""

    grave: bool
    good: bool
    asks_again: bool
    met: str
    needed: str
    do: str
    acts: tuple[ToldAct, ...]
    ways: tuple[Link, ...]
    """To the other steps whose points it speaks of: each may be the one that is off."""


def told_lines(
    view: FloorView, told: Sequence[Told], here: str | None = None, taken: str = ""
) -> tuple[ToldLine, ...]:
    """What was noticed, the grave first. here: the step whose page this is; taken: id of the point
    that the page takes back with a button of its own."""
    ordered = sorted(told, key=lambda one: not one.grave)
    return tuple(
        ToldLine(
            t.grave,
            t.good,
            t.asks_again,
            begun(t.met),
            begun(t.needed),
            begun(t.do),
            () if t.good else acts_of(view, t, here, taken),
            ways_of(view, t, here),
        )
        for t in ordered
    )


def begun(text: str) -> str:
    """A clause as the beginning of a sentence."""
    return text[:1].upper() + text[1:]


def ways_of(view: FloorView, told: Told, here: str | None) -> tuple[Link, ...]:
    """To the steps that it speaks of, but this one. What is put right by measuring a station anew
    is put right here or where it was measured last."""
    codes = [code for code in told.steps if code != here]
    if told.code in OF_A_STATION:
        codes = [] if here in told.steps or told.step is None else [told.step]
    steps = [step for code in codes if (step := view.step(code))][-MOST_ACTS:]
    return tuple([Link(words.name(step), step_path(view, step.code)) for step in steps])


def step_path(view: FloorView, code: str) -> str:
    """Where a step is done."""
    return path_to("floor_step", number=view.draft.job_number, draft=view.draft.id, step=code)


def acts_of(view: FloorView, told: Told, here: str | None, taken: str) -> tuple[ToldAct, ...]:
    """What takes back the readings that it speaks of."""
    if told.code in OF_A_STATION:
        codes = (here,) if here in told.steps else told.steps
        steps = [step for code in codes if code and (step := view.step(code))]
        found = [ToldAct(undo_path(view, s), None, all_label(s, here)) for s in steps if s.points]
    else:
        found = [
            ToldAct(undo_path(view, step), point.id, point_label(step, point))
            for step in view.steps
            for point in step.points
            if point.id in told.points and str(point.id) != taken
        ]
    # The newest of many: nobody takes a whole measurement back by such buttons.
    return tuple(found[-MOST_ACTS:])


def undo_path(view: FloorView, step: StepView) -> str:
    """Where points of a step are taken back."""
    number, draft = view.draft.job_number, view.draft.id
    return path_to("undo_at_step", number=number, draft=draft, step=step.code)


def all_label(step: StepView, here: str | None) -> str:
    """Of the button that takes back all that a step holds."""
    if step.code != here:
        return _("Take back: {name}").format(name=words.name(step))
    if step.feature == "steer_target":
        return _("Take this station back and measure it anew")
    return _("Take it back and touch the same place once more")


def point_label(step: StepView, point: DraftPoint) -> str:
    """Of the button that takes back one reading."""
    reading = reading_of(point)
    label = point.sent.get("label")
    named = words.point(step, str(label) if label and label != step.label else None)
    name = ", ".join(part for part in (words.name(step), named) if part)
    return _("Take back: {name}, X {x} Y {y} Z {z}").format(
        name=name, x=reading.x, y=reading.y, z=reading.z
    )


def wrong_word(step: StepView) -> str:
    """That a step holds something that cannot be; empty where it does not."""
    grave = [one for one in step.told if one.grave]
    if not grave:
        return ""
    if any(one.code in OF_A_READING for one in grave):
        return _("implausible reading")
    return _("something does not agree")


def wrong_point(step: StepView, taken: str) -> DraftPoint | None:
    """The one reading of a step that is to be replaced: the one just taken where it is implausible,
    else the only one that is blamed."""
    found = [point for point in step.points if is_blamed(step.told, point)]
    newest = next((point for point in found if str(point.id) == taken), None)
    return newest or (found[0] if len(found) == 1 else None)


def is_blamed(told: Sequence[Told], point: DraftPoint) -> bool:
    """Whether something grave speaks of the point; where one that slipped is named, of that one."""
    return any(one.grave and point.id in one.points and slipped(one, point) for one in told)


def slipped(told: Told, point: DraftPoint) -> bool:
    """Whether the point is of the place that moved most; true where none is named."""
    place = (told.facts.get("slipped"), told.facts.get("slipped_label"))
    return place[0] is None or place == (point.sent["feature"], point.sent.get("label"))


def wrong_elsewhere(view: FloorView, here: StepView) -> tuple[Link, ...]:
    """Other steps where something implausible stands."""
    found = [
        step
        for step in view.steps
        if step.code != here.code and any(t.grave and here.code not in t.steps for t in step.told)
    ]
    return tuple(Link(words.name(step), step_path(view, step.code)) for step in found)[:MOST_ACTS]


def repeat_sentence(view: FloorView, taken: str) -> str:
    """That somebody else read the same point before; empty where nobody did."""
    new = int(taken) if taken.isascii() and taken.isdecimal() and len(taken) < 10 else 0
    for step in view.steps:
        found = read_by_others(step.points, step.wanted, new)
        if found:
            return repeat_words(found[-1])
    return ""


def repeat_words(point: DraftPoint) -> str:
    """What a second reading of a point means."""
    reading = reading_of(point)
    return _(
        "Another reading of the same point? {name} took it already ({moment}): X {x} Y {y} Z {z}. "
        "This one counts as a repeat: both are used. Take it back if that is not meant."
    ).format(
        name=point.added_by or "", moment=moment(point.added_at), x=reading.x, y=reading.y,
        z=reading.z,
    )  # fmt: skip
