"""Sentences of plans and changes: every code has its words, numbers carry units, no minus."""

import numpy as np
import pytest

from app.chassis.candidate_places import Candidate
from app.chassis.needs import NEEDED
from app.chassis.planning import foreseen
from app.chassis.senses import OF_DEVIATION
from app.demonstration.machine import SOUND
from app.demonstration.machine_survey import measure
from app.demonstration.simulator import Pose, Rig, Target, simulate
from app.wording import changes, planning
from tests.simulation.machines import WHOLE

STACKED = Rig(
    targets=(Target("upper", 180.0, 210.0, 10.0), Target("lower", 160.0, -40.0, 10.0)),
    return_pivot=False,
    return_steering=False,
    bore_mm=(5.0, 160.0),
)


def met() -> list[Candidate]:
    """Candidates of a whole machine, and of a head that lacks what the machine has."""
    rng = np.random.default_rng(1)
    surveys = [
        measure(SOUND, WHOLE.extent, rng).survey,
        simulate(Pose(), STACKED, rng).survey,
    ]
    return [one.candidate for survey in surveys for one in foreseen(survey, WHOLE.reference)]


def test_every_candidate_has_its_words() -> None:
    candidates = met()
    for one in candidates:
        told = planning.what(one.code, one.feature, dict(one.facts))
        assert told
        assert not set("{}_") & set(told), told
        assert "None" not in told
        assert "-" not in told
    codes = {one.code for one in candidates}
    assert codes == {code.partition(":")[0] for code in planning.WHAT}


def test_the_sentence_names_what_is_measured_and_what_it_brings() -> None:
    begin = planning.what("station", "steer_target", {"angle_deg": 25.3, "side": "left"})
    told = planning.brings(begin, "head_twist", "deg", 0.1234, 0.0877)
    assert told == (
        "one more station, the steering about 25° to the left of the middle between the farthest "
        "left and the farthest right one, brings the uncertainty of head twist from ±0.123° to "
        "±0.088°"
    )


@pytest.mark.parametrize(
    ("then", "end"), [(0.06, ", still more than the ±0.05° allowed"), (0.05, ", enough to decide")]
)
def test_the_sentence_says_whether_that_will_be_enough(then: float, end: str) -> None:
    told = planning.brings("one more point", "head_twist", "deg", 0.1, then, 0.05)
    assert told.endswith(end)
    decided = planning.brings("one more point", "head_twist", "deg", 0.04, 0.03, 0.05)
    assert decided == (
        "one more point could still bring the uncertainty of head twist from ±0.040° to ±0.030°"
    )


def test_what_is_decided_already_needs_no_more() -> None:
    told = planning.brings("one more point", "head_twist", "deg", 0.04, 0.03, 0.05, decided=True)
    assert told == (
        "one more point is not needed; it could still bring the uncertainty of head twist from "
        "±0.040° to ±0.030°"
    )
    assert "not needed" in planning.more_stations("Full right", decided=True)
    assert planning.more_stations("Full right", decided=False).endswith("station: Full right")


def test_a_station_in_the_middle_has_no_side() -> None:
    told = planning.what("station", "steer_target", {"angle_deg": 0.2, "side": "middle"})
    assert told == (
        "one more station, in the middle between the farthest left and the farthest right one,"
    )


@pytest.mark.parametrize(
    ("allowed", "decided", "told"),
    [
        (0.3, True, "head twist: ±0.10°, enough to decide"),
        (None, None, "head twist: ±0.10°"),
        (None, False, "head twist: ±0.10°, not decided"),
        (0.05, False, "head twist: ±0.10°, too much to decide: at most ±0.05° is allowed"),
        (0.3, False, "head twist: ±0.10°, enough to decide, but the value lies too near a limit"),
    ],
)
def test_how_a_characteristic_stands(
    allowed: float | None, decided: bool | None, told: str
) -> None:
    assert planning.stands("head_twist", "deg", 0.1, allowed, decided=decided) == told


def test_what_levelling_makes_equal_is_not_called_known_to_nought() -> None:
    told = planning.stands("head_height", "mm", 0.0, None, decided=None)
    assert told == "head height: made equal to the reference by levelling"


def test_what_is_lacking_is_called_by_its_name() -> None:
    facts = {"key": "pair_roll.tail", "lacking": "pair.tail.left, steer_target / head_bore"}
    assert planning.need("characteristic_missing", facts) == (
        "tail: roll of the pair: still to be measured: symmetric pair tail left, steering target "
        "or bearing seat in the head"
    )


def test_while_nothing_with_a_limit_is_known_yet_nobody_is_told_that_there_is_none() -> None:
    assert planning.overall([], 0, 3) == (
        "nothing that has a limit can be told yet: go on measuring"
    )
    assert "sets no limit" in planning.overall([], 0, 0)


def test_every_family_of_characteristics_is_known_to_need_something() -> None:
    assert set(NEEDED) == set(OF_DEVIATION)


def test_every_way_to_change_has_its_words() -> None:
    codes = {code for row in OF_DEVIATION.values() for code in (row.positive, row.negative)}
    assert set(changes.WAYS) == codes
    for code in codes:
        for change in (-1.234, 1.234):
            told = changes.sentence(code, change, "mm", 0.1, significant=True)
            assert "1.2" in told
            assert "-" not in told
            assert "{" not in told


def test_a_change_within_its_uncertainty_claims_no_direction() -> None:
    told = changes.sentence("head_forward", 0.05, "mm", 0.1, significant=False)
    assert told == "no change that could be told from the uncertainty (± 0.10 mm)"


def test_how_measurements_agree_is_told_with_both_numbers() -> None:
    told = changes.combined(3, 4.25, 20.515)
    assert told.startswith("3 measurements combined by weight")
    assert "4.25" in told
    assert "20.5" in told
    assert "nothing was measured in more than one" in changes.combined(2, None, None)
