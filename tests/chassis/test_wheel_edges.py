"""Left and right edge of a wheel that stands turned, touched wherever the tyre leaves room."""

from dataclasses import replace

import numpy as np
import pytest

from app.chassis.evaluate import evaluate
from app.chassis.survey import Survey
from app.demonstration.extent import Extent
from app.demonstration.machine_survey import measure
from app.demonstration.machine_truth import true_values
from app.demonstration.session import draw_session
from app.errors import Refusal
from tests.demonstration.machines import BENT
from tests.simulation.machines import WHOLE

EXTENT = Extent(features=("front_rim", "rear_rim", "level_line", "control"))
FRONT_HALF, REAR_HALF = np.radians([-80.0, 0.0, 80.0]), np.radians([100.0, 180.0, 260.0])


def turned_wheel(degrees: float, *, apart: bool) -> Survey:
    """apart: the left edges touched at the front, the right ones at the rear; else all round."""
    rng = np.random.default_rng(5)
    session = draw_session(BENT, EXTENT, rng)
    rims = np.array([[FRONT_HALF, REAR_HALF]] * 2) if apart else session.rims
    chosen = replace(session, rims=rims, wheel_steering=np.radians(degrees))
    return measure(BENT, EXTENT, rng, chosen).survey


@pytest.mark.parametrize("degrees", [-35.0, 0.0, 35.0])
def test_a_turned_wheel_may_be_touched_in_different_places_on_either_side(degrees: float) -> None:
    result = evaluate(turned_wheel(degrees, apart=True), WHOLE.reference)
    true = true_values(BENT, WHOLE.terms)
    found = {item.key: item for item in result.characteristics}
    for key in ("wheel_lean", "wheel_track", "front_wheel_lean", "front_wheel_offset"):
        assert abs(found[key].value - true[key]) <= 4.0 * found[key].standard_uncertainty, key


@pytest.mark.parametrize("degrees", [-35.0, 0.0, 35.0])
@pytest.mark.parametrize("feature", ["front_rim", "rear_rim"])
def test_exchanged_edges_are_refused(feature: str, degrees: float) -> None:
    survey = turned_wheel(degrees, apart=False)
    other = {"left": "right", "right": "left"}
    label = tuple(
        other[name or ""] if rim == feature else name
        for rim, name in zip(survey.feature, survey.label, strict=True)
    )
    with pytest.raises(Refusal) as caught:
        evaluate(replace(survey, label=label), WHOLE.reference)
    assert (caught.value.code, caught.value.feature) == ("pair_swapped", feature)
    assert float(str(caught.value.facts["distance_mm"])) == pytest.approx(
        {"front_rim": 90.0, "rear_rim": 150.0}[feature], abs=15.0
    )
