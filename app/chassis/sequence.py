"""What is measured on a machine in which order: the steps, from what its reference needs.

Only what a listed characteristic or the levelling needs is a step. The datum comes first, the
steering next, and what shows that the set-up stood still closes the sequence.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from app.chassis import sequence_parts
from app.chassis.features import HALF_TURN, RIMS
from app.chassis.sequence_parts import SIDES, Part
from app.chassis.survey import Reference

TARGETS = ("upper", "lower")
"""Names of the targets until somebody gives others."""
STATIONS: tuple[tuple[str, str | None, float], ...] = (
    ("left", "left", 30.0),
    ("half_left", "left", 15.0),
    ("ahead", None, 0.0),
    ("half_right", "right", 15.0),
    ("right", "right", 30.0),
)
"""Name, side, degrees from straight ahead: one sweep, so that no slack of the bearings reverses.
How far steering stops stand: common practice, no source."""
FEW_STATIONS = ("left", "ahead", "right")
"""Enough while the frame is being pulled: the number is a check, not a finding."""


class Step(NamedTuple):
    """One thing to do.

    code: unique in a sequence, `[a-z0-9_.]+`. kind: what it is, for its words: the feature, or
    `cautions`, `visual_check`, `play`, `mounting`, `adjusters`, `temperature`, `rig`,
    `fork_runout`, `front_rim_half_turn`, `rear_rim_half_turn`. group: `before`, `rig`, `datum`,
    `steering`, `head`, `points`, `axes`, `arm`, `fork`, `wheels`, `again` (after a pause),
    `closing`, `beside` (points that no step asked for). feature: None where nothing is measured.
    turn, turn_deg: how to turn the steering, degrees from straight ahead. names: of its points
    where these differ (targets, ends). wanted, least: number of points. keys: the characteristics
    it serves. required: a finding needs it.
    """

    code: str
    kind: str
    group: str
    feature: str | None = None
    label: str | None = None
    station: str | None = None
    turn: str | None = None
    turn_deg: float | None = None
    names: tuple[str, ...] = ()
    wanted: int = 0
    least: int = 0
    keys: tuple[str, ...] = ()
    required: bool = True

    @property
    def repeats(self) -> bool:
        """Whether it measures again what was measured before."""
        return self.group in ("again", "closing")


class Again(NamedTuple):
    """What is measured again after a pause: number of the return, codes of the steps."""

    number: int
    steps: tuple[str, ...]


def steps(
    reference: Reference,
    phase: str,
    targets: Sequence[str] = TARGETS,
    again: Sequence[Again] = (),
) -> tuple[Step, ...]:
    """The steps in order.

    phase: `before`, `during` or `after`; targets: names of the steering targets; again: one for
    each pause that the measurement was taken up after.
    """
    parts = sequence_parts.parts_of(reference)
    measured = [
        *_datum(parts),
        *_steering(parts, phase, tuple(targets)),
        *_beyond(parts),
    ]
    first = {step.code: step for step in measured}
    return (
        *_before(parts, phase),
        *[step for pause in again for step in _again(pause, first)],
        *measured,
        *_closing(first, closing_number(again), tuple(targets)),
    )


def station_names(phase: str) -> tuple[str, ...]:
    """Names of the stations that are suggested."""
    return FEW_STATIONS if phase == "during" else tuple([name for name, _, _ in STATIONS])


def closing_number(again: Sequence[Again]) -> int:
    """Number of the return that closes the sequence: after those of the pauses."""
    return max([pause.number for pause in again], default=0) + 1


def return_name(number: int) -> str:
    """The station of the number-th return: `return`, `return2` …"""
    return "return" if number == 1 else f"return{number}"


def after_pause(done: Iterable[str]) -> tuple[str, ...]:
    """Codes of the steps that repeat when a measurement is taken up again after a pause.

    done: codes of the steps that were done before. The datum shows whether the set-up stood;
    where the steering was measured, one station shows the targets.
    """
    known = set(done)
    faces = [side for side in SIDES if f"pivot_face.{side}" in known]
    repeated = [f"pivot.{side}" for side in SIDES if f"pivot.{side}" in known]
    repeated += [f"pivot_face.{side}" for side in faces[:1]]
    if any(code.startswith("station.") for code in known):
        repeated.append("station")
    return ("temperature", *repeated) if repeated else ()


def _before(parts: Sequence[Part], phase: str) -> Iterator[Step]:
    yield Step("cautions", "cautions", "before")
    if phase != "during":
        yield Step("visual_check", "visual_check", "before")
    features = {part.feature for part in parts}
    yield Step("play", "play", "before")
    yield Step("mounting", "mounting", "before")
    if "rear_axle" in features:
        yield Step("adjusters", "adjusters", "before")
    yield Step("temperature", "temperature", "before")
    if "steer_target" in features:
        yield Step("rig", "rig", "rig")


def _datum(parts: Sequence[Part]) -> Iterator[Step]:
    for part in parts:
        if part.feature in ("pivot", "pivot_face"):
            yield _measured(part, "datum")


def _steering(parts: Sequence[Part], phase: str, targets: tuple[str, ...]) -> Iterator[Step]:
    for part in parts:
        if part.feature == "steer_target":
            wanted = station_names(phase)
            for name, side, degrees in STATIONS:
                if name in wanted:
                    yield _station(part, name, side, degrees, targets)


def _station(
    part: Part, name: str, side: str | None, degrees: float, targets: tuple[str, ...]
) -> Step:
    return Step(
        f"station.{name}",
        "steer_target",
        "steering",
        feature="steer_target",
        station=name,
        turn=side,
        turn_deg=degrees,
        names=targets,
        wanted=len(targets),
        least=len(targets),
        keys=part.keys,
        required=part.required,
    )


def _beyond(parts: Sequence[Part]) -> Iterator[Step]:
    for part in parts:
        if part.feature in ("pivot", "pivot_face", "steer_target"):
            continue
        yield _measured(part, sequence_parts.GROUPS[part.feature])
        if part.feature == "fork_leg" and part.label == "right":
            yield Step("fork_runout", "fork_runout", "fork", keys=part.keys, required=False)
        if part.feature in RIMS and part.label == "right":
            yield from [_half_turned(one) for one in parts if one.feature == part.feature]


def _half_turned(part: Part) -> Step:
    """The same edge with the wheel half a turn on: takes its run-out out; whoever wants it."""
    step = _measured(part, "wheels")
    return step._replace(
        code=f"{step.code}.{HALF_TURN}",
        kind=f"{step.kind}_{HALF_TURN}",
        station=HALF_TURN,
        wanted=step.least,
        required=False,
    )


def _measured(part: Part, group: str) -> Step:
    code = part.feature if part.label is None else f"{part.feature}.{part.label}"
    wanted, least = sequence_parts.NUMBERS.get(part.feature, (1, 1))
    return Step(
        code,
        part.feature,
        group,
        feature=part.feature,
        label=part.label,
        names=sequence_parts.ENDS.get(part.feature, ()),
        wanted=wanted,
        least=least,
        keys=part.keys,
        required=part.required,
    )


def _again(pause: Again, first: dict[str, Step]) -> Iterator[Step]:
    for code in pause.steps:
        made = f"again{pause.number}.{code}"
        if code == "temperature":
            yield Step(made, "temperature", "again")
        elif code == "station":
            station = _any_station(first)
            if station is not None:
                yield _returned(station, made, "again", pause.number)
        elif code in first:
            yield _returned(first[code], made, "again", pause.number)


def _closing(first: dict[str, Step], number: int, targets: tuple[str, ...]) -> Iterator[Step]:
    """One station, both ends of the pivot axis, one face: what a completion certificate needs."""
    station = _any_station(first)
    if station is not None:
        yield _returned(station, "return.station", "closing", number)
    for code in ("pivot_face.left", "pivot.left", "pivot.right"):
        if code in first:
            yield _returned(first[code], f"return.{code}", "closing", number)


def _any_station(first: dict[str, Step]) -> Step | None:
    """Straight ahead is found again most easily; where it stands does not matter."""
    return first.get("station.ahead")


def _returned(step: Step, code: str, group: str, number: int) -> Step:
    # The side is not stated: whoever measures again need not turn as far.
    return step._replace(
        code=code, group=group, station=return_name(number), turn=None, wanted=step.least
    )
