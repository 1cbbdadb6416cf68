"""Stations of the steering that were measured under names of their own: which suggested ones they
make unnecessary.

The turn between the stations decides, where the targets tell it: nobody is asked to turn the
steering to where it stood already. Each station counts for one, whatever it is called.
"""

from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from app.chassis.features import SIDES, is_return
from app.chassis.sequence import STATIONS
from app.chassis.station_checks import Seen, seen_of, turns_between
from app.chassis.steering_axis import STATIONS_NEEDED
from app.chassis.steering_check import TURN_NEEDED_DEG
from app.chassis.survey import Survey

NOMINAL_DEG: Mapping[str, float] = {
    name: -degrees if side == "right" else degrees for name, side, degrees in STATIONS
}
"""Where the suggested stations stand, to the left."""
LEAST_FIRST = ("half_right", "half_left", "ahead", "right", "left")
"""Suggested stations in the order in which others make them unnecessary, where no turn is known."""


def turned(survey: Survey) -> dict[str, float]:
    """Degrees to the left of each station, from any zero; empty where nothing tells it yet.

    Which way is left follows from the vertical, else from the sides that were told; with neither
    the stations are in order, perhaps from the other end.
    """
    seen = seen_of(survey, np.nan_to_num(survey.u))
    angles = {name: float(np.degrees(angle)) for name, angle in turns_between(seen).items()}
    if seen.up is None and _backwards(seen, angles):
        return {name: -angle for name, angle in angles.items()}
    return angles


def _backwards(seen: Seen, angles: Mapping[str, float]) -> bool:
    met = [[angle for name, angle in angles.items() if seen.turns.get(name) == s] for s in SIDES]
    return all(met) and float(np.mean(met[0])) < float(np.mean(met[1]))


def replaced(
    own: Sequence[str], measured: Iterable[str], suggested: Iterable[str], turn: Mapping[str, float]
) -> set[str]:
    """Names of the suggested stations that the own ones stand for, one each.

    own: names given by people, in order; measured: suggested stations that have points; turn: as
    `turned` gives it. The nearest pair comes first.
    """
    known, names = set(measured), set(suggested)
    left = [name for name in LEAST_FIRST if name in names and name not in known]
    straight = _straight(own, known, turn)
    pairs = sorted(
        (abs(turn[name] - straight - NOMINAL_DEG[other]), own.index(name), name, other)
        for name in own
        if name in turn
        for other in left
    )
    counted: dict[str, str] = {}
    for _gap, _order, name, other in pairs:
        if name not in counted and other not in counted.values():
            counted[name] = other
    rest = [other for other in left if other not in counted.values()]
    return {*counted.values(), *rest[: len([name for name in own if name not in counted])]}


def suffice(names: Sequence[str], turn: Mapping[str, float]) -> bool:
    """Whether these stations determine the axis well enough for a finding: then those that would
    have been suggested besides help, and the plan tells by how much, but nothing needs them."""
    met = [turn[name] for name in names if not is_return(name)]
    return len(met) >= STATIONS_NEEDED and max(met) - min(met) >= TURN_NEEDED_DEG


def _straight(own: Sequence[str], measured: Iterable[str], turn: Mapping[str, float]) -> float:
    """Where straight ahead is, on the scale of the turns: as the named stations say, else in the
    middle of the sweep."""
    told = [turn[name] - NOMINAL_DEG[name] for name in measured if name in turn]
    if told:
        return sum(told) / len(told)
    met = [turn[name] for name in own if name in turn]
    return (min(met) + max(met)) / 2.0 if met else 0.0
