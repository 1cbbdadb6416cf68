"""Are the instrument's axes right-handed? A steering turned to the known left shows it.

Distances and scatter are the same in left-handed axes, so nothing else in a survey does. Only the
steering targets are looked at: no datum and no reference is needed.
"""

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from app.chassis import refusals
from app.chassis.orientation import SHORTEST_UP
from app.chassis.survey import Floats, Survey
from app.geometry.circles import Circle, fit_circle

RIGHT_HANDED = "right_handed"
LEFT_HANDED = "left_handed"
TURN_NEEDED_DEG = 5.0
STATIONS_NEEDED = 3


class Handedness(NamedTuple):
    verdict: str
    """`right_handed` or `left_handed`."""
    left_turn_deg: float
    """By how much the stations turned left stand to the left of the others, by the axes as they
    are: negative where these are left-handed."""
    targets: int
    stations: int


def handedness(survey: Survey) -> Handedness:
    """Judge the axes by the targets seen at three stations or more, some of them turned left.

    Stations marked `left` are compared with all others. Formula: the circle of each target, its
    normal upward by the survey's `up`; the angles about it, right-handed, of the two groups.
    Raises Refusal `up_unusable`, `too_few_stations`, `turn_not_stated`, `turn_contradicts`,
    `turned_too_little`, `axis_not_determined`.
    """
    up = _upward(survey)
    places = [
        i
        for i, feature in enumerate(survey.feature)
        if feature == "steer_target" and not str(survey.station[i]).startswith("return")
    ]
    turned_left = _stations_left(survey, places)
    by_target: dict[str, list[int]] = {}
    for i in places:
        by_target.setdefault(str(survey.label[i]), []).append(i)
    seen = {name: len({survey.station[i] for i in group}) for name, group in by_target.items()}
    if max(seen.values(), default=0) < STATIONS_NEEDED:
        raise refusals.too_few_stations(max(seen.values(), default=0), STATIONS_NEEDED)
    groups = [group for name, group in by_target.items() if seen[name] >= STATIONS_NEEDED]
    turns = [_left_turn(survey, group, turned_left, up) for group in groups]
    return _judged(turns, len({survey.station[i] for group in groups for i in group}))


def _judged(turns: Sequence[float | None], stations: int) -> Handedness:
    known = [turn for turn in turns if turn is not None]
    if not known:
        raise refusals.turn_not_stated()
    mean = sum(known) / len(known)
    least = min(known, key=abs)
    if abs(least) < math.radians(TURN_NEEDED_DEG):
        raise refusals.turned_too_little(math.degrees(abs(least)), TURN_NEEDED_DEG)
    if least * mean < 0.0:
        raise refusals.targets_turn_apart()
    verdict = RIGHT_HANDED if mean > 0.0 else LEFT_HANDED
    return Handedness(verdict, math.degrees(mean), len(known), stations)


def _upward(survey: Survey) -> Floats:
    up = np.array(survey.up or (0.0, 0.0, 0.0))
    length = float(np.linalg.norm(up))
    if not math.isfinite(length) or length < SHORTEST_UP:
        raise refusals.up_unusable(0.0)
    return np.asarray(up / length, dtype=np.float64)


def _stations_left(survey: Survey, places: Sequence[int]) -> frozenset[str | None]:
    turns: dict[str | None, set[str]] = {}
    for i in places:
        turn = survey.turn[i]
        if turn is not None:
            turns.setdefault(survey.station[i], set()).add(turn)
    for station, met in turns.items():
        if len(met) > 1:
            raise refusals.turn_contradicts(str(station))
    return frozenset(station for station, met in turns.items() if "left" in met)


def _left_turn(
    survey: Survey, group: Sequence[int], turned_left: frozenset[str | None], up: Floats
) -> float | None:
    """Radians by which the target's stations turned left stand further round than the others."""
    left = np.array([survey.station[i] in turned_left for i in group])
    if left.all() or not left.any():
        return None
    circle = _circle(survey, group)
    agreement = float(circle.normal @ up)
    if abs(agreement) <= refusals.AGREEMENT_NEEDED:
        raise refusals.up_unusable(agreement)
    normal = math.copysign(1.0, agreement) * circle.normal
    arms = survey.xyz[list(group)] - circle.centre
    middle = arms.mean(axis=0)
    sines = np.cross(np.broadcast_to(middle, arms.shape), arms) @ normal
    angles = np.arctan2(sines, arms @ middle)
    return float(angles[left].mean() - angles[~left].mean())


def _circle(survey: Survey, group: Sequence[int]) -> Circle:
    try:
        return fit_circle(survey.xyz[list(group)])
    except ValueError:
        raise refusals.axis_not_determined("steer_target", "no_solution") from None
