"""A wrong reading of the pivot is blamed itself, not the sound readings that contradict it."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from app.chassis.noticed import Noticed
from app.chassis.readings import look
from app.chassis.survey import Survey
from app.demonstration.rigs import Rig
from tests.chassis.test_readings import (
    FULL,
    REFERENCE,
    WHOLE,
    codes,
    fact,
    first_only,
    kept,
    made,
    moved,
    only,
    places,
    shifted,
)  # fmt: skip

TENFOLD = np.array([10.0, 1.0, 1.0])


def machine() -> Survey:
    """A sound survey whose instrument stands beside the machine, so that a slip shows."""
    return shifted(first_only(made()), [420.0, 300.0, 250.0])


def pivots_of(survey: Survey) -> tuple[int, int]:
    (left,), (right,) = (places(survey, "pivot", side) for side in ("left", "right"))
    return left, right


def with_again(survey: Survey, place: int, wrong: Any, *others: int) -> Survey:
    """The pivot read wrongly at one end, then rightly; and some other points after it."""
    left, right = pivots_of(survey)
    again = kept(survey, [left, right, place, *others])
    return moved(again, [left, right].index(place), wrong)


def test_a_sound_reading_beside_a_wrong_one_of_the_pivot_is_not_blamed_and_the_wrong_one_is() -> (
    None
):
    survey = machine()
    _left, right = pivots_of(survey)
    face = places(survey, "pivot_face", "left")[0]
    found = look(with_again(survey, right, survey.xyz[right] * TENFOLD, face), REFERENCE)
    told = only(found)
    assert (told.code, told.feature, told.points) == ("reading_off", "pivot", (1,))
    assert fact(told, "x_mm") == pytest.approx(10.0 * survey.xyz[right][0])


def test_two_readings_of_one_end_far_apart_are_both_named_while_either_could_be_wrong() -> None:
    survey = machine()
    left, right = pivots_of(survey)
    aside = survey.xyz[right] + [0.0, 0.0, 250.0]
    told = only(look(with_again(survey, right, aside), REFERENCE))
    assert (told.code, told.points) == ("repeats_apart", (1, 2))
    assert fact(told, "distance_mm") == pytest.approx(250.0)
    again = kept(survey, [left, right, right])
    assert look(moved(again, 2, survey.xyz[right] + [0.0, 60.0, 0.0]), REFERENCE) == ()


def test_an_end_of_the_pivot_that_everything_else_contradicts_is_blamed_alone() -> None:
    survey = machine()
    left, right = pivots_of(survey)
    faces = [places(survey, "pivot_face", side)[0] for side in ("left", "right")]
    part = kept(survey, [left, right, *faces])
    wrong = moved(part, 1, survey.xyz[right] * TENFOLD)
    assert fact(only(look(kept(wrong, [0, 1]), REFERENCE)), "reason") == "far"
    for count in (3, 4):
        told = only(look(kept(wrong, list(range(count))), REFERENCE))
        assert (told.code, told.points) == ("reading_off", (1,)), count


def test_the_first_point_that_contradicts_an_unproven_pivot_names_both() -> None:
    survey = machine()
    left, right = pivots_of(survey)
    face = places(survey, "pivot_face", "right")[0]
    part = moved(kept(survey, [left, right, face]), 1, survey.xyz[right] + [800.0, 0, 700.0])
    known = {k: v for k, v in REFERENCE.characteristics.items() if k != "pivot_width"}
    told = only(look(part, replace(REFERENCE, characteristics=known)))
    assert (told.code, fact(told, "reason")) == ("point_implausible", "or_datum")
    assert told.points == (0, 1, 2)


def test_ends_of_the_pivot_are_held_against_its_width_as_soon_as_both_are_there() -> None:
    survey = machine()
    both = kept(survey, [*pivots_of(survey)])
    assert look(both, REFERENCE) == ()
    outward = (both.xyz[1] - both.xyz[0]) / 500.0
    told = only(look(moved(both, 1, both.xyz[1] + 80.0 * outward), REFERENCE))
    assert (told.code, told.feature, told.points) == ("apart_implausible", "pivot", (0, 1))
    assert fact(told, "distance_mm") > fact(told, "highest_mm") == 260.0 + 60.0 + 240.0


@pytest.mark.parametrize("faces", [("right",), ("left", "right")])
def test_a_slip_of_the_pivot_is_not_laid_on_the_face_that_another_slip_would_fit(
    faces: tuple[str, ...],
) -> None:
    """The decimal point of either would explain it: both are named, and no hint is given."""
    first = first_only(made(rig=Rig(head_face_points=3)))
    _left, right = pivots_of(first)
    survey = shifted(first, [40.0 - first.xyz[right][0], 300.0, 250.0])
    left, right = pivots_of(survey)
    beside = [places(survey, "pivot_face", side)[0] for side in faces]
    part = kept(survey, [left, right, *beside])
    wrong = moved(part, 1, survey.xyz[right] * TENFOLD)
    assert look(kept(wrong, [0, 1]), REFERENCE) == ()
    found = [one for one in look(wrong, REFERENCE) if one.grave]
    assert found
    assert all(1 in one.points for one in found)
    assert not any(fact(one, "reason") == "comma" for one in found if one.code != "reading_off")


def test_a_whole_measurement_names_the_one_reading_of_the_pivot_that_is_off() -> None:
    survey = first_only(WHOLE)
    right = places(survey, "pivot", "right")[0]
    for far in ([3000.0, 0.0, 0.0], [0.0, 0.0, 2500.0]):
        told = only(look(moved(survey, right, survey.xyz[right] + far), FULL))
        assert (told.code, told.points) == ("reading_off", (right,)), far


def test_a_slip_of_the_point_itself_stays_its_own() -> None:
    survey = machine()
    left, right = pivots_of(survey)
    face = places(survey, "pivot_face", "left")[0]
    part = kept(survey, [left, right, face])
    told = only(look(moved(part, 2, survey.xyz[face] * TENFOLD), REFERENCE))
    assert (told.code, fact(told, "reason"), told.points) == ("point_implausible", "comma", (2,))


def test_a_control_point_read_twice_at_different_places_is_told() -> None:
    survey = machine()
    head = places(survey, "head_face")[0]
    named = kept(survey, [*pivots_of(survey), head, head])
    control = Survey(
        feature=("pivot", "pivot", "control", "control"),
        label=("left", "right", "tail", "tail"),
        station=named.station,
        turn=named.turn,
        xyz=named.xyz,
        u=named.u,
        offset=named.offset,
    )
    assert codes(look(control, REFERENCE)) == []
    far: tuple[Noticed, ...] = look(moved(control, 3, named.xyz[3] + [0, 90.0, 0]), REFERENCE)
    assert [(one.code, one.points) for one in far] == [("repeats_apart", (2, 3))]
