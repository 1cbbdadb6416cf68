"""How far from the pivot axis each part of a machine may lie, by the reference or in general.

The general bounds are wide enough for any motorcycle (common practice, no source); around a
nominal there is room for what a crash bends.
"""

import math
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from app.chassis.features import SIDES
from app.chassis.levelling import nominal_distance
from app.chassis.survey import NO_TOLERANCE, Floats, Reference, Survey

ROOM_MM, ROOM_SHARE = 60.0, 0.15
WIDEST_MM = 900.0
"""To either side of the datum's middle."""
BEHIND = frozenset({"rear_axle", "axle_face"})
AHEAD = frozenset({"head_face", "head_bore"})
OF_DATUM = frozenset({"pivot", "pivot_face", "steer_target"}) | AHEAD
HEAD_LONGEST_MM = 300.0
GENERAL: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        "pivot_face": (0.0, 200.0),
        "head_face": (250.0, 1300.0),
        "head_bore": (200.0, 1600.0),
        "steer_target": (0.0, 2200.0),
        "axle_face": (200.0, 1000.0),
        "rear_axle": (200.0, 1000.0),
        "fork_leg": (100.0, 2200.0),
        "front_rim": (0.0, 2500.0),
        "rear_rim": (0.0, 1500.0),
    }
)
ANYWHERE = (0.0, 2200.0)
PIVOTS_APART = (80.0, 1500.0)
LONGEST_PIVOT_END_MM = 120.0
"""Readings of one end may lie at different depths of the pivot, no farther apart than this."""
DIRECTED = 0.2
"""A cosine this far from nothing tells ahead from behind."""


class Datum(NamedTuple):
    """middle: (3,) of the datum so far; left, ahead: (3,) unit vectors, None while not known."""

    middle: Floats
    left: Floats | None
    ahead: Floats | None


def room(nominal: float) -> float:
    """How far a bent part may lie from its nominal place, mm."""
    return max(ROOM_MM, ROOM_SHARE * abs(nominal))


def datum_of(survey: Survey) -> Datum | None:
    """What the points so far tell of the datum; None without a point of it."""
    found: dict[str, dict[str | None, list[int]]] = {}
    for i, feature in enumerate(survey.feature):
        if feature in OF_DATUM:
            found.setdefault(feature, {}).setdefault(survey.label[i], []).append(i)
    pivots = [found.get("pivot", {}).get(side, []) for side in SIDES]
    faces = [found.get("pivot_face", {}).get(side, []) for side in SIDES]
    ends = pivots if all(pivots) or not all(faces) else faces
    if not any(ends):
        return None
    if not all(ends):
        return Datum(mean_place(survey, [i for end in ends for i in end]), None, None)
    one, other = (mean_place(survey, end) for end in ends)
    middle, left = (one + other) / 2.0, _unit(one - other)
    if left is None:
        return Datum(middle, None, None)
    targets = [i for places in found.get("steer_target", {}).values() for i in places]
    head = [i for name in AHEAD for places in found.get(name, {}).values() for i in places]
    return Datum(middle, left, _ahead(survey, sorted(targets or head), middle, left))


def mean_place(survey: Survey, places: Sequence[int]) -> Floats:
    """(3,), mm: the mean of some points, mostly of one."""
    if len(places) == 1:
        return np.asarray(survey.xyz[places[0]])
    return np.asarray(survey.xyz[list(places)].mean(axis=0))


def _ahead(survey: Survey, places: list[int], middle: Floats, left: Floats) -> Floats | None:
    """Towards what stands for the head, square to the pivot axis."""
    if not places:
        return None
    arm = mean_place(survey, places) - middle
    return _unit(arm - left * (left @ arm))


def _unit(vector: Floats) -> Floats | None:
    length = math.sqrt(float(vector @ vector))
    return None if length < 1e-9 else np.asarray(vector / length)


class Located(NamedTuple):
    """A place as the datum sees it, mm: distance from the pivot axis, or from the datum so far; how
    far to the left it lies; how far ahead, None while that direction is not known."""

    distance: float
    side: float
    along: float | None


def located(datum: Datum, places: Floats) -> list[Located]:
    """Of places (n, 3), all at once."""
    arms = places - datum.middle
    side = np.zeros(len(arms)) if datum.left is None else arms @ datum.left
    squared = np.einsum("ij,ij->i", arms, arms) - side * side
    distances = np.sqrt(np.maximum(0.0, squared)).tolist()
    ahead = [None] * len(arms) if datum.ahead is None else (arms @ datum.ahead).tolist()
    return [Located(*one) for one in zip(distances, side.tolist(), ahead, strict=True)]


def bounds(reference: Reference, feature: str, label: str | None) -> tuple[float, float]:
    """Least and greatest distance of a feature from the pivot axis, mm."""
    nominal = _nominal(reference, feature, label)
    if nominal is None:
        return GENERAL.get(feature, ANYWHERE)
    above = HEAD_LONGEST_MM if feature == "head_bore" else 0.0
    return max(0.0, nominal - room(nominal)), nominal + above + room(nominal)


def _nominal(reference: Reference, feature: str, label: str | None) -> float | None:
    if feature in AHEAD:
        return nominal_distance(reference.characteristics)
    if feature in BEHIND:
        return reference.characteristics.get("arm_length", NO_TOLERANCE).nominal
    if feature == "control" and label is not None and label in reference.control_points:
        x, _, z = reference.control_points[label]
        return math.hypot(x, z)
    return None


def fits(
    reference: Reference, datum: Datum, place: Floats, feature: str, label: str | None
) -> bool:
    """Whether a place (3,), mm, may be of the feature."""
    return admits(reference, datum, located(datum, place[np.newaxis])[0], feature, label)


def admits(
    reference: Reference, datum: Datum, place: Located, feature: str, label: str | None
) -> bool:
    """The same for a place as the datum sees it."""
    lowest, highest = bounds(reference, feature, label)
    slack = 0.0 if datum.left is not None else WIDEST_MM
    if not max(0.0, lowest - slack) <= place.distance <= highest + slack:
        return False
    if abs(place.side) > WIDEST_MM:
        return False
    if place.along is None:
        return True
    if feature in BEHIND:
        return place.along < DIRECTED * place.distance
    return feature not in AHEAD or place.along > -DIRECTED * place.distance
