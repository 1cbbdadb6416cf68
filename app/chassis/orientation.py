"""Is left left, and up up? Each check against something that does not depend on the other.

A survey whose left and right are exchanged, or whose axes are left-handed, gives numbers that
look sound. It is refused with its possible causes and never put right by itself.
"""

import math
from collections.abc import Mapping

from app.chassis import refusals
from app.chassis.features import RIMS, SIDES, Points
from app.chassis.frames import Vector, dot, scaled
from app.chassis.survey import Floats

SIDE_VIEW_LOWEST_MM = 10.0
SIDE_VIEW_LOWEST_U = 10.0
FITS_BETTER = 5.0
SHORTEST_UP = 1e-3
"""A shorter `up` is rounding, and one near 1e-200 has no length that could be divided by."""


def check_up(up: Vector, upward: Vector, *, hanging: bool = False) -> str:
    """`checked`, or `not_checked`. Raises Refusal `left_right_or_mirrored` or `up_unusable`.

    up: the survey's; upward: unit vector square to the pivot axis (to the left) and to the
    direction ahead; hanging: ahead is told by an arm that may hang, so that up need not show.
    """
    length = math.hypot(*up)
    if length < SHORTEST_UP:
        raise refusals.up_unusable(0.0)
    # Not by the scalar product: the square of a very large number is none.
    agreement = dot(scaled(up, 1.0 / length), upward)
    if agreement < -refusals.AGREEMENT_NEEDED:
        raise refusals.up_contradicts(agreement)
    if agreement <= refusals.AGREEMENT_NEEDED:
        if hanging:
            return "not_checked"
        raise refusals.up_unusable(agreement)
    return "checked"


def check_side_view(position: float, u: float, nominal: float | None) -> bool:
    """Whether the side view can tell, mm. Raises Refusal `left_right_or_mirrored`.

    With left and right exchanged the head face shows on the other side of the foot.
    """
    if nominal is None or abs(nominal) <= max(SIDE_VIEW_LOWEST_MM, SIDE_VIEW_LOWEST_U * u):
        return False
    if FITS_BETTER * abs(-position - nominal) < abs(position - nominal):
        raise refusals.side_view_contradicts(position, nominal)
    return True


def check_pairs(points: Points, xyz: Floats, left: Vector) -> None:
    """Raises Refusal `pair_swapped` for a pair whose left lies to the right."""
    along = xyz.dot(left).tolist()
    sides: dict[tuple[str, str], dict[str, list[float]]] = {}
    for i, (feature, label) in enumerate(
        zip(points.survey.feature, points.survey.label, strict=True)
    ):
        if label is None or not label.endswith(SIDES):
            continue
        # A wheel may stand turned: its edges are told apart where they are fitted.
        if feature == "steer_target" or feature in RIMS:
            continue
        name, _, side = label.rpartition(".")
        if side in SIDES:
            sides.setdefault((feature, name), {}).setdefault(side, []).append(along[i])
    for (feature, name), places in sides.items():
        if len(places) == 2:
            means = [sum(places[side]) / len(places[side]) for side in SIDES]
            if means[0] <= means[1]:
                raise refusals.pair_swapped(feature, name or None, means[0] - means[1])


def check_turn(turns: Mapping[str, str], angles: Mapping[str, float]) -> None:
    """Raises Refusal `mirrored_axes` when stations turned left do not stand further left.

    turns: station -> `left` or `right` of straight ahead; angles: station -> radians, right-handed
    about the steering axis upward.
    """
    means = []
    for side in SIDES:
        stations = [angles[station] for station, turn in turns.items() if turn == side]
        if not stations:
            return
        means.append(sum(stations) / len(stations))
    left, right = means
    if left <= right:
        half = math.degrees(right - left) / 2.0
        raise refusals.mirrored_axes(-half, half)


def turns_of(points: Points, places: list[int]) -> dict[str, str]:
    """The side of straight ahead of each station. Raises Refusal `turn_contradicts`."""
    turns: dict[str, str] = {}
    for i in places:
        station, turn = points.survey.station[i], points.survey.turn[i]
        if station is not None and turn is not None and turns.setdefault(station, turn) != turn:
            raise refusals.turn_contradicts(station)
    return turns
