"""Surveys in other units, and of no size known: told by the distance of head and pivot."""

import math
from dataclasses import replace

import pytest

from app.chassis.evaluate import evaluate
from app.chassis.survey import Reference, Survey
from app.errors import Refusal
from tests.chassis.poses import INSTRUMENT, Pose, survey

POSE = Pose()


def refused(measured: Survey, reference: Reference | None = None) -> Refusal:
    with pytest.raises(Refusal) as caught:
        evaluate(measured, reference or POSE.reference())
    return caught.value


@pytest.mark.parametrize(
    ("unit", "mm"), [("metres", 1000.0), ("inches", 25.4), ("centimetres", 10.0)]
)
@pytest.mark.parametrize("u", [0.1, None])
def test_other_units_are_told_with_and_without_a_reference(
    unit: str, mm: float, u: float | None
) -> None:
    """Whether u was given in millimetres or in that unit too."""
    points = [(key, place / mm) for key, place in POSE.points()]
    instrument = replace(INSTRUMENT, standard_uncertainty_mm=u or 0.1 / mm)
    for reference in (POSE.reference(), Reference(materials={"frame": "steel"})):
        refusal = refused(survey(points, instrument=instrument), reference)
        assert refusal.code == unit
        about = math.hypot(POSE.reach, POSE.height)
        assert refusal.facts["distance_mm"] == pytest.approx(about, rel=0.1)
        assert refusal.facts["distance"] == pytest.approx(about / mm, rel=0.1)


def test_the_nominal_goes_first() -> None:
    """44 could be inches; with a nominal of 440 mm it is centimetres."""
    pose = Pose(reach=380.0, height=222.0)
    points = [(key, place / 10.0) for key, place in pose.points()]
    instrument = replace(INSTRUMENT, standard_uncertainty_mm=0.01)
    measured = survey(points, instrument=instrument)
    assert refused(measured, Reference(materials={"frame": "steel"})).code == "inches"
    refusal = refused(measured, pose.reference())
    assert refusal.code == "centimetres"
    assert refusal.facts["nominal_mm"] == pytest.approx(440.1, abs=0.1)


@pytest.mark.parametrize("factor", [0.3, 2.0])
def test_a_chassis_of_no_size_known(factor: float) -> None:
    points = [(key, place * factor) for key, place in POSE.points()]
    refusal = refused(survey(points))
    assert (refusal.code, refusal.feature) == ("implausible_size", "head_face")
    assert refusal.facts["distance_mm"] == pytest.approx(744.31 * factor, abs=0.1)
    assert (refusal.facts["lowest_mm"], refusal.facts["highest_mm"]) == (300.0, 1200.0)


def test_sizes_at_the_edges_pass() -> None:
    for reach, height in ((240.0, 181.0), (900.0, 790.0)):
        pose = Pose(reach=reach, height=height)
        assert evaluate(survey(pose.points()), pose.reference()).finding.verdict != ""
