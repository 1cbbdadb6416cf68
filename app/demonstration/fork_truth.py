"""What is true of a fork, from the places of its legs that were measured."""

import math
from collections.abc import Iterator

import numpy as np

from app.demonstration import elements
from app.demonstration.elements import Head
from app.demonstration.machine import Fork
from app.demonstration.vectors import Floats, crossed, unit


def fork_values(fork: Fork, head: Head, touched: Floats) -> Iterator[tuple[str, float]]:
    """Spread, cross and spacing of the legs; rake, lean and offset against the steering axis.

    touched: (2, k) places along the left and the right leg.
    """
    both = elements.legs(fork, head)
    means = [leg.at(along).mean(axis=0) for leg, along in zip(both, touched, strict=True)]
    up = unit(both[0].direction + both[1].direction)
    across = means[0] - means[1]
    aside = unit(across - (across @ up) * up)
    ahead = crossed(aside, up)
    own = np.array([aside, ahead, up])
    slopes = [own @ leg.direction for leg in both]
    yield "fork_spread", _opening(slopes, 0)
    yield "fork_cross", _opening(slopes, 1)
    # Both legs where they pass the plane at the mean height of all points.
    height = _mean_height(both, touched, up)
    at = [
        leg.point + leg.direction * (height - leg.point @ up) / (leg.direction @ up) for leg in both
    ]
    yield "fork_spacing", float((at[0] - at[1]) @ aside)
    yield from _against_steering(own, 0.5 * (at[0] + at[1]), head)


def _opening(slopes: list[Floats], way: int) -> float:
    left, right = (math.atan2(slope[way], slope[2]) for slope in slopes)
    return math.degrees(left - right)


def _mean_height(
    both: tuple[elements.TrueLine, elements.TrueLine], touched: Floats, up: Floats
) -> float:
    points = np.vstack([leg.at(along) for leg, along in zip(both, touched, strict=True)])
    return float(np.mean(points @ up))


def _against_steering(own: Floats, middle: Floats, head: Head) -> Iterator[tuple[str, float]]:
    aside, ahead, up = own @ head.axis
    yield "fork_rake", -math.degrees(math.atan2(ahead, up))
    yield "fork_lean", math.degrees(math.atan2(aside, up))
    # The part of the way from H to the middle that is square to the steering axis.
    way = middle - head.point
    beside = crossed(head.axis, crossed(way, head.axis))
    yield "fork_offset", float(own[1] @ beside)
