"""What moved is told with how far, and with how sure that is."""

import numpy as np
import pytest

from app.chassis import slip
from app.chassis.readings import look, uncertainties
from app.chassis.survey import Survey
from tests.chassis.test_readings import REFERENCE, fact, kept, made, moved, only


def returns(survey: Survey, feature: str) -> list[int]:
    pairs = zip(survey.feature, survey.station, strict=True)
    return [i for i, (one, station) in enumerate(pairs) if (one, station) == (feature, "return")]


def test_a_machine_that_moved_is_told_with_the_place_that_moved_most() -> None:
    survey = made()
    left, right = (survey.xyz[returns(survey, "pivot")[place]] for place in (0, 1))
    across = np.cross(left - right, [0.0, 0.0, 1.0])
    for place in (*returns(survey, "pivot"), *returns(survey, "pivot_face")):
        far = 4.0 * across / np.linalg.norm(across)
        survey = moved(survey, place, survey.xyz[place] + far)
    told = only(look(survey, REFERENCE))
    assert (told.code, fact(told, "scope")) == ("set_up_moved", "everything")
    assert fact(told, "slipped") == "pivot"
    assert fact(told, "slip_mm") == pytest.approx(4.0, abs=1.5 * fact(told, "slip_u_mm"))


def test_the_uncertainty_is_that_of_the_difference_of_two_means() -> None:
    survey = made()
    u = np.full(len(survey.feature), 0.1)
    found = slip.of_datum(survey, u)
    assert found is not None
    again = len(found.places)
    first = [
        i
        for i, one in enumerate(survey.feature)
        if (one, survey.label[i], survey.station[i]) == (found.feature, found.label, None)
    ]
    assert found.expanded_mm == pytest.approx(2 * 0.1 * np.sqrt(1 / again + 1 / len(first)))


def test_targets_that_moved_on_the_steering_are_told_with_the_farthest_of_them() -> None:
    survey = made()
    targets = returns(survey, "steer_target")
    for place in targets[:1]:
        survey = moved(survey, place, survey.xyz[place] + [0.0, 0.0, 6.0])
    told = only(look(survey, REFERENCE))
    assert (told.code, fact(told, "scope")) == ("set_up_moved", "steering")
    assert fact(told, "slipped_label") == survey.label[targets[0]]
    assert fact(told, "slip_mm") == pytest.approx(6.0, abs=1.0)


def test_a_survey_that_measured_nothing_again_has_no_slip() -> None:
    survey = made()
    first = kept(survey, [i for i, station in enumerate(survey.station) if station != "return"])
    assert slip.of_datum(first, uncertainties(first)) is None
