"""The steps of a measurement at the machine: what each is called, and what to do at it."""

from typing import Protocol

from app.wording import cautions, elements, labels
from app.wording.numbers import exact
from app.wording.translation import _, later

NAMES: dict[str, str] = {
    "cautions": later("Before you begin"),
    "visual_check": later("Visual check"),
    "play": later("Play taken out"),
    "mounting": later("How the machine stands"),
    "adjusters": later("Chain adjusters"),
    "temperature": later("Temperature of the part"),
    "rig": later("Targets on the steering"),
    "fork_runout": later("Run-out of the fork legs"),
    "pivot": later("Pivot axis, {end} end"),
    "pivot_face": later("Frame face beside the pivot, {end}"),
    "head_face": later("Lower face of the steering head"),
    "head_bore": later("Bearing seats in the head"),
    "level_line": later("Levelling point, {end}"),
    "control": later("Control point: {name}"),
    "pair": later("Pair: {name}, {end}"),
    "axis": later("Axis: {name}"),
    "axle_face": later("Wheel face of the arm, {end}"),
    "rear_axle": later("Rear axle, {end} end"),
    "fork_leg": later("Fork leg, {end}"),
    "front_rim": later("Front rim, {end} edge"),
    "rear_rim": later("Rear rim, {end} edge"),
    "front_rim_half_turn": later("Front rim, {end} edge, half a turn on"),
    "rear_rim_half_turn": later("Rear rim, {end} edge, half a turn on"),
}
STATIONS: dict[str, str] = {
    "left": later("Steering to the left"),
    "half_left": later("Steering half to the left"),
    "ahead": later("Steering straight ahead"),
    "half_right": later("Steering half to the right"),
    "right": later("Steering to the right"),
}
STATION = later("Steering at station {name}")
ANY_STATION = later("One station of the steering")
ONCE_MORE = later("Once more: {name}")

HALF_TURN = later(
    "Turn the wheel half round, and touch this edge again at the same places in the room. What "
    "the rim runs out then cancels. Only if you want a surer number."
)
TO_DO: dict[str, tuple[str, ...]] = {
    "cautions": (later("Read this, then go to the machine."),),
    "visual_check": (
        later("Look before you measure. Say of each place whether damage is to be seen."),
    ),
    "play": (
        later("Pull and push at the swing arm, the steering and the axles."),
        later(
            "Take out what play there is before the first point: what can move by itself gives "
            "another number each time."
        ),
    ),
    "mounting": (
        later("Say what the machine stands on, and what is mounted."),
        later("It stays like this until the last point."),
    ),
    "adjusters": (later("Read both adjusters where the axle stands now, in mm or in marks."),),
    "temperature": (
        later("Hold the thermometer to the frame, away from the engine."),
        later("Unknown is allowed: the numbers are then less sure."),
    ),
    "rig": (
        later("Fix the targets so that they turn with the steering, and with nothing else."),
        later(
            "Two targets: one high and one low, and a quarter turn apart round the steering axis. "
            "Or three."
        ),
        later("A spring or a finger that lets a target give way spoils every station."),
    ),
    "fork_runout": (
        later(
            "Legs that are out of the fork: turn each on V-blocks, and read the whole swing of "
            "the dial. Legs that stay in: leave this out."
        ),
    ),
    "pivot": (
        later("Take the centre of the swing-arm pivot at this end, as far out as you can reach."),
        later("The farther apart its two ends, the surer is every number."),
    ),
    "pivot_face": (
        later("Clean the face, then touch it close to the pivot, without pressing it in."),
    ),
    "steer_target": (
        later("Take every target while the steering rests. Hold it still, or wedge it."),
    ),
    "head_face": (
        later("Touch the lower face of the casting at three places spread round the axis."),
        later("Only clean metal counts: no paint, no burr, no race."),
    ),
    "head_bore": (later("Take the middle of the lower seat, then that of the upper one."),),
    "level_line": (later("Take the point that the reference says is level with the other one."),),
    "control": (later("Take the point that the reference calls by this name."),),
    "pair": (
        later("Take the same place on both sides of the machine: the same edge, bolt or bore."),
    ),
    "axis": (later("Take the middle of the bore or bolt at its left end, then at its right end."),),
    "axle_face": (later("Touch the face that the wheel's spacer bears on."),),
    "rear_axle": (later("Take the centre of the axle at this end, as far out as you can reach."),),
    "fork_leg": (
        later("Take the middle of the leg near its lower end, then near its upper end."),
        later("The steering stays where it is until both legs are done."),
    ),
    "front_rim": (later("Touch this edge of the rim at four places spread round it."),),
    "rear_rim": (later("Touch this edge of the rim at four places spread round it."),),
    "front_rim_half_turn": (HALF_TURN,),
    "rear_rim_half_turn": (HALF_TURN,),
}
ANY_TURN = later(
    "Turn the steering to where one of its stations was, whichever is found most easily: which "
    "one it is shows by itself, and a few degrees beside it do no harm. Let it rest."
)
AGAIN = later(
    "The very same place as at first. It shows whether anything has moved between the two."
)
AGAIN_TARGETS = later("It shows whether machine, rig and instrument stood still meanwhile.")
TURN: dict[str, str] = {
    "left": later("Turn the steering about {degrees}° to the left and let it rest."),
    "right": later("Turn the steering about {degrees}° to the right and let it rest."),
}
STRAIGHT = later("Set the steering about straight ahead and let it rest.")

CAUTIONS_AT: dict[str, tuple[int, ...]] = {
    "cautions": (5, 0, 7),
    "visual_check": (1,),
    "mounting": (5,),
    "rear_rim": (5,),
    "front_rim": (5,),
    "front_rim_half_turn": (5,),
    "rear_rim_half_turn": (5,),
}
"""By kind of step, the places in the list of cautions."""
WHILE_PULLING = 4
"""Added where a measurement is taken between two pulls."""

GROUPS: dict[str, str] = {
    "before": later("Before measuring"),
    "rig": later("Targets"),
    "datum": later("Datum: pivot axis and faces"),
    "steering": later("Steering"),
    "head": later("Steering head"),
    "points": later("Points of the frame"),
    "axes": later("Further axes"),
    "arm": later("Swing arm"),
    "fork": later("Fork"),
    "wheels": later("Wheels"),
    "again": later("After the pause"),
    "closing": later("Last, once more"),
    "beside": later("Points that no step asked for"),
}

STATES: dict[str, str] = {
    "done": later("done"),
    "begun": later("begun"),
    "open": later("open"),
}


class Step(Protocol):
    """What the words of a step follow from; the engine's steps and the floor's both have it."""

    @property
    def code(self) -> str: ...
    @property
    def kind(self) -> str: ...
    @property
    def group(self) -> str: ...
    @property
    def feature(self) -> str | None: ...
    @property
    def label(self) -> str | None: ...
    @property
    def station(self) -> str | None: ...
    @property
    def turn(self) -> str | None: ...
    @property
    def turn_deg(self) -> float | None: ...


REPEATING = frozenset({"again", "closing"})
"""Groups whose steps measure again what was measured before."""


def repeats(step: Step) -> bool:
    """Return whether a step measures again what was measured before."""
    return step.group in REPEATING and step.feature is not None


def name(step: Step) -> str:
    """Return what a step is called, short enough for the top of a page."""
    called = _own_name(step)
    return _(ONCE_MORE).format(name=_lowered(called)) if repeats(step) else called


def once_more(step: Step) -> str:
    """Return what a step is called among those that a pause repeats."""
    return _(ANY_STATION) if step.kind == "steer_target" else _own_name(step)


def _own_name(step: Step) -> str:
    if step.kind == "steer_target":
        return _(ANY_STATION) if repeats(step) else station(step.station or "")
    first, _dot, side = (step.label or "").rpartition(".")
    end = _(elements.ENDS[side]).removesuffix(_(" end")) if side in elements.ENDS else side
    text = NAMES.get(step.kind)
    if text is None:
        return labels.feature(step.kind)
    return _(text).format(name=labels.named(first or side), end=end)


def _lowered(text: str) -> str:
    return text[:1].lower() + text[1:]


def station(name: str) -> str:
    """Return what a steering station is called."""
    text = STATIONS.get(name)
    return _(text) if text else _(STATION).format(name=labels.named(name))


def to_do(step: Step) -> tuple[str, ...]:
    """Return what to do at a step, sentence by sentence."""
    said = [_(text) for text in TO_DO.get(step.kind, ())]
    if step.kind == "steer_target" and repeats(step):
        return _(ANY_TURN), *said, _(AGAIN_TARGETS)
    if step.kind == "steer_target" and step.turn_deg is not None:
        side = TURN.get(step.turn or "")
        degrees = f"{step.turn_deg:.0f}"
        said.insert(0, _(side).format(degrees=degrees) if side else _(STRAIGHT))
    if repeats(step):
        said.append(_(AGAIN))
    return tuple(said)


def cautions_at(step: Step, phase: str) -> tuple[str, ...]:
    """Return the cautions that matter at a step."""
    places = CAUTIONS_AT.get(step.kind, ())
    if phase == "during" and step.kind == "cautions":
        places = (WHILE_PULLING, *places)
    return tuple(_(cautions.CAUTIONS[place]) for place in places)


def not_ordered() -> str:
    """Return what must be known before anything is taken off a machine that nobody ordered."""
    return _(
        "The order is not signed: ask the desk before you take anything off this machine, or "
        "correct anything."
    )


def unsure(instrument: str) -> str:
    """Return what must be done before the first point where nothing says how sure points are.

    instrument: its name, empty where none is chosen.
    """
    if instrument:
        return _(
            "No calibration of {instrument} is on record that says how sure its points are. Have "
            "it recorded with the instrument, or type the uncertainty with every point: without "
            "it nothing can be evaluated."
        ).format(instrument=instrument)
    return _(
        "No instrument is chosen, so nothing says how sure the points are. Choose it on the job's "
        "page, or type the uncertainty with every point: without it nothing can be evaluated."
    )


def group(code: str) -> str:
    """Return the heading that a group of steps stands under."""
    return _(GROUPS.get(code, code))


def state(code: str) -> str:
    """Return how far a step is."""
    return _(STATES.get(code, code))


def point(step: Step, label: str | None) -> str:
    """Return what one point of a step is called: a target's name, an end, else the step's."""
    if label is None or label == step.label:
        return ""
    return labels.named(label) if step.kind == "steer_target" else named_end(label)


def named_end(label: str) -> str:
    """Return a label as people say it: an end by its word, any other name without underscores."""
    return _(elements.ENDS[label]) if label in elements.ENDS else labels.named(label)


def if_empty(figure_mm: float | None) -> str:
    """Return what counts where a figure of the instrument is left empty; None: it is not known."""
    if figure_mm is None:
        return _("Empty: not known, the instrument's record names none")
    return _("Empty: the instrument's, {size}").format(size=exact(figure_mm, "mm"))
