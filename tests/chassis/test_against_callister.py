"""Thermal expansion against a handbook's coefficients: W. D. Callister, appendix B, table B.6."""

from collections.abc import Callable
from typing import Any

import pytest

from app.chassis.thermal import PER_KELVIN
from app.metrology.thermal import to_reference_temperature

Published = Callable[[str, str], dict[str, Any]]


@pytest.fixture
def table(published: Published) -> dict[str, float]:
    """Per kelvin."""
    told = published("shop_metrology", "cte-callister-b6")["published"]
    return {name: float(value) * 1e-6 for name, value in told.items()}


def test_steel_is_the_handbooks_mild_steel(table: dict[str, float]) -> None:
    value, u = PER_KELVIN["steel"]
    assert value == pytest.approx(table["steel A36 / 1020"], rel=1e-12)
    for name in ("steel 1040", "steel 4140 / 4340 (nearest listed to 4130 chromoly)"):
        assert abs(table[name] - value) < 2.0 * u, name


def test_the_wrought_aluminium_alloys_lie_within_the_stated_uncertainty(
    table: dict[str, float],
) -> None:
    """The engine's value is from memory for 7005 and 7020, which the table does not list."""
    value, u = PER_KELVIN["aluminium"]
    for name in ("aluminium 6061", "aluminium 7075", "aluminium 2024"):
        assert abs(table[name] - value) < u, name


def test_what_is_neither_is_far_from_both(table: dict[str, float]) -> None:
    """So another material has to be stated, and is not taken for one of the two."""
    for name in ("stainless 304", "titanium CP grade 1", "Ti-6Al-4V", "magnesium AZ31B / AZ91D"):
        for value, u in PER_KELVIN.values():
            assert abs(table[name] - value) > 2.5 * u, name


def test_a_metre_grows_as_the_table_says(table: dict[str, float]) -> None:
    """L20 = L/(1 + a (t - 20)): a metre read at 30 °C on a true scale."""
    for name, coefficient in table.items():
        read = 1000.0 * (1.0 + coefficient * 10.0)
        found = to_reference_temperature(30.0, 0.0, coefficient, 0.0)
        assert read * found.factor == pytest.approx(1000.0, abs=1e-9), name
    grown = 1000.0 / to_reference_temperature(30.0, 0.0, table["steel A36 / 1020"], 0.0).factor
    assert grown - 1000.0 == pytest.approx(0.117, abs=1e-9)
