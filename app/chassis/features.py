"""The points of a survey, sorted by feature, checked one by one."""

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from app.chassis import caveats, refusals
from app.chassis.result import Caveat
from app.chassis.survey import FEATURES, Floats, Survey
from app.errors import Refusal

OF_THE_HEAD = frozenset({"pivot", "pivot_face", "steer_target", "head_bore", "head_face"})
"""What the estimate of the two axes and their faces takes; every other feature is further."""
BY_LABEL = FEATURES - {"pivot", "head_bore", "head_face", "rear_axle"}
"""Features of which each label is something of its own."""
SIDED = frozenset({"pivot_face", "axle_face", "fork_leg", "front_rim", "rear_rim"})
LABELS = {**dict.fromkeys(SIDED, ("left", "right")), "level_line": ("rear", "front")}
NAMED = frozenset({"control", "axis"})
LABELLED = frozenset({*LABELS, *NAMED, "pair"})
POINT_FEATURES = frozenset({"steer_target", "control", "pair", "level_line"})
WITH_NORMAL = frozenset({"head_face", "pivot_face", "axle_face", "front_rim", "rear_rim"})
RIMS = frozenset({"front_rim", "rear_rim"})
HALF_TURN = "half_turn"
SIDES = ("left", "right")
LARGEST_MM = 1e7


class Points(NamedTuple):
    """Where the points of each feature stand in the survey: first measured, and returned."""

    survey: Survey
    first: dict[str, list[int]]
    returned: dict[str, list[int]]

    def of(self, feature: str) -> list[int]:
        return self.first.get(feature, []) + self.returned.get(feature, [])

    def labelled(self, places: Sequence[int], label: str) -> list[int]:
        labels = self.survey.label
        return [i for i in places if labels[i] == label]


def read(survey: Survey) -> Points:
    """Sort the points by feature. Raises Refusal for a point that cannot be taken."""
    _check_finite(survey)
    first: dict[str, list[int]] = {}
    returned: dict[str, list[int]] = {}
    again = {name for name in {*survey.station} if name is not None and is_return(name)}
    for i, (feature, station) in enumerate(zip(survey.feature, survey.station, strict=True)):
        if feature not in FEATURES:
            raise refusals.unknown_feature(feature, i + 1, tuple(sorted(FEATURES)))
        group = returned if station in again else first
        group.setdefault(feature, []).append(i)
    points = Points(survey, first, returned)
    _check_labels(points)
    _check_half_turns(survey)
    _check_offsets(survey)
    return points


def is_return(station: str) -> bool:
    """Whether the station's name says that it repeats an earlier one: `return`, `return2` …"""
    return station == "return" or (station.startswith("return") and station[6:].isdigit())


def _check_finite(survey: Survey) -> None:
    # NaN is not below any number, so that one comparison finds all that cannot be.
    if survey.xyz.size and not np.abs(survey.xyz).max() <= LARGEST_MM:
        raise _not_a_place(survey)
    for what, values in (("u", survey.u), ("offset", survey.offset)):
        stated = values.tolist()
        if math.inf in stated or -math.inf in stated:
            i = [math.isinf(value) for value in stated].index(True)
            raise refusals.not_finite(survey.feature[i], what, i + 1)
    for i, covariance in survey.cov.items():
        if not np.isfinite(covariance).all():
            raise refusals.not_finite(survey.feature[i], "cov", i + 1)
    if not all(map(math.isfinite, _instrument_numbers(survey))):
        raise refusals.not_finite("instrument", "instrument")
    if survey.up is not None and not all(map(math.isfinite, survey.up)):
        raise refusals.not_finite("up", "up")
    for one, other, length, u in survey.target_spacing:
        if not (math.isfinite(length) and math.isfinite(u)):
            raise refusals.not_finite("steer_target", "spacing")
        if one == other or length <= 0.0:
            raise refusals.spacing_unusable(one, other, length)
        if u <= 0.0:
            raise refusals.no_uncertainty("steer_target", 0, "spacing")


def _not_a_place(survey: Survey) -> Refusal:
    finite = np.isfinite(survey.xyz).all(axis=1)
    if not finite.all():
        i = int(np.flatnonzero(~finite)[0])
        return refusals.not_finite(survey.feature[i], "xyz", i + 1)
    farthest = np.abs(survey.xyz).max(axis=1)
    i = int(farthest.argmax())
    return refusals.implausible_size(survey.feature[i], float(farthest[i]), None)


def _instrument_numbers(survey: Survey) -> list[float]:
    instrument = survey.instrument
    stated = (
        instrument.standard_uncertainty_mm,
        instrument.probe_radius_mm,
        instrument.scale_temperature_c,
        instrument.repeatability_mm,
        instrument.repeatability_degrees_of_freedom,
        survey.part_temperature_c,
        survey.part_temperature_u_k,
    )
    known = [number for number in stated if number is not None]
    return [
        *known,
        instrument.offset_u_mm,
        instrument.scale_u_ppm,
        instrument.scale_expansion_per_k,
    ]


def _check_labels(points: Points) -> None:
    survey = points.survey
    for i in points.of("steer_target"):
        label, station, turn = survey.label[i], survey.station[i], survey.turn[i]
        if label is None:
            raise refusals.label_missing("steer_target", i + 1, ("name",))
        if station is None:
            raise refusals.station_missing(i + 1, label)
        if turn is not None and turn not in SIDES:
            raise refusals.unknown_turn(i + 1, turn)
    for groups in (points.first, points.returned):
        for feature, places in groups.items():
            if feature in LABELLED:
                allowed = LABELS.get(feature)
                for i in places:
                    if allowed is None or survey.label[i] not in allowed:
                        _check_label(feature, i, survey.label[i], allowed)


def _check_label(feature: str, i: int, label: str | None, allowed: tuple[str, ...] | None) -> None:
    if allowed is not None and label not in allowed:
        raise refusals.label_missing(feature, i + 1, allowed)
    if feature in NAMED and not label:
        raise refusals.label_missing(feature, i + 1, ("name",))
    if feature == "pair" and not (label and label.endswith((".left", ".right"))):
        raise refusals.label_missing(feature, i + 1, ("name.left", "name.right"))


def _check_half_turns(survey: Survey) -> None:
    if HALF_TURN not in survey.station:
        return
    for i, feature in enumerate(survey.feature):
        if survey.station[i] == HALF_TURN and feature not in RIMS:
            raise refusals.half_turn_without_rim(feature, i + 1)


def _check_offsets(survey: Survey) -> None:
    for i, offset in enumerate(survey.offset.tolist()):
        if offset < 0.0:
            raise refusals.offset_negative(survey.feature[i], i + 1, offset)
        if offset > 0.0 and survey.feature[i] not in WITH_NORMAL:
            raise refusals.offset_without_normal(survey.feature[i], i + 1, offset)


def known_offsets(points: Points) -> tuple[Floats, list[Caveat]]:
    """(n,) distances of the measured centres outside their surfaces, mm; what is not known.

    Stated, or the instrument's; 0 where neither is, and for features that have no normal.
    """
    stated, default = points.survey.offset.tolist(), points.survey.instrument.probe_radius_mm
    corrected, warnings = [0.0] * len(stated), []
    for feature in ("pivot_face", "head_face", "axle_face", "front_rim", "rear_rim"):
        unknown = 0
        for i in points.of(feature):
            corrected[i] = stated[i]
            if math.isnan(stated[i]):
                corrected[i], unknown = default or 0.0, unknown + 1
        if default is None and unknown:
            warnings.append(caveats.probe_radius_unknown(feature, unknown))
    return np.array(corrected), warnings
