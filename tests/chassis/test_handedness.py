"""Handedness of an instrument's axes, from a steering turned to the known left."""

import math
from dataclasses import replace

import numpy as np
import pytest

from app.chassis.handedness import handedness
from app.chassis.survey import Survey
from app.errors import Refusal
from tests.chassis.poses import random_motion

TARGETS = {"upper": (150.0, 700.0, 0.2), "lower": (180.0, 520.0, 1.4)}
STATIONS = {"right": -25.0, "ahead": 0.0, "left": 20.0, "far": 35.0}
LEFT = frozenset({"left", "far"})


def turned(
    stations: dict[str, float] = STATIONS,
    left: frozenset[str] = LEFT,
    noise: float = 0.1,
    rake_deg: float = 25.0,
) -> Survey:
    """Targets about an axis that leans back; left is the larger angle, right-handed about it."""
    lean = math.radians(rake_deg)
    axis = np.array([-math.sin(lean), 0.0, math.cos(lean)])
    ahead, aside = np.array([math.cos(lean), 0.0, math.sin(lean)]), np.array([0.0, 1.0, 0.0])
    rng = np.random.default_rng(6)
    points, labels, names = [], [], []
    for label, (radius, height, phase) in TARGETS.items():
        for name, degrees in stations.items():
            angle = phase + math.radians(degrees)
            place = radius * (math.cos(angle) * ahead + math.sin(angle) * aside) + height * axis
            points.append(place + rng.normal(0.0, noise, 3))
            labels.append(label)
            names.append(name)
    count = len(points)
    return Survey(
        feature=("steer_target",) * count,
        label=tuple(labels),
        station=tuple(names),
        turn=tuple("left" if name in left else None for name in names),
        xyz=np.array(points),
        u=np.full(count, 0.1),
        offset=np.full(count, math.nan),
        up=(0.0, 0.0, 1.0),
    )


def test_right_handed_axes_are_seen_for_what_they_are() -> None:
    found = handedness(turned(noise=0.0))
    assert found.verdict == "right_handed"
    assert found.left_turn_deg == pytest.approx(40.0, abs=1e-6)
    assert handedness(turned()).left_turn_deg == pytest.approx(40.0, abs=1.0)
    assert (found.targets, found.stations) == (2, 4)


def test_mirrored_axes_are_seen_whichever_way_they_are_mirrored() -> None:
    survey = turned(noise=0.0)
    for axis in range(3):
        mirrored = survey.xyz.copy()
        mirrored[:, axis] *= -1.0
        up = (0.0, 0.0, -1.0) if axis == 2 else (0.0, 0.0, 1.0)
        found = handedness(replace(survey, xyz=mirrored, up=up))
        assert found.verdict == "left_handed"
        assert found.left_turn_deg == pytest.approx(-40.0, abs=1e-6)


def test_where_the_instrument_stands_changes_nothing() -> None:
    survey = turned()
    before = handedness(survey)
    for seed in range(5):
        turn, shift = random_motion(seed)
        moved = survey.xyz @ turn.T + shift
        up = tuple((turn @ np.array([0.0, 0.0, 1.0])).tolist())
        found = handedness(replace(survey, xyz=moved, up=up))
        assert found.verdict == before.verdict
        assert found.left_turn_deg == pytest.approx(before.left_turn_deg, abs=1e-6)


def test_the_order_of_the_points_changes_nothing() -> None:
    survey = turned()
    order = np.random.default_rng(1).permutation(len(survey.feature))
    mixed = replace(
        survey,
        label=tuple(survey.label[i] for i in order),
        station=tuple(survey.station[i] for i in order),
        turn=tuple(survey.turn[i] for i in order),
        xyz=survey.xyz[order],
    )
    assert handedness(mixed).left_turn_deg == pytest.approx(
        handedness(survey).left_turn_deg, abs=1e-9
    )


def test_returns_take_no_part() -> None:
    survey = turned({**STATIONS, "return": -25.0}, LEFT)
    assert handedness(survey).stations == 4


REFUSED = {
    "too_few_stations": turned({"ahead": 0.0, "left": 20.0}),
    "turn_not_stated": turned(left=frozenset()),
    "turned_too_little": turned({"a": 0.0, "b": 2.0, "left": 4.0}, frozenset({"left"}), 0.0),
    "up_unusable": replace(turned(), up=(0.0, 1.0, 0.0)),
}


@pytest.mark.parametrize("code", REFUSED)
def test_what_cannot_show_it_is_refused(code: str) -> None:
    with pytest.raises(Refusal, match=code):
        handedness(REFUSED[code])


def test_all_stations_on_the_left_show_nothing() -> None:
    with pytest.raises(Refusal, match="turn_not_stated"):
        handedness(turned(left=frozenset(STATIONS)))


def test_without_up_left_has_no_meaning() -> None:
    for up in (None, (0.0, 0.0, 0.0), (math.nan, 0.0, 1.0)):
        with pytest.raises(Refusal, match="up_unusable"):
            handedness(replace(turned(), up=up))


def test_a_station_that_is_called_left_and_right_is_refused() -> None:
    survey = turned()
    turns = list(survey.turn)
    turns[2] = "right"
    with pytest.raises(Refusal, match="turn_contradicts"):
        handedness(replace(survey, turn=tuple(turns)))


def test_targets_that_turn_against_each_other_are_refused() -> None:
    survey = turned()
    mirrored = survey.xyz.copy()
    mirrored[4:, 1] *= -1.0
    with pytest.raises(Refusal, match="targets_turn_apart"):
        handedness(replace(survey, xyz=mirrored))


def test_a_target_that_stands_still_is_refused() -> None:
    still = replace(turned(), xyz=np.repeat(turned().xyz[:2], 4, axis=0))
    with pytest.raises(Refusal, match=r"axis_not_determined|turned_too_little"):
        handedness(still)
