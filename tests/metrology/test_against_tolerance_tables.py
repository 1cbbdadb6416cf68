"""Published two-sided tolerance factors: ISO 16269-6:2014 and two handbooks, all transcribed.

None of the originals was read; `tests/published/shop_metrology.json` says where each was met.
"""

import math
from collections.abc import Callable
from decimal import ROUND_CEILING, Decimal
from typing import Any

import pytest
from scipy.special import chdtri, ndtri

from app.metrology.tolerance_interval import interval, two_sided_factor

Published = Callable[[str, str], dict[str, Any]]


def test_factors_agree_with_the_tables_of_iso_16269_6(published: Published) -> None:
    """Annex F prints them rounded up in the fourth decimal."""
    tables = published("shop_metrology", "iso-16269-6-annex-f")["published"]
    checked = 0
    for head, rows in tables.items():
        content, confidence = map(float, head.split())
        for count, printed in rows.items():
            factor = two_sided_factor(int(count), content, confidence)
            up = Decimal(repr(factor)).quantize(Decimal("0.0001"), ROUND_CEILING)
            assert str(up) == printed, (count, head)
            checked += 1
    assert checked > 50


def test_factors_agree_with_table_j5b_of_statistical_intervals(published: Published) -> None:
    """Meeker, Hahn and Escobar, five confidences and three contents, 2 to 480 values."""
    case = published("shop_metrology", "statistical-intervals-j5b")
    checked = 0
    for count, row in case["published"].items():
        for content, confidence, printed in zip(
            case["content"], case["confidence"], row, strict=True
        ):
            factor = two_sided_factor(int(count), float(content), float(confidence))
            assert factor == pytest.approx(float(printed), abs=0.00051), (count, content)
            checked += 1
    assert checked == 225


def test_factors_agree_with_the_environmental_engineers_table(published: Published) -> None:
    case = published("shop_metrology", "environmental-engineers-21-1")
    for count, row in case["published"].items():
        for content, printed in zip(case["content"], row, strict=True):
            factor = two_sided_factor(int(count), float(content), 0.95)
            assert factor == pytest.approx(float(printed), abs=0.0051), (count, content)


def test_the_handbooks_approximation_is_reproduced_and_the_exact_factor_is_near(
    published: Published,
) -> None:
    """NIST/SEMATECH 7.2.6.3 prints Howe's approximation: it stands here and not in the engine.

    The exact factor is 0.25 % larger than what is printed, the width accordingly.
    """
    case = published("shop_metrology", "nist-tolerance")
    given, told = case["inputs"], case["published"]
    count = given["count"]
    square = float(chdtri(count - 1, given["confidence"]))
    assert square == pytest.approx(float(told["chi_square"]), abs=1e-6)
    z = float(ndtri(0.5 * (1.0 + given["content"])))
    howe = z * math.sqrt((count - 1) * (1.0 + 1.0 / count) / square)
    assert howe == pytest.approx(float(told["factor"]), abs=1e-6)

    exact = interval(
        given["mean"], given["deviation"], count, given["content"], given["confidence"]
    )
    assert exact.factor == pytest.approx(2.22283, abs=1e-5)
    assert 1.002 < exact.factor / howe < 1.003
    assert exact.lower == pytest.approx(float(told["lower"]), abs=2e-4)
    assert exact.upper == pytest.approx(float(told["upper"]), abs=2e-4)


def test_for_very_many_values_the_factor_is_that_of_the_known_population() -> None:
    for content, quantile in ((0.90, 1.6449), (0.95, 1.9600), (0.99, 2.5758)):
        assert two_sided_factor(10_000_000, content, 0.95) == pytest.approx(quantile, abs=1e-3)
