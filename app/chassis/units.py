"""Whether the survey is in millimetres: the head lies 300 to 1200 mm from the pivot."""

import math

from app.chassis import refusals
from app.chassis.frames import Vector, mean, minus
from app.chassis.survey import Survey

NEAR_NOMINAL = 0.05
ROUGHLY = 1.3
_RANGES = (("metres", 0.3, 1.2), ("inches", 12.0, 47.0), ("centimetres", 47.0, 120.0))
_HEAD_FEATURES = ("head_face", "head_bore", "steer_target")


def check(
    feature: str, distance: float, nominal_mm: float | None, near: float = NEAR_NOMINAL
) -> None:
    """Raises Refusal `metres`, `inches`, `centimetres` or `implausible_size`.

    distance: of the head from the pivot axis, in what the survey is in; nominal_mm: the same by
    the reference; near: how far, relative, the distance may be from the nominal in another unit to
    be taken for it, which goes first.
    """
    if nominal_mm:
        for unit, size in refusals.UNIT_MM.items():
            if abs(distance * size / nominal_mm - 1.0) <= near:
                raise refusals.wrong_unit(unit, feature, distance, nominal_mm)
    if refusals.SIZE_LOWEST_MM <= distance <= refusals.SIZE_HIGHEST_MM:
        return
    for unit, lowest, highest in _RANGES:
        if lowest <= distance <= highest:
            raise refusals.wrong_unit(unit, feature, distance, nominal_mm)
    raise refusals.implausible_size(feature, distance, nominal_mm)


def check_roughly(survey: Survey, nominal_mm: float | None) -> None:
    """The same where nothing could be fitted, from the mean of the head's points.

    A survey in other units is to be refused for its units, not for movements that look small.
    """
    pivot = _places(survey, "pivot")
    for feature in _HEAD_FEATURES:
        head = _places(survey, feature)
        if not (pivot and head):
            continue
        distance = math.hypot(*minus(mean(head), mean(pivot)))
        for _, lowest, highest in _RANGES:
            if lowest / ROUGHLY <= distance <= highest * ROUGHLY:
                within = min(max(distance, lowest), highest)
                check(feature, within, nominal_mm, ROUGHLY - 1.0)
        return


def _places(survey: Survey, feature: str) -> list[Vector]:
    chosen = [i for i, name in enumerate(survey.feature) if name == feature]
    return [(x, y, z) for x, y, z in survey.xyz[chosen].tolist()]
