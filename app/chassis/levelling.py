"""The turn about the pivot axis that says what is ahead and what is up.

With d = axis_distance and h = face_position: r = hypot(d, h), psi = atan2(h, d), theta the
elevation of H from the pivot. Then reach = r cos(theta), height = r sin(theta), head angle =
theta - psi.
"""

import math
from collections.abc import Mapping
from typing import NamedTuple

from app.chassis import caveats
from app.chassis.result import Caveat
from app.chassis.survey import NO_TOLERANCE, Reference, Tolerance

LATER_RULES = frozenset({"by_control", "by_line"})
SET_BY = {"by_height": "head_height", "by_angle": "head_angle"}
HIGHEST_ELEVATION = math.radians(60.0)
LEVELLED = ("head_reach", "head_height", "head_angle")


class Levelled(NamedTuple):
    """Values (mm, mm, rad) with their derivatives by d and h, and the turn.

    set_key: what the rule made equal to its nominal; set_value: that nominal in its unit.
    """

    elevation: float
    reach: float
    height: float
    angle: float
    slopes: tuple[tuple[float, float], tuple[float, float], tuple[float, float]]
    set_key: str
    set_value: float


def level(
    reference: Reference, distance: float, position: float
) -> tuple[Levelled | None, list[Caveat]]:
    """Level by the reference's rule; None, and why, where it cannot be done.

    distance: axis_distance, mm; position: face_position, mm.
    """
    rule = reference.levelling
    if rule is None:
        return None, [caveats.levelling_missing(None, "rule")]
    nominal = reference.characteristics.get(SET_BY[rule], NO_TOLERANCE).nominal
    if nominal is None:
        return None, [caveats.levelling_missing(rule, "nominal")]
    if rule == "by_height":
        return _by_height(nominal, distance, position)
    return _by_angle(nominal, distance, position), []


def _by_height(
    nominal: float, distance: float, position: float
) -> tuple[Levelled | None, list[Caveat]]:
    radius = math.hypot(distance, position)
    if radius <= abs(nominal):
        return None, [caveats.levelling_impossible("by_height", radius, nominal, None)]
    elevation = math.asin(nominal / radius)
    if elevation > HIGHEST_ELEVATION:
        degrees = math.degrees(elevation)
        return None, [caveats.levelling_impossible("by_height", radius, nominal, degrees)]
    reach = math.sqrt((radius - nominal) * (radius + nominal))
    by_d, by_h = distance / radius, position / radius
    # d theta / d r = -nominal / (r reach); psi moves by (-h, d) / r².
    turn = -nominal / (radius * reach)
    slopes = (
        (distance / reach, position / reach),
        (0.0, 0.0),
        (turn * by_d + position / radius**2, turn * by_h - distance / radius**2),
    )
    angle = elevation - math.atan2(position, distance)
    return Levelled(elevation, reach, nominal, angle, slopes, "head_height", nominal), []


def _by_angle(nominal_deg: float, distance: float, position: float) -> Levelled:
    nominal = math.radians(nominal_deg)
    elevation = nominal + math.atan2(position, distance)
    cosine, sine = math.cos(nominal), math.sin(nominal)
    return Levelled(
        elevation,
        distance * cosine - position * sine,
        distance * sine + position * cosine,
        nominal,
        ((cosine, -sine), (sine, cosine), (0.0, 0.0)),
        "head_angle",
        nominal_deg,
    )


def nominal_invariants(
    characteristics: Mapping[str, Tolerance],
) -> tuple[float | None, float | None]:
    """Nominal axis_distance and face_position (mm): stated, or from reach, height and angle."""
    stated = [
        characteristics.get(key, NO_TOLERANCE).nominal
        for key in ("axis_distance", "face_position", *LEVELLED)
    ]
    distance, position, reach, height, angle = stated
    if reach is not None and height is not None and angle is not None:
        cosine, sine = math.cos(math.radians(angle)), math.sin(math.radians(angle))
        if distance is None:
            distance = reach * cosine + height * sine
        if position is None:
            position = height * cosine - reach * sine
    return distance, position


def nominal_distance(characteristics: Mapping[str, Tolerance]) -> float | None:
    """Nominal distance of H from the pivot axis, mm, from any pair of nominals that tells it."""
    pairs = (
        nominal_invariants(characteristics),
        [characteristics.get(key, NO_TOLERANCE).nominal for key in ("head_reach", "head_height")],
    )
    for one, other in pairs:
        if one is not None and other is not None:
            return math.hypot(one, other)
    return None
