"""Where further points of a survey would be found, and what a candidate is.

Each is placed where the fitted axes say that it would be found, in the instrument's axes. A point
copies its uncertainty, offset and name from one that was measured (its pattern). Where the growth
by warmth moves such a place, it does so by less than a hand does.
"""

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from app.chassis.estimate import Axis
from app.chassis.set_up import SetUp
from app.chassis.survey import Floats, Survey

Facts = tuple[tuple[str, str | int | float | None], ...]


class NewPoint(NamedTuple):
    """xyz: (3,), mm, in the instrument's axes; pattern: the point of the survey that it is like."""

    pattern: int
    station: str | None
    xyz: Floats
    label: str | None = None
    """None: the pattern's."""


class Candidate(NamedTuple):
    """code: what it is (`pivot_return`, `pivot_point`, `face_return`, `face_point`,
    `head_face_point`, `bore_point`, `station`, `steering_return`, `target`, `line_point`,
    `named_point`, `arm_face_point`, `rim_point`, `rim_half_turn`).

    facts: `side`, `end`, `label`, `angle_deg`, `stations`, as far as the code needs them.
    """

    code: str
    feature: str
    facts: Facts
    points: tuple[NewPoint, ...]


class Places:
    """The survey's points as measured, and the fitted axes, in the instrument's axes."""

    def __init__(self, set_up: SetUp) -> None:
        self.set_up = set_up
        self.survey: Survey = set_up.prepared.points.survey
        self.first = set_up.prepared.points.first
        self.returned = set_up.prepared.points.returned
        self.xyz = self.survey.xyz
        self.centre = self.xyz[self.first["pivot"]].mean(axis=0)

    def of(self, feature: str, label: str | None = None) -> list[int]:
        places = self.first.get(feature, [])
        return places if label is None else [i for i in places if self.survey.label[i] == label]

    def labels(self, feature: str) -> list[str]:
        found = dict.fromkeys(str(self.survey.label[i]) for i in self.of(feature))
        return sorted(found)

    def turned(self, place: int, axis: Axis, angle: float) -> Floats:
        """A point turned about an axis, right-handed (Rodrigues' formula)."""
        direction, through = np.array(axis.direction), self.centre + np.array(axis.point)
        arm = self.xyz[place] - through
        along = direction * (direction @ arm)
        across = arm - along
        return np.asarray(
            through
            + along
            + math.cos(angle) * across
            + math.sin(angle) * np.cross(direction, across)
        )

    def again(self, place: int, station: str | None) -> NewPoint:
        return NewPoint(place, station, self.xyz[place])

    def free_return(self, feature: str) -> str:
        """A name for one more return."""
        met = {self.survey.station[i] for i in self.returned.get(feature, [])}
        numbers = ["", *[str(n) for n in range(2, len(met) + 2)]]
        return next(name for n in numbers if (name := f"return{n}") not in met)


def ends_of(places: Sequence[int], along: Floats) -> tuple[int, int]:
    """The places that stand lowest and highest along a direction."""
    return min(places, key=along.__getitem__), max(places, key=along.__getitem__)
