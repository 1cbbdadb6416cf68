"""The published gauge study of 10 parts, 3 people and 3 trials (AIAG MSA, 4th ed.).

Not read in the manual, but in public transcriptions. Its analysis of variance is that of the
pooled model; its averages and ranges carry rounded intermediates, hence wider tolerances there.
"""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from app.metrology.gauge_study import Floats, anova, average_range
from app.metrology.range_constants import range_constants

Published = Callable[[str, str], dict[str, Any]]
Printed = Callable[[str], Any]
FILE, RANGES, VARIANCES = "shop_metrology", "aiag-msa4-average-range", "aiag-msa4-anova"


def readings(published: Published) -> Floats:
    """(people, parts, trials), from the sheet's people, trials, parts."""
    sheet = np.array(published(FILE, RANGES)["inputs"]["values"])
    return np.asarray(sheet.transpose(0, 2, 1))


def test_sums_of_squares_and_their_degrees_of_freedom(
    published: Published, printed: Printed
) -> None:
    told, found = published(FILE, VARIANCES)["published"], anova(readings(published))
    assert found.people is not None
    assert found.interaction is not None
    lines = {
        "SS_appraiser": found.people,
        "SS_part": found.parts,
        "SS_interaction": found.interaction,
        "SS_equipment": found.repeatability,
        "SS_total": found.total,
    }
    for name, line in lines.items():
        assert line.sum_of_squares == printed(told[name]), name
    freedom = [str(line.degrees_of_freedom) for line in lines.values()]
    assert freedom == told["df"]
    assert found.interaction.ratio == printed(told["F_interaction"])
    assert found.interaction.tail == pytest.approx(0.974, abs=1e-3)


def test_variance_components_of_the_pooled_model(published: Published, printed: Printed) -> None:
    told, found = published(FILE, VARIANCES)["published"], anova(readings(published))
    assert found.pooling
    spread = found.spread
    assert spread is found.pooled
    assert spread.reproducibility is not None
    assert spread.interaction is None
    assert spread.repeatability == printed(told["EV"])
    assert spread.repeatability**2 == printed(told["EV_variance"])
    assert spread.reproducibility == printed(told["AV"])
    assert spread.reproducibility**2 == pytest.approx(float(told["AV_variance"]), abs=2e-6)
    assert spread.gauge == pytest.approx(float(told["GRR"]), abs=3e-6)
    assert spread.part == printed(told["PV"])
    assert spread.part**2 == pytest.approx(float(told["PV_variance"]), abs=2e-6)
    assert spread.total == printed(told["TV"])
    assert spread.categories == int(told["ndc"])
    for name, deviation in {
        "pct_EV": spread.repeatability,
        "pct_AV": spread.reproducibility,
        "pct_GRR": spread.gauge,
        "pct_PV": spread.part,
    }.items():
        share = spread.share(deviation)
        assert share is not None
        assert 100.0 * share == printed(told[name]), name


def test_the_model_with_interaction_has_another_repeatability(published: Published) -> None:
    """0.2144 without pooling: the published 0.1999 would be wrong for this model."""
    both = anova(readings(published)).with_interaction
    assert both is not None
    assert both.repeatability == pytest.approx(0.2144346572, abs=1e-9)
    assert both.interaction == 0.0


def test_averages_and_ranges(published: Published) -> None:
    case = published(FILE, RANGES)
    told, found = case["published"], average_range(readings(published))
    for place, person in enumerate("ABC"):
        assert found.mean_ranges[place] == pytest.approx(float(told[f"Rbar_{person}"]), abs=5e-4)
        assert found.means[place] == pytest.approx(float(told[f"Xbar_{person}"]), abs=6e-5)
    assert found.mean_range == pytest.approx(float(told["Rbarbar"]), abs=6e-5)
    assert found.people_range == pytest.approx(float(told["Xdiff"]), abs=1e-4)
    assert found.part_range == pytest.approx(float(told["Rp"]), abs=2e-4)
    assert found.range_limit == pytest.approx(float(told["UCL_R"]), abs=5e-4)
    spread = found.spread
    values = {
        "EV": spread.repeatability,
        "AV": spread.reproducibility,
        "GRR": spread.gauge,
        "PV": spread.part,
        "TV": spread.total,
    }
    for name, value in values.items():
        assert value == pytest.approx(float(told[name]), rel=1e-3), name
    for name in ("EV", "AV", "GRR", "PV"):
        share = spread.share(values[name])
        assert share is not None
        assert 100.0 * share == pytest.approx(float(told[f"pct_{name}"]), abs=0.02), name
    assert spread.categories == int(told["ndc"])


def test_the_factors_of_the_sheet_are_computed(published: Published) -> None:
    """K1 is 1/d2 of the trials; K2 and K3 are 1/d2* of people and parts, one range each."""
    given = published(FILE, RANGES)["inputs"]
    assert 1.0 / range_constants(3).d2 == pytest.approx(given["K1(3 trials)"], abs=6e-5)
    assert 1.0 / range_constants(3).d2_star(1) == pytest.approx(given["K2(3 appraisers)"], abs=6e-5)
    assert 1.0 / range_constants(10).d2_star(1) == pytest.approx(given["K3(10 parts)"], abs=6e-5)
    assert range_constants(3).highest == pytest.approx(given["D4(3)"], abs=1e-3)
