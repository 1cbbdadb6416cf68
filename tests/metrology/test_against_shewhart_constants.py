"""Published constants of control charts; tables differ among themselves in the third decimal."""

import math
from collections.abc import Callable
from typing import Any

import pytest

from app.metrology.range_constants import c4, range_constants

Published = Callable[[str, str], dict[str, Any]]


def test_constants_agree_with_the_printed_ones(published: Published) -> None:
    case = published("shop_metrology", "shewhart-constants")
    told = case["published"]
    for place, count in enumerate(case["inputs"]["n"]):
        found = range_constants(count)
        assert found.d2 == pytest.approx(float(told["d2"][place]), abs=6e-4)
        assert found.mean_limit(count) == pytest.approx(float(told["A2"][place]), abs=1.1e-3)
        assert found.lowest == pytest.approx(float(told["D3"][place]), abs=1.1e-3)
        assert found.highest == pytest.approx(float(told["D4"][place]), abs=1.1e-3)
    for count, printed in enumerate(told["c4"], start=2):
        assert c4(count) == pytest.approx(float(printed), abs=6e-5)


def test_constants_agree_with_closed_forms() -> None:
    """For two values the range is |x - y|, for three its mean is 3/√π."""
    two, three = range_constants(2), range_constants(3)
    assert two.d2 == pytest.approx(2.0 / math.sqrt(math.pi), rel=1e-12)
    assert two.d3 == pytest.approx(math.sqrt(2.0 - 4.0 / math.pi), rel=1e-10)
    assert three.d2 == pytest.approx(3.0 / math.sqrt(math.pi), rel=1e-12)
    assert c4(2) == pytest.approx(math.sqrt(2.0 / math.pi), rel=1e-12)


def test_fewer_than_two_values_have_no_constants() -> None:
    with pytest.raises(ValueError, match="range"):
        range_constants(1)
    with pytest.raises(ValueError, match="deviation"):
        c4(1)
