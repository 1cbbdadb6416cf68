"""What several machines tell of their model, from the engine's own results."""

from dataclasses import replace

import numpy as np
import pytest

from app.chassis.evaluate import evaluate
from app.chassis.machines_in_order import Measured, described
from app.chassis.result import Result
from app.chassis.survey import Options
from app.demonstration.seed_files import NOMINAL, RIG, reference
from app.demonstration.seed_files import survey as simulated
from app.schemas.reading import reference_from, survey_from
from app.services.solving import reference_to_engine, to_engine


def result(seed: int, twist: float = 0.0, offset: float = 0.0) -> Result:
    pose = replace(NOMINAL, head_twist_deg=twist, head_offset_mm=offset)
    survey = survey_from(simulated(pose, RIG, seed, "before"))
    judged_by = reference_to_engine(reference_from(reference()))
    return evaluate(to_engine(survey), judged_by, Options(shared=True))


@pytest.fixture(scope="module")
def results() -> list[Result]:
    rng = np.random.default_rng(12)
    return [result(seed, rng.normal(0.0, 0.1), rng.normal(0.0, 0.4)) for seed in range(5)]


def named(results: list[Result], instrument: str | None = "arm") -> list[Measured]:
    return [Measured(f"m{i}", one, instrument) for i, one in enumerate(results)]


def test_each_characteristic_is_described_by_the_machines_that_have_it(
    results: list[Result],
) -> None:
    model = described(named(results), 0.9, 0.95, 0.05)
    by_key = {one.key: one for one in model.described}
    twist = by_key["head_twist"]
    values = [
        line.value for one in results for line in one.characteristics if line.key == "head_twist"
    ]
    assert twist.values == tuple(values)
    assert twist.population.mean == pytest.approx(np.mean(values), rel=1e-12)
    assert twist.population.deviation == pytest.approx(np.std(values, ddof=1), rel=1e-12)
    assert twist.machines == ("m0", "m1", "m2", "m3", "m4")
    assert "head_height" not in by_key, "levelling has set it"
    assert model.too_few == ()


def test_what_is_shared_and_what_is_own_make_the_uncertainty_of_one_value(
    results: list[Result],
) -> None:
    for one in described(named(results), 0.9, 0.95, 0.05).described:
        found = one.population
        mean_square = float(np.mean(np.square(one.uncertainties)))
        rest = mean_square - found.own_uncertainty**2
        assert rest >= -1e-15
        # The same causes with nearly the same slopes on machines of one model.
        assert found.shared_uncertainty == pytest.approx(np.sqrt(max(rest, 0.0)), abs=2e-3)


def test_the_scale_of_one_instrument_is_shared_and_that_of_several_is_not(
    results: list[Result],
) -> None:
    def of_distance(machines: list[Measured]) -> float:
        model = described(machines, 0.9, 0.95, 0.05)
        line = next(one for one in model.described if one.key == "pivot_width")
        return line.population.shared_uncertainty

    one = of_distance(named(results))
    several = of_distance([m._replace(instrument=m.name) for m in named(results)])
    assert several < 0.6 * one


def test_a_characteristic_of_fewer_than_three_machines_is_named(results: list[Result]) -> None:
    without = [
        one
        if place < 2
        else one._replace(
            characteristics=tuple(c for c in one.characteristics if c.key != "head_twist"),
            covariance_keys=tuple(
                "left_out" if key == "head_twist" else key for key in one.covariance_keys
            ),
        )
        for place, one in enumerate(results)
    ]
    model = described(named(without), 0.9, 0.95, 0.05)
    assert [(few.key, few.machines) for few in model.too_few] == [("head_twist", 2)]
    assert "head_twist" not in {one.key for one in model.described}


def test_a_machine_far_out_is_pointed_at_and_kept(results: list[Result]) -> None:
    model = described(named([*results, result(9, twist=3.0)]), 0.9, 0.95, 0.05)
    twist = next(one for one in model.described if one.key == "head_twist")
    assert twist.population.test.outlier
    assert twist.machines[twist.population.test.place] == "m5"
    assert twist.population.size == 6
