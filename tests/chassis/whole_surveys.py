"""Surveys of an invented whole machine, and what the tests ask of them."""

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

import numpy as np

from app.chassis.result import Characteristic, Result
from app.chassis.survey import Reference, Survey, Tolerance
from app.demonstration.extent import Extent
from app.demonstration.machine import SOUND
from app.demonstration.machine_survey import measure
from tests.chassis.seen_again import in_order


def reference(
    levelling: str = "by_control", limits: Mapping[str, Tolerance] = MappingProxyType({})
) -> Reference:
    nominal = {
        "by_height": {"head_height": Tolerance(SOUND.head.head_height_mm)},
        "by_angle": {"head_angle": Tolerance(SOUND.head.head_angle_deg)},
    }
    return Reference(
        {**nominal.get(levelling, {}), **limits},
        levelling,
        control_points=dict(SOUND.controls),
        materials={"frame": "steel"},
    )


def taken(extent: Extent, seed: int = 1) -> Survey:
    return measure(SOUND, extent, np.random.default_rng(seed)).survey


def found(result: Result) -> dict[str, Characteristic]:
    return {item.key: item for item in result.characteristics}


def moved(survey: Survey, feature: str, shift: tuple[float, float, float]) -> Survey:
    """The returned points of a feature lie elsewhere."""
    xyz = survey.xyz.copy()
    for i, (name, station) in enumerate(zip(survey.feature, survey.station, strict=True)):
        if name == feature and station == "return":
            xyz[i] += shift
    return replace(survey, xyz=xyz)


def only(survey: Survey, features: set[str]) -> Survey:
    return in_order(survey, [i for i, name in enumerate(survey.feature) if name in features])
