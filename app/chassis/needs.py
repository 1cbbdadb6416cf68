"""What must be measured before anything can be said, and what is still missing for a finding."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

from app.chassis.result import Result
from app.chassis.senses import family
from app.chassis.survey import Survey
from app.errors import Fact, Refusal

LACKS = frozenset(
    {"too_few_points", "too_few_stations", "axis_not_determined", "steering_hardly_turned",
     "left_unknown", "coincident_points", "levelling_not_determined", "unknown_target"}
)  # fmt: skip
"""Refusals that more points would lift. All others tell of a mistake; so do two targets that
stand at one place."""

_HEAD = (("pivot",), ("steer_target", "head_bore"))
_HEAD_FACE = (*_HEAD, ("head_face",))
_FRAME_FACES = ("pivot_face.left",), ("pivot_face.right",)
_ARM = (("pivot",), *_FRAME_FACES, ("rear_axle",))
_FORK = (("fork_leg.left",), ("fork_leg.right",))
_LEVEL = (*_HEAD_FACE,)
_PAIR = (("pivot",), ("pair",))
NEEDED: Mapping[str, tuple[tuple[str, ...], ...]] = MappingProxyType(
    {
        "head_twist": _HEAD,
        "axis_distance": _HEAD,
        "head_offset": (*_HEAD_FACE, *_FRAME_FACES),
        "face_position": _HEAD_FACE,
        "head_reach": _LEVEL,
        "head_height": _LEVEL,
        "head_angle": _LEVEL,
        "pivot_width": (("pivot",), *_FRAME_FACES),
        "face_squareness": _HEAD_FACE,
        "bore_runout": (("head_bore",),),
        "arm_length": _ARM,
        "axle_toe": _ARM,
        "axle_twist": _ARM,
        "axle_offset": _ARM,
        "pair_offset": (*_PAIR, *_FRAME_FACES),
        "pair_roll": _PAIR,
        "pair_skew": _PAIR,
        "axis_toe": (("pivot",), ("axis",)),
        "axis_twist": (("pivot",), ("axis",)),
        "control.x": (("pivot",), ("control",)),
        "control.y": (("pivot",), *_FRAME_FACES, ("control",)),
        "control.z": (("pivot",), ("control",)),
        "distance": (("control",),),
        "datum_roll": (("pivot",), ("control",)),
        "datum_yaw": (("pivot",), ("control",)),
        "datum_shift": (("pivot",), *_FRAME_FACES, ("control",)),
        "fork_spread": _FORK,
        "fork_cross": _FORK,
        "fork_spacing": _FORK,
        "fork_rake": (*_HEAD, *_FORK),
        "fork_lean": (*_HEAD, *_FORK),
        "fork_offset": (*_HEAD, *_FORK),
        "wheel_lean": (*_HEAD, ("front_rim",), ("rear_rim",)),
        "wheel_track": (*_HEAD, ("front_rim",), ("rear_rim",)),
        "front_wheel_lean": (*_HEAD, ("front_rim",)),
        "front_wheel_offset": (*_HEAD_FACE, ("front_rim",)),
    }
)
"""By family of keys: what it takes; of what stands in one bracket any one suffices."""


class Need(NamedTuple):
    """Something that is needed, by code.

    Of what is needed first: the refusal's code with its facts. Else `set_up_moved`;
    `characteristic_missing` (facts: key, and lacking, joined by ", "); `levelling_missing` (facts:
    key); `orientation_missing`; `return_missing` (facts: lacking: what a completion certificate
    needs measured again, joined by ", ").
    """

    code: str
    feature: str | None
    facts: tuple[tuple[str, Fact], ...] = ()


def first_of_all(refusal: Refusal) -> Need:
    """What is needed before the survey can be solved. Raises the refusal itself where no point
    that is missing explains it."""
    entered_twice = refusal.code == "coincident_points" and refusal.feature == "steer_target"
    if refusal.code not in LACKS or entered_twice:
        raise refusal
    return Need(refusal.code, refusal.feature, tuple(refusal.facts.items()))


def still(survey: Survey, result: Result) -> tuple[Need, ...]:
    """What stands between a survey that was solved and a finding that can be certified."""
    if result.rig_check.verdict == "moved":
        return (Need("set_up_moved", None),)
    found = [_for_characteristic(survey, key) for key in result.finding.missing]
    if survey.up is None and result.orientation == "not_checked":
        found.append(Need("orientation_missing", "up"))
    absent = _not_returned(survey)
    if absent:
        found.append(Need("return_missing", "pivot", (("lacking", ", ".join(absent)),)))
    return tuple(found)


def _for_characteristic(survey: Survey, key: str) -> Need:
    met = {
        *survey.feature,
        *[f"{f}.{x}" for f, x in zip(survey.feature, survey.label, strict=True)],
    }
    lacking = [
        " / ".join(any_of) for any_of in _needed(key) if not any(one in met for one in any_of)
    ]
    if not lacking:
        return Need("levelling_missing", None, (("key", key),))
    return Need("characteristic_missing", None, (("key", key), ("lacking", ", ".join(lacking))))


def _needed(key: str) -> tuple[tuple[str, ...], ...]:
    """With the names that the key itself carries."""
    first, *names = key.split(".")
    needed = NEEDED.get(family(key), ())
    if first == "control":
        return tuple([(f"control.{names[0]}",) if one == ("control",) else one for one in needed])
    if first == "distance":
        return tuple([(f"control.{name}",) for name in names])
    if first in ("pair_offset", "pair_roll", "pair_skew"):
        sides = [(f"pair.{names[0]}.{side}",) for side in ("left", "right")]
        return (*[one for one in needed if one != ("pair",)], *sides)
    if first in ("axis_toe", "axis_twist"):
        return (*[one for one in needed if one != ("axis",)], (f"axis.{names[0]}",))
    return needed


def _not_returned(survey: Survey) -> list[str]:
    """Of the datum, what a completion certificate needs measured again last."""
    again = {
        f"{feature}.{label}"
        for feature, label, station in zip(
            survey.feature, survey.label, survey.station, strict=True
        )
        if (station or "").startswith("return")
    }
    absent = [name for name in ("pivot.left", "pivot.right") if name not in again]
    faces = {name for name in again if name.startswith("pivot_face")}
    if not faces and "pivot_face" in survey.feature:
        absent.append("pivot_face")
    return absent
