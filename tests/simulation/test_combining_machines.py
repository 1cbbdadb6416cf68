"""Pairs of surveys of whole machines: what they share is told apart from what they do not.

Chi-square of two surveys that agree has its degrees of freedom as its mean, and each change of
nothing scatters as its uncertainty says; both only where every cause in common, and none besides,
is left out.
"""

from dataclasses import replace

import numpy as np
import pytest

from app.chassis.change import change
from app.chassis.combining import combined
from app.chassis.evaluate import evaluate
from app.chassis.sharing import Session
from app.chassis.survey import Options
from app.demonstration.extent import Extent
from app.demonstration.machine import SOUND
from app.demonstration.machine_survey import measure
from app.demonstration.session import Session as Day
from app.demonstration.session import draw_session
from tests.simulation.machines import OTHERS, WHOLE, Measuring

pytestmark = pytest.mark.simulation

PAIRS = 40
MEASURED = {"whole": WHOLE, "arm_alone": OTHERS["arm_alone"], "tail_alone": OTHERS["tail_alone"]}
TOLD = Options(monte_carlo=0, shared=True)


def two_days(extent: Extent, rng: np.random.Generator) -> tuple[Day, Day]:
    """One instrument and one machine: its ball and scale, its faces and metals, on two days."""
    one, other = draw_session(SOUND, extent, rng), draw_session(SOUND, extent, rng)
    head = replace(
        other.head,
        ball_error=one.head.ball_error,
        scale_error=one.head.scale_error,
        tilt=one.head.tilt,
    )
    return one, replace(other, head=head, axle_tilt=one.axle_tilt, per_k=one.per_k)


def pairs(measuring: Measuring, seed: int) -> list[list[Session]]:
    """Pairs whose set-ups stood still, with large causes in common and little noise."""
    rng = np.random.default_rng(seed)
    rig = replace(
        measuring.extent.rig,
        offset_u_mm=0.1,
        scale_u_ppm=300.0,
        face_squareness_deg=0.5,
        noise_mm=0.05,
    )
    extent = replace(measuring.extent, rig=rig)
    reference = replace(measuring.reference, face_squareness_deg=0.5)
    found = []
    for _ in range(PAIRS):
        results = [
            evaluate(measure(SOUND, extent, rng, day).survey, reference, TOLD)
            for day in two_days(extent, rng)
        ]
        if all(result.rig_check.verdict != "moved" for result in results):
            found.append([Session(result, "arm", "rig", "machine") for result in results])
    assert len(found) > 0.9 * PAIRS
    return found


@pytest.mark.parametrize("name", MEASURED)
def test_pairs_agree_as_well_as_they_should_and_no_better(name: str) -> None:
    statistics, freedoms = [], set()
    for sessions in pairs(MEASURED[name], 31):
        test = combined(sessions, MEASURED[name].reference).consistency
        assert test is not None
        statistics.append(test.statistic)
        freedoms.add(test.degrees_of_freedom)
    (freedom,) = freedoms
    # The mean of n chi-squares has a standard deviation of sqrt(2 f / n).
    allowed = 4.0 * np.sqrt(2.0 * freedom / len(statistics))
    assert np.mean(statistics) == pytest.approx(freedom, abs=allowed)


@pytest.mark.parametrize("name", MEASURED)
def test_changes_of_nothing_scatter_as_their_uncertainty_says(name: str) -> None:
    squares: dict[str, list[float]] = {}
    for before, after in pairs(MEASURED[name], 32):
        for one in change(before, after):
            squares.setdefault(one.key, []).append((one.change / one.standard_uncertainty) ** 2)
    means = {key: float(np.mean(found)) for key, found in squares.items()}
    counts = {len(found) for found in squares.values()}
    # The mean of n squares has a standard deviation of sqrt(2 / n); of all keys none is 5 off.
    assert max(abs(mean - 1.0) for mean in means.values()) < 5.0 * np.sqrt(2.0 / min(counts)), means
    assert np.mean(list(means.values())) == pytest.approx(1.0, abs=0.2)
