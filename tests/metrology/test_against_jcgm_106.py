"""Examples of JCGM 106:2012 and ILAC-G8:09/2019; numbers in tests/published/conformity.json.

All of them are from memory: the documents could not be read. Their answers follow from their
inputs to every printed digit, which supports the numbers, not the clauses.
"""

from collections.abc import Callable
from typing import Any

import pytest
from scipy.special import ndtri

from app.metrology.conformity import probabilities, verdict

Published = Callable[[str, str], dict[str, Any]]
Printed = Callable[[str], Any]


def test_one_sided_probabilities_agree_with_table_1(published: Published) -> None:
    """JCGM 106:2012, 7.3.2, table 1 (from memory): the z for which one limit is met with p."""
    table = published("conformity", "jcgm106-table1-z")["published"]
    assert len(table) == 5
    for p, z in table.items():
        for low, high in ((None, 0.0), (0.0, None)):
            sign = -1.0 if low is None else 1.0
            at_least = probabilities(sign * (float(z) + 0.0051), 1.0, None, low, high).within
            at_most = probabilities(sign * (float(z) - 0.0051), 1.0, None, low, high).within
            assert at_most < float(p) < at_least


def test_breakdown_voltage_of_a_zener_diode(published: Published, printed: Printed) -> None:
    """JCGM 106:2012, 7.3, example (from memory): one upper limit, probability 0.92."""
    case = published("conformity", "jcgm106-zener")
    given = case["inputs"]
    found = probabilities(given["y"], given["u"], None, None, given["T_U"])
    assert found.within == printed(case["published"]["p_c"])
    assert found.above == pytest.approx(1.0 - found.within, abs=1e-15)
    assert found.below == 0.0


def test_viscosity_of_motor_oil(published: Published, printed: Printed) -> None:
    """JCGM 106:2012, 7.4, example (from memory): two limits, probability 0.66."""
    case = published("conformity", "jcgm106-motor-oil")
    given = case["inputs"]
    found = probabilities(given["y"], given["u"], None, given["T_L"], given["T_U"])
    assert found.within == printed(case["published"]["p_c"])
    assert verdict(found, 0.95).code == "undecided"


def test_speed_limit_is_enforced_from_107(published: Published, printed: Printed) -> None:
    """JCGM 106:2012, 8.3.3, example (from memory): guarded rejection with 0.999."""
    case = published("conformity", "jcgm106-speed-limit")
    given = case["inputs"]

    def judged(speed: float) -> str:
        u = given["u_over_v"] * speed
        found = probabilities(speed, u, None, None, given["v0"])
        return verdict(found, given["required_p"]).code

    slowest = given["v0"] / (1.0 - ndtri(given["required_p"]) * given["u_over_v"])
    assert slowest == printed(case["published"]["v_max"])
    assert judged(slowest - 1e-6) == "undecided"
    assert judged(slowest + 1e-6) == "outside"


def test_share_of_good_resistors(published: Published, printed: Printed) -> None:
    """JCGM 106:2012, 9.5, example (from memory): 0.90 of the production is within 1500 ± 0.2."""
    case = published("conformity", "jcgm106-resistors-global-risk")
    given = case["inputs"]
    low, high = (limit - given["y0"] for limit in given["T"])
    found = probabilities(0.0, given["u0"], None, low, high)
    assert found.within == printed(case["published"]["p_c"])
    assert found.above == pytest.approx(found.below, rel=1e-9)


def test_guard_band_of_one_expanded_uncertainty(published: Published, printed: Printed) -> None:
    """JCGM 106:2012, 8.3.2 (from memory): at the acceptance limit 2.3 % do not conform."""
    case = published("conformity", "jcgm106-guard-band-rule")
    given = case["inputs"]
    found = probabilities(-given["r"] * given["k"], 1.0, None, None, 0.0)
    assert 100.0 * found.above == printed(case["published"]["p_nc_at_limit_percent"])


def test_false_accept_bounds_agree_with_ilac_g8_table_1(published: Published) -> None:
    """ILAC-G8:09/2019, table 1 (from memory): guard bands r U and their false-accept bounds."""
    case = published("conformity", "ilac-g8-2019-table1")
    bounds = {"6 sigma": 1e-6, "3 sigma": 0.0016, "ILAC-G8:2009 rule": 0.025}
    bounds |= {"ISO 14253-1:2017 rule": 0.05, "simple acceptance": 0.5}
    assert set(bounds) == set(case["published"])
    for rule, r in case["inputs"]["r"].items():
        risk = probabilities(-r * case["inputs"]["k"], 1.0, None, None, 0.0).above
        assert 0.0 < risk <= bounds[rule]
        if rule == "ISO 14253-1:2017 rule":
            assert risk > 0.045
