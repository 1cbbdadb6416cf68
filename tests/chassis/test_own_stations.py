"""Stations under names of their own stand for the suggested ones where the steering stood."""

import math
from collections.abc import Sequence

import numpy as np
import pytest

from app.chassis.own_stations import replaced, turned
from app.chassis.progress import Taken, current, progress
from app.chassis.sequence import station_names
from app.chassis.survey import Reference, Survey

ARMS = {"upper": (60.0, 180.0, 500.0), "lower": (160.0, -90.0, 300.0)}
"""Of two targets from the steering axis, here the vertical; mm."""


def swept(degrees: Sequence[float], up: bool = True, told: Sequence[str | None] = ()) -> Survey:
    """Stations `1`, `2` … at these degrees to the left."""
    rows, where = [], []
    for number, turn in enumerate(degrees, 1):
        c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
        for name, (x, y, z) in ARMS.items():
            side = told[number - 1] if told else None
            rows.append((name, str(number), side))
            where.append((c * x - s * y, s * x + c * y, z))
    return Survey(
        feature=("steer_target",) * len(rows),
        label=tuple([row[0] for row in rows]),
        station=tuple([row[1] for row in rows]),
        turn=tuple([row[2] for row in rows]),
        xyz=np.array(where),
        u=np.full(len(rows), math.nan),
        offset=np.zeros(len(rows)),
        up=(0.0, 0.0, 1.0) if up else None,
    )


def asked_for(survey: Survey, phase: str = "before") -> list[str]:
    """Stations that the floor still wants."""
    points = list(zip(survey.feature, survey.label, survey.station, strict=True))
    found = progress(Reference(), phase, points, turn=turned(survey))
    return [
        str(one.step.station)
        for one in found
        if one.step.group == "steering" and one.state == "open"
    ]


@pytest.mark.parametrize(
    ("degrees", "phase", "left"),
    [
        ((31.0, 1.0, -28.0), "during", []),
        ((31.0, 1.0, -28.0), "before", ["half_left", "half_right"]),
        ((-29.0, 2.0, 30.0), "before", ["half_left", "half_right"]),
        ((-16.0, 1.0, 14.0), "before", ["left", "right"]),
        ((-30.0, -14.0, 1.0, 16.0, 29.0), "before", []),
        ((-40.0, -30.0, -20.0, -10.0, 0.0, 10.0, 20.0), "before", []),
    ],
)
def test_what_stands_there_is_not_asked_for(
    degrees: Sequence[float], phase: str, left: list[str]
) -> None:
    assert asked_for(swept(degrees), phase) == left


@pytest.mark.parametrize(
    ("degrees", "needed"),
    [
        ((31.0, 1.0, -28.0), []),
        ((-16.0, 1.0, 14.0), ["left", "right"]),
        ((30.0, -30.0), ["half_left", "ahead", "half_right"]),
        ((-22.0, 0.0, 22.0), []),
    ],
)
def test_three_stations_spread_far_enough_need_no_others(
    degrees: Sequence[float], needed: list[str]
) -> None:
    survey = swept(degrees)
    points = list(zip(survey.feature, survey.label, survey.station, strict=True))
    found = progress(Reference(), "before", points, turn=turned(survey))
    steering = [one.step for one in found if one.step.group == "steering" and one.state == "open"]
    assert [step.station for step in steering if step.required] == needed
    assert len(steering) == 5 - len(degrees)


def test_named_stations_tell_where_straight_ahead_is() -> None:
    turn = {"ahead": 50.0, "1": 21.0, "2": 66.0}
    wanted = replaced(["1", "2"], ["ahead"], station_names("before"), turn)
    assert wanted == {"right", "half_left"}


def test_without_a_vertical_the_sides_that_were_told_say_which_way_is_left() -> None:
    degrees, sides = (-30.0, -16.0, 0.0, 28.0), ("right", "right", None, "left")
    for one in (swept(degrees, False, sides), swept(degrees)):
        angles = turned(one)
        assert angles["4"] - angles["1"] == pytest.approx(58.0, abs=1e-6)
        assert asked_for(one) == ["half_left"]


def test_without_any_turn_each_station_counts_for_one() -> None:
    wanted = replaced(["1", "2", "3"], [], station_names("before"), {})
    assert wanted == {"half_right", "half_left", "ahead"}


def test_the_road_goes_on_behind_the_stations() -> None:
    survey = swept((-30.0, -15.0, 0.0, 15.0, 30.0))
    points: list[Taken] = [("pivot", "left", None), ("pivot", "right", None)]
    points += [("pivot_face", "left", None), ("pivot_face", "right", None)]
    points += list(zip(survey.feature, survey.label, survey.station, strict=True))
    noted = ["cautions", "visual_check", "play", "mounting", "temperature", "rig"]
    found = progress(Reference(), "before", points, noted, turn=turned(survey))
    assert current(found) == "head_face"
