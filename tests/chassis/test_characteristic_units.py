"""The engine's units and those by which a reference is read are the same."""

import pytest

from app.chassis.characteristic_units import ANGLES, HANDLING, LENGTHS, unit_of
from app.schemas import characteristic_keys as schema

KEYS = [
    *schema.PLAIN_KEYS,
    *[f"{first}.tail_rail" for first in schema.NAMED_KEYS],
    *[f"control.deg.{axis}" for axis in "xyz"],
    "distance.spar_left.spar_right",
]


@pytest.mark.parametrize("key", KEYS)
def test_engine_and_schema_give_the_same_unit(key: str) -> None:
    assert unit_of(key) == schema.unit_of(key)


def test_neither_knows_a_key_that_the_other_does_not() -> None:
    assert {key.partition(".")[0] for key in KEYS} == ANGLES | LENGTHS
    assert not ANGLES & LENGTHS


def test_handling_is_in_millimetres() -> None:
    assert {unit_of(key) for key in HANDLING} == {"mm"}
    assert all(key.endswith("_mm") for key in HANDLING)


def test_a_key_that_names_nothing_is_refused() -> None:
    with pytest.raises(KeyError):
        unit_of("head_colour")
