"""A station of the steering measured once more: which one it is, and what explains a misfit."""

import math
from dataclasses import replace

import numpy as np
import pytest

from app.chassis.readings import look
from app.chassis.survey import Floats, Survey
from app.geometry.circles import Circle, fit_circle
from tests.chassis.test_readings import REFERENCE, fact, kept, made, only, places, swapped


def test_a_return_says_which_station_it_is_and_how_far_beside_it() -> None:
    for station, beside in (("3", 0.0), ("1", 2.0), ("5", -3.5)):
        survey = turned_again(made(6), station, beside)
        told = only(look(survey, REFERENCE))
        assert (told.code, told.grave, fact(told, "station")) == ("station_again", False, station)
        assert abs(fact(told, "turned_deg") - abs(beside)) < 0.2


def turned_again(survey: Survey, station: str, beside_deg: float, noise: bool = True) -> Survey:
    """The return as measured at another station, turned a little beside it."""
    stood = {
        survey.label[i]: survey.xyz[i] for i, name in enumerate(survey.station) if name == station
    }
    circle = fit_circle(
        survey.xyz[[i for i in first_targets(survey) if survey.label[i] == "upper"]]
    )
    rng = np.random.default_rng(3)
    changed = survey.xyz.copy()
    for i, (feature, name) in enumerate(zip(survey.feature, survey.station, strict=True)):
        if feature == "steer_target" and name == "return":
            there = about(circle, stood[survey.label[i]], math.radians(beside_deg))
            changed[i] = there + (rng.normal(0.0, 0.1, 3) if noise else 0.0)
    return replace(survey, xyz=changed)


def first_targets(survey: Survey) -> list[int]:
    return [i for i in places(survey, "steer_target") if survey.station[i] != "return"]


def about(circle: Circle, place: Floats, angle: float) -> Floats:
    """Rodrigues' rotation about a circle's axis."""
    arm, axis = place - circle.centre, circle.normal
    along = axis * (axis @ arm)
    across = arm - along
    return np.asarray(
        circle.centre + along + math.cos(angle) * across + math.sin(angle) * np.cross(axis, arm)
    )


def test_before_three_stations_nobody_says_which_one_a_return_is() -> None:
    survey = made(6)
    early = [i for i, name in enumerate(survey.station) if name in (None, "1", "2", "return")]
    assert look(kept(survey, early), REFERENCE) == ()


def test_exchanged_targets_of_a_return_are_no_movement() -> None:
    survey = made(5)
    upper, lower = (
        [i for i in places(survey, "steer_target", name) if survey.station[i] == "return"]
        for name in ("upper", "lower")
    )
    told = only(look(replace(swapped(survey, upper, lower), up=None), REFERENCE))
    assert (told.code, fact(told, "station"), told.grave) == ("targets_swapped", "return", True)
    assert {fact(told, "one"), fact(told, "other")} == {"upper", "lower"}


@pytest.mark.parametrize(
    ("seed", "strained", "pull_mm"), [(0, "2", 0.4), (1, "4", 0.4), (3, "3", 0.6), (5, "1", 0.4)]
)
def test_a_return_to_a_strained_station_is_no_movement(
    seed: int, strained: str, pull_mm: float
) -> None:
    """A cable pulls one target a little aside at one station, each time anew."""
    survey = made(seed)
    changed = survey.xyz.copy()
    pulled = next(i for i in first_targets(survey) if survey.station[i] == strained)
    changed[pulled] += pull_mm * np.array([0.6, -0.5, 0.62])
    told = only(look(turned_again(replace(survey, xyz=changed), strained, 0.0), REFERENCE))
    assert (told.code, fact(told, "other"), told.grave) == ("stations_disagree", strained, True)


def returns_of(survey: Survey) -> tuple[int, int]:
    """Places of the upper and the lower target in the return."""
    upper, lower = (
        next(i for i in places(survey, "steer_target", name) if survey.station[i] == "return")
        for name in ("upper", "lower")
    )
    return upper, lower


def until_targets_return(survey: Survey) -> list[int]:
    return [i for i, name in enumerate(survey.station) if name != "return"]


def test_a_slip_in_a_return_is_told_once_its_station_is_complete_and_names_the_target() -> None:
    survey = made(2)
    upper, lower = returns_of(survey)
    changed = survey.xyz.copy()
    changed[upper] += [0.87, 0.0, 0.0]
    slipped, first = replace(survey, xyz=changed), until_targets_return(survey)
    assert look(kept(slipped, [*first, upper]), REFERENCE) == ()
    told = only(look(kept(slipped, [*first, upper, lower]), REFERENCE))
    assert (told.code, fact(told, "slipped_label")) == ("set_up_moved", "upper")
    assert told.points == (len(first), len(first) + 1)


def test_what_waits_for_its_station_does_not_hide_that_the_datum_moved() -> None:
    survey = made(2)
    upper, _lower = returns_of(survey)
    datum = [
        i
        for i, name in enumerate(survey.station)
        if name == "return" and survey.feature[i] != "steer_target"
    ]
    changed = survey.xyz.copy()
    changed[datum] += [4.0, 3.0, 2.0]
    order = [*until_targets_return(survey), upper, *datum]
    told = only(look(kept(replace(survey, xyz=changed), order), REFERENCE))
    assert (told.code, fact(told, "scope")) == ("set_up_moved", "everything")
    assert {order[i] for i in told.points} == set(datum)


@pytest.mark.parametrize("count", [1, 2])
def test_readings_of_the_pivot_saved_as_returned_targets_do_not_belong(count: int) -> None:
    for seed in range(4):
        survey = made(seed)
        returned = returns_of(survey)[:count]
        changed = survey.xyz.copy()
        changed[returned[0]] = survey.xyz[places(survey, "pivot", "left")[0]] + 0.1
        changed[returned[-1]] = survey.xyz[places(survey, "pivot_face", "left")[0]] + 0.1
        order = [*until_targets_return(survey), *returned]
        found = look(kept(replace(survey, xyz=changed), order), REFERENCE)
        assert {one.code for one in found} == {"return_elsewhere"}
        assert all(one.grave for one in found)
        assert {order[i] for one in found for i in one.points} == set(returned)


def test_no_return_stands_farther_than_the_stations_from_each_other_and_a_little() -> None:
    """The stations lie 60° apart; from the last one the steering may stand so far beside it."""
    survey = made(2)
    returned = [*until_targets_return(survey), *returns_of(survey)]
    near = kept(turned_again(survey, "5", 25.0), returned)
    assert "return_elsewhere" not in {one.code for one in look(near, REFERENCE)}
    far = kept(turned_again(survey, "5", 100.0), returned)
    told = only(look(far, REFERENCE))
    assert (told.code, fact(told, "reason")) == ("return_elsewhere", "turn")
    assert fact(told, "limit_deg") == pytest.approx(70.0, abs=1.0)
