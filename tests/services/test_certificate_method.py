"""What a certificate says of how its results came about, and of what it says nothing."""

from dataclasses import dataclass
from typing import cast

from app.schemas.result import MonteCarloOut, ResultOut
from app.services.certificate_method import further, trials
from app.services.certificate_not_measured import not_measured, not_measured_in_brief
from app.services.certificate_results import characteristic_lines
from app.services.surveys import SurveyView
from tests.services.whole_result import result


@dataclass
class Measured:
    """As much of a measurement as is asked for here."""

    result: ResultOut


def measured(found: ResultOut) -> SurveyView:
    return cast(SurveyView, Measured(found))


def unsaid(found: ResultOut) -> str:
    return " ".join(not_measured(measured(found), None))


def with_keys(*beginnings: str) -> ResultOut:
    found = result()
    kept = [one for one in found["characteristics"] if one["key"].startswith(beginnings)]
    return {**found, "characteristics": kept}


def test_nothing_is_called_not_measured_where_all_was() -> None:
    assert "Not measured" not in unsaid(result())
    assert "cannot be told from a bent swing-arm pivot" not in unsaid(result())


def test_parts_that_were_not_measured_are_named() -> None:
    told = unsaid(with_keys("head_", "pair_"))
    assert "Not measured: swing arm and rear axle, fork, wheels, control points" in told
    assert "in pairs" not in told
    brief = not_measured_in_brief(measured(with_keys("head_", "pair_")), None)
    assert brief == "Not measured: swing arm, fork, wheels, control points."
    assert not_measured_in_brief(measured(result()), None) == ""
    assert "cannot be told from a bent swing-arm pivot" in told


def test_how_further_features_were_found_is_said_where_there_are_any() -> None:
    assert further(with_keys("head_", "pivot_")) == ()
    assert "fitted to their own points" in further(with_keys("fork_"))[0]


def test_simulated_measurements_are_mentioned() -> None:
    assert trials(result()) == ()
    told = cast(MonteCarloOut, {"sentence": "From 100,000 simulated measurements."})
    assert trials({**result(), "monte_carlo": told}) == ("From 100,000 simulated measurements.",)


def test_levelling_by_the_head_keeps_heights_of_control_points_off_the_certificate() -> None:
    by_head: ResultOut = {**result(), "levelling": "by_height"}
    keys = [line.key for line in characteristic_lines(by_head, None, None)]
    assert "control.spar_left.y" in keys
    assert not [key for key in keys if key.startswith("control.") and key[-1] in "xz"]
    assert len(characteristic_lines(result(), None, None)) == len(keys) + 6
