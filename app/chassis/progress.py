"""How far a sequence has come: which points belong to which step, and which step is next."""

from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import NamedTuple

from app.chassis import own_stations, sequence
from app.chassis.features import is_return
from app.chassis.sequence import Again, Step
from app.chassis.survey import Reference

Taken = tuple[str, str | None, str | None]
"""Feature, label and station of a point."""
NOT_TOLD: Mapping[str, float] = MappingProxyType({})


class Progress(NamedTuple):
    """One step as it stands.

    points: places of its points among those given; open_names: which of its named points are
    still missing. state: `done`, `begun`, `open`.
    """

    step: Step
    points: tuple[int, ...]
    open_names: tuple[str, ...]
    state: str


def targets_of(points: Sequence[Taken], named: Sequence[str] = ()) -> tuple[str, ...]:
    """Names of the targets: those that were given, else those that were measured. Where these are
    among the suggested ones, all of the suggested: the others are still to come."""
    seen = [str(label) for feature, label, _ in points if feature == "steer_target"]
    suggested = sequence.TARGETS if not named and set(seen) <= set(sequence.TARGETS) else ()
    return tuple(dict.fromkeys([*named, *suggested, *seen]))


def progress(
    reference: Reference,
    phase: str,
    points: Sequence[Taken],
    noted: Iterable[str] = (),
    named: Sequence[str] = (),
    again: Sequence[Again] = (),
    turn: Mapping[str, float] = NOT_TOLD,
) -> tuple[Progress, ...]:
    """All steps with their points.

    noted: codes of the steps that are done without a point; named: targets; again: as for
    `sequence.steps`. Points that no step asked for are steps of the group `beside`; stations that
    were given names of their own take the place of those that would have been suggested, as their
    turn has it (`own_stations.turned`).
    """
    suggested = sequence.steps(reference, phase, targets_of(points, named), again)
    return progress_on(suggested, phase, points, noted, turn)


def progress_on(
    suggested: Sequence[Step],
    phase: str,
    points: Sequence[Taken],
    noted: Iterable[str] = (),
    turn: Mapping[str, float] = NOT_TOLD,
) -> tuple[Progress, ...]:
    """The same with the steps that are suggested for these points already known."""
    planned = _with_own_stations(suggested, phase, points, turn)
    home = _homes(planned)
    groups: dict[str, list[int]] = {}
    beside: dict[Taken, list[int]] = {}
    for place, point in enumerate(points):
        step = _home(home, point)
        if step is None:
            beside.setdefault(_key(point), []).append(place)
        else:
            groups.setdefault(step, []).append(place)
    known = set(noted)
    found = [_stands(step, groups.get(step.code, []), points, known) for step in planned]
    extra = [_beside(key, number) for number, key in enumerate(beside, 1)]
    return (
        *found,
        *[
            Progress(step, tuple(places), (), "done")
            for step, places in zip(extra, beside.values(), strict=True)
        ],
    )


def current(found: Sequence[Progress], after: str | None = None) -> str | None:
    """The step to do next: the first required one after the named one that lacks anything a finding
    needs, else the first such step of all; None when there is none."""
    codes = [one.step.code for one in found]
    begin = codes.index(after) + 1 if after in codes else 0
    in_order = [*found[begin:], *found[:begin]]
    left = [one.step.code for one in in_order if one.step.required and not _enough(one)]
    # What an interrupted measurement must repeat comes before all else that is measured.
    first = [code for code in left if code.startswith("again")]
    return next(iter(first or left), None)


def _enough(one: Progress) -> bool:
    """Whoever went on with the least number of points is not sent back for more."""
    if one.state == "done" or one.step.feature in (None, "steer_target"):
        return one.state == "done"
    return len(one.points) >= one.step.least


def own_names(points: Sequence[Taken], phase: str) -> list[str]:
    """Stations that nobody suggested, in order; the returns are no stations of their own."""
    suggested = sequence.station_names(phase)
    met = [s for f, _, s in points if f == "steer_target" and s and not is_return(s)]
    return [name for name in dict.fromkeys(met) if name not in suggested]


def _with_own_stations(
    planned: Sequence[Step], phase: str, points: Sequence[Taken], turn: Mapping[str, float]
) -> list[Step]:
    own = own_names(points, phase)
    pattern = next((step for step in planned if step.code == "station.ahead"), None)
    if not own or pattern is None:
        return list(planned)
    names = sequence.station_names(phase)
    met = {station for feature, _, station in points if feature == "steer_target"}
    dropped = own_stations.replaced(own, [name for name in names if name in met], names, turn)
    enough = own_stations.suffice(
        [name for name in dict.fromkeys(met) if name is not None and name in turn], turn
    )
    made = [
        pattern._replace(code=f"station.{name}", station=name, turn=None, turn_deg=None)
        for name in own
    ]
    kept = [s for s in planned if s.group != "steering" or s.station not in dropped]
    if enough:
        helpful = {s.code for s in kept if s.group == "steering" and s.station not in met}
        kept = [s._replace(required=False) if s.code in helpful else s for s in kept]
    at = next(place for place, step in enumerate(planned) if step.group == "steering")
    return [*kept[:at], *made, *kept[at:]]


def _key(point: Taken) -> Taken:
    """Targets of one station, and all labels of a feature without any, belong together."""
    feature, label, station = point
    return (feature, None, station) if feature == "steer_target" else (feature, label, station)


def _homes(planned: Sequence[Step]) -> Mapping[Taken, str]:
    return {(step.feature, step.label, step.station): step.code for step in planned if step.feature}


def _home(homes: Mapping[Taken, str], point: Taken) -> str | None:
    feature, label, station = point
    exact = homes.get((feature, label, station))
    if exact is not None:
        return exact
    return homes.get((feature, None, station))


def _stands(
    step: Step, places: Sequence[int], points: Sequence[Taken], noted: set[str]
) -> Progress:
    if step.feature is None:
        return Progress(step, (), (), "done" if step.code in noted else "open")
    if step.feature == "steer_target":
        seen = {points[place][1] for place in places}
        missing = tuple([name for name in step.names if name not in seen])
        complete = not missing
    else:
        missing = step.names[len(places) :]
        complete = len(places) >= step.wanted
    state = "done" if complete and places else "begun" if places else "open"
    return Progress(step, tuple(places), missing, state)


def _beside(key: Taken, number: int) -> Step:
    feature, label, station = key
    return Step(f"beside.{number}", feature, "beside", feature, label, station, required=False)


def own_returns(points: Sequence[Taken]) -> int:
    """The highest number of a return that is in use; 0 without any."""
    names = {station for _, _, station in points if station and is_return(station)}
    return max([int(name[6:] or 1) for name in names], default=0)
